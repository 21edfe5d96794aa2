// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <cmath>
#include <limits>

#include "drivers/profile/register_codec.hpp"

using namespace benchward;
using Words = std::vector<std::uint16_t>;

namespace {
RegisterRow row(ValueType type, WordOrder order, double scale = 1.0, char const* unit = "1") {
  RegisterRow made;
  made.name = "value";
  made.type = type;
  made.words = words_of(type);
  made.order = order;
  made.scale = scale;
  made.unit = unit;
  return made;
}
struct Golden {
  double value;
  WordOrder order;
  Words words;
};
}  // namespace

// The bytes are IEEE 754 single precision, worked out by hand from the standard's layout (sign, 8 bits of exponent, 23
// of fraction): 1.0 = 3F800000, 2.0 = 40000000, 77.514603 = 2^6 x 1.2111656.. = 429B077A; orders as in profile.hpp.
TEST_CASE("single-precision values have the golden words in all four orders", "[drivers][codec]") {
  auto const golden = GENERATE(values<Golden>({
      {1.0, WordOrder::abcd, {0x3F80, 0x0000}},
      {1.0, WordOrder::cdab, {0x0000, 0x3F80}},
      {1.0, WordOrder::badc, {0x803F, 0x0000}},
      {1.0, WordOrder::dcba, {0x0000, 0x803F}},
      {2.0, WordOrder::abcd, {0x4000, 0x0000}},
      {2.0, WordOrder::cdab, {0x0000, 0x4000}},
      {2.0, WordOrder::badc, {0x0040, 0x0000}},
      {2.0, WordOrder::dcba, {0x0000, 0x0040}},
      {77.514603, WordOrder::abcd, {0x429B, 0x077A}},
      {77.514603, WordOrder::cdab, {0x077A, 0x429B}},
      {77.514603, WordOrder::badc, {0x9B42, 0x7A07}},
      {77.514603, WordOrder::dcba, {0x7A07, 0x9B42}},
  }));
  auto const made = row(ValueType::f32, golden.order);
  CHECK(decode(golden.words, made).number == Approx(golden.value).epsilon(1e-7));
  CHECK(decode(golden.words, made).good);
  CHECK(encode(golden.value, made).value() == golden.words);
}

TEST_CASE("integers of 32 and 64 bits have the golden words in all four orders", "[drivers][codec]") {
  auto const golden = GENERATE(values<Golden>({
      {305419896.0, WordOrder::abcd, {0x1234, 0x5678}},
      {305419896.0, WordOrder::cdab, {0x5678, 0x1234}},
      {305419896.0, WordOrder::badc, {0x3412, 0x7856}},
      {305419896.0, WordOrder::dcba, {0x7856, 0x3412}},
  }));
  CHECK(decode(golden.words, row(ValueType::u32, golden.order)).number == golden.value);
  CHECK(decode({0xFFFF, 0xFFFE}, row(ValueType::s32, WordOrder::abcd)).number == -2.0);
  CHECK(decode({0x0000, 0x0001, 0x0000, 0x0002}, row(ValueType::u64, WordOrder::abcd)).number == 4294967298.0);
  CHECK(decode({0x0002, 0x0000, 0x0001, 0x0000}, row(ValueType::u64, WordOrder::cdab)).number == 4294967298.0);
  CHECK(decode({0x3FF0, 0, 0, 0}, row(ValueType::f64, WordOrder::abcd)).number == 1.0);
  CHECK(decode({0, 0, 0, 0xF03F}, row(ValueType::f64, WordOrder::dcba)).number == 1.0);
}

TEST_CASE("scale, offset and unit lead to the base unit", "[drivers][codec]") {
  auto made = row(ValueType::s16, WordOrder::abcd, 0.1, "degC");
  made.offset = -40.0;
  CHECK(decode({615}, made).number == Approx(21.5));
  CHECK(encode(21.5, made).value() == Words{615});
  CHECK(decode({1234}, row(ValueType::u16, WordOrder::abcd, 0.001, "mA")).number == Approx(1.234e-3));
  CHECK(decode({9000}, row(ValueType::s16, WordOrder::abcd, 0.01, "deg")).number == Approx(1.5707963267948966));
}

TEST_CASE("what is no number is never good", "[drivers][codec]") {
  auto const f32 = row(ValueType::f32, WordOrder::abcd);
  CHECK_FALSE(decode({0x7FC0, 0x0000}, f32).good);  // quiet NaN
  CHECK_FALSE(decode({0x7F80, 0x0000}, f32).good);  // infinity
  CHECK_FALSE(decode({0x123A}, row(ValueType::bcd16, WordOrder::abcd)).good);
  CHECK_FALSE(decode({0x0001}, f32).good);  // half a value
  auto ranged = row(ValueType::u16, WordOrder::abcd);
  ranged.lowest = 10;
  ranged.highest = 20;
  CHECK_FALSE(decode({9}, ranged).good);
  CHECK(decode({10}, ranged).good);
  CHECK(decode({20}, ranged).good);
  CHECK_FALSE(decode({21}, ranged).good);
  CHECK(decode({21}, ranged).words == Words{21});  // the raw words are kept all the same
}

TEST_CASE("the mark of a device that has no value is not taken for a number", "[drivers][codec]") {
  auto marked = row(ValueType::u32, WordOrder::cdab);
  CHECK(decode({0xFFFF, 0xFFFF}, marked).good);
  marked.no_value_mark = true;
  CHECK_FALSE(decode({0xFFFF, 0xFFFF}, marked).good);
  CHECK(decode({0xFFFE, 0xFFFF}, marked).good);
  marked.type = ValueType::s32;
  CHECK_FALSE(decode({0x0000, 0x8000}, marked).good);
  CHECK(decode({0xFFFF, 0xFFFF}, marked).number == -1.0);
}

TEST_CASE("decimal registers hold four digits a word", "[drivers][codec]") {
  CHECK(decode({0x9876}, row(ValueType::bcd16, WordOrder::abcd)).number == 9876.0);
  CHECK(decode({0x0001, 0x2345}, row(ValueType::bcd32, WordOrder::abcd)).number == 12345.0);
  CHECK(encode(12345.0, row(ValueType::bcd32, WordOrder::cdab)).value() == Words{0x2345, 0x0001});
  CHECK_FALSE(encode(10000.0, row(ValueType::bcd16, WordOrder::abcd)).has_value());
}

TEST_CASE("texts are two characters a word, trimmed, and printable or bad", "[drivers][codec]") {
  RegisterRow made = row(ValueType::text, WordOrder::abcd);
  made.words = 3;
  CHECK(decode({0x4142, 0x4300, 0x0000}, made).text == "ABC");
  CHECK(decode({0x4142, 0x2020, 0x2020}, made).text == "AB");
  CHECK_FALSE(decode({0x0141, 0x0000, 0x0000}, made).good);
  CHECK(encode_text("ABC", made).value() == Words{0x4142, 0x4300, 0x0000});
  CHECK_FALSE(encode_text("ABCDEFG", made).has_value());
  made.order = WordOrder::badc;
  CHECK(decode({0x4241, 0x0043, 0x0000}, made).text == "ABC");
}

TEST_CASE("a value that a type cannot hold has no words", "[drivers][codec]") {
  auto const nan = std::numeric_limits<double>::quiet_NaN();
  CHECK_FALSE(encode(65536.0, row(ValueType::u16, WordOrder::abcd)).has_value());
  CHECK_FALSE(encode(-1.0, row(ValueType::u16, WordOrder::abcd)).has_value());
  CHECK_FALSE(encode(32768.0, row(ValueType::s16, WordOrder::abcd)).has_value());
  CHECK_FALSE(encode(nan, row(ValueType::s32, WordOrder::abcd)).has_value());
  CHECK_FALSE(encode(1e39, row(ValueType::f32, WordOrder::abcd)).has_value());
  CHECK(encode(-32768.0, row(ValueType::s16, WordOrder::abcd)).value() == Words{0x8000});
}

TEST_CASE("encoding and decoding are each other's reverse for every type and order", "[drivers][codec]") {
  for (auto const type : {ValueType::u16, ValueType::s16, ValueType::u32, ValueType::s32, ValueType::u64,
                          ValueType::s64, ValueType::f32, ValueType::f64, ValueType::bcd16, ValueType::bcd32}) {
    for (auto const order : {WordOrder::abcd, WordOrder::cdab, WordOrder::badc, WordOrder::dcba}) {
      for (double const value : {0.0, 1.0, 258.0, 9999.0}) {
        auto const made = row(type, order);
        CHECK(decode(encode(value, made).value(), made).number == value);
      }
    }
  }
}
