// SPDX-License-Identifier: MIT
#include "drivers/profile/register_codec.hpp"

#include <bit>
#include <cmath>
#include <limits>

namespace benchward {
namespace {

/// Bytes as a most-significant-first sequence out of words as they came, and back: the permutation is its own inverse.
std::vector<std::uint16_t> in_order(std::vector<std::uint16_t> words, WordOrder order) {
  bool const swap_words = order == WordOrder::cdab || order == WordOrder::dcba;
  bool const swap_bytes = order == WordOrder::badc || order == WordOrder::dcba;
  if (swap_words) std::vector<std::uint16_t>(words.rbegin(), words.rend()).swap(words);
  if (swap_bytes) {
    for (auto& word : words) word = static_cast<std::uint16_t>((word >> 8) | (word << 8));
  }
  return words;
}

/// Characters keep the order of their words; only the two of one word may be swapped.
WordOrder order_of_text(WordOrder order) {
  return order == WordOrder::badc || order == WordOrder::dcba ? WordOrder::badc : WordOrder::abcd;
}

std::uint64_t joined(std::vector<std::uint16_t> const& words) {
  std::uint64_t value = 0;
  for (auto const word : words) value = (value << 16) | word;
  return value;
}

std::vector<std::uint16_t> split(std::uint64_t value, int count) {
  std::vector<std::uint16_t> words(static_cast<std::size_t>(count));
  for (std::size_t i = words.size(); i-- > 0; value >>= 16) words[i] = static_cast<std::uint16_t>(value & 0xFFFFu);
  return words;
}

/// The pattern with which many instruments say that they have no number.
bool marks_no_value(std::uint64_t raw, RegisterRow const& row) {
  int const bits = 16 * row.words;
  auto const all_ones = bits == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << bits) - 1;
  switch (row.type) {
    case ValueType::u16:
    case ValueType::u32:
    case ValueType::u64:
      return raw == all_ones;
    case ValueType::s16:
    case ValueType::s32:
    case ValueType::s64:
      return raw == std::uint64_t{1} << (bits - 1);
    default:
      return false;
  }
}

std::optional<std::uint64_t> from_bcd(std::uint64_t raw, int digits) {
  std::uint64_t value = 0;
  for (int i = digits - 1; i >= 0; --i) {
    auto const digit = (raw >> (4 * i)) & 0xFu;
    if (digit > 9) return std::nullopt;
    value = value * 10 + digit;
  }
  return value;
}

std::uint64_t to_bcd(std::uint64_t value) {
  std::uint64_t raw = 0;
  for (int shift = 0; value > 0; shift += 4, value /= 10) raw |= (value % 10) << shift;
  return raw;
}

/// Whole numbers of a type, as doubles; the upper end excluded where a double cannot hold it exactly.
struct Span {
  double lowest, above;
};
Span span_of(ValueType type) {
  switch (type) {
    case ValueType::u16:
      return {0, 65536.0};
    case ValueType::s16:
      return {-32768.0, 32768.0};
    case ValueType::u32:
      return {0, 4294967296.0};
    case ValueType::s32:
      return {-2147483648.0, 2147483648.0};
    case ValueType::u64:
      return {0, 18446744073709551616.0};
    case ValueType::s64:
      return {-9223372036854775808.0, 9223372036854775808.0};
    case ValueType::bcd16:
      return {0, 10000.0};
    case ValueType::bcd32:
      return {0, 100000000.0};
    case ValueType::bits:
      return {0, 65536.0};
    default:
      return {0, 0};
  }
}

constexpr double largest_power = 22.0;  // of ten that a double holds exactly

Decoded bad(Decoded value, std::string why) {
  value.good = false;
  value.why = std::move(why);
  return value;
}

}  // namespace

int words_of(ValueType type) {
  switch (type) {
    case ValueType::u16:
    case ValueType::s16:
    case ValueType::bcd16:
    case ValueType::bits:
      return 1;
    case ValueType::u32:
    case ValueType::s32:
    case ValueType::f32:
    case ValueType::bcd32:
      return 2;
    case ValueType::u64:
    case ValueType::s64:
    case ValueType::f64:
      return 4;
    case ValueType::text:
      return 0;
  }
  return 0;
}

Decoded decode(std::vector<std::uint16_t> const& words, RegisterRow const& row, int power_of_ten) {
  Decoded out;
  out.words = words;
  if (words.size() != static_cast<std::size_t>(row.words)) return bad(out, "words are missing");
  auto const ordered = in_order(words, row.type == ValueType::text ? order_of_text(row.order) : row.order);
  if (row.type == ValueType::text) {
    for (auto const word : ordered) {
      for (auto const byte : {static_cast<char>(word >> 8), static_cast<char>(word & 0xFF)}) {
        if (byte == '\0') {
          out.good = true;
          return out;
        }
        if (static_cast<unsigned char>(byte) < 0x20 || static_cast<unsigned char>(byte) > 0x7E) {
          return bad(out, "not a text: byte outside printable characters");
        }
        out.text += byte;
      }
    }
    while (!out.text.empty() && out.text.back() == ' ') out.text.pop_back();
    out.good = true;
    return out;
  }
  auto const raw = joined(ordered);
  if (row.no_value_mark && marks_no_value(raw, row)) return bad(out, "the device says that it has no value");
  double number = 0.0;
  switch (row.type) {
    case ValueType::u16:
    case ValueType::u32:
    case ValueType::u64:
      number = static_cast<double>(raw);
      break;
    case ValueType::s16:
      number = static_cast<std::int16_t>(static_cast<std::uint16_t>(raw));
      break;
    case ValueType::s32:
      number = static_cast<std::int32_t>(static_cast<std::uint32_t>(raw));
      break;
    case ValueType::s64:
      number = static_cast<double>(static_cast<std::int64_t>(raw));
      break;
    case ValueType::f32:
      number = static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
      break;
    case ValueType::f64:
      number = std::bit_cast<double>(raw);
      break;
    case ValueType::bcd16:
    case ValueType::bcd32: {
      auto const value = from_bcd(raw, row.words * 4);
      if (!value) return bad(out, "a digit above 9 in a decimal register");
      number = static_cast<double>(*value);
      break;
    }
    case ValueType::bits:
      out.bits = static_cast<std::uint16_t>(raw);
      out.number = static_cast<double>(raw);
      out.good = true;
      return out;
    case ValueType::text:
      break;
  }
  if (!std::isfinite(number)) return bad(out, "not a number");
  double const plain = number * row.scale + row.offset;
  double const power = std::pow(10.0, std::abs(power_of_ten));  // exact to 10^22: dividing by it rounds once
  double const in_unit = power_of_ten < 0 ? plain / power : plain * power;
  auto const unit = unit_named(row.unit);
  out.number = in_unit * (unit ? unit->in_base : 1.0);
  if ((row.lowest && in_unit < *row.lowest) || (row.highest && in_unit > *row.highest))
    return bad(out, "outside the range");
  out.good = std::isfinite(out.number);
  if (!out.good) out.why = "not a number";
  return out;
}

std::map<std::string, Decoded> decode_group(std::vector<std::uint16_t> const& words, ReadGroup const& group,
                                            Profile const& profile) {
  std::map<std::string, Decoded> values;
  for (auto const& name : group.rows) {
    auto const& row = *profile.row(name);
    auto own = words_of_row(words, group, row);
    if (row.exponent.empty()) {
      values[name] = decode(own, row);
      continue;
    }
    auto const& exponent_row = *profile.row(row.exponent);
    auto const exponent_words = words_of_row(words, group, exponent_row);
    auto const exponent = decode(exponent_words, exponent_row);
    bool const usable = exponent.good && std::abs(exponent.number) <= largest_power;
    auto value = decode(own, row, usable ? static_cast<int>(exponent.number) : 0);
    value.words.insert(value.words.end(), exponent_words.begin(), exponent_words.end());
    values[name] = usable ? std::move(value) : bad(std::move(value), "its power of ten is none");
  }
  return values;
}

std::optional<std::vector<std::uint16_t>> encode(double in_base_unit, RegisterRow const& row) {
  auto const unit = unit_named(row.unit);
  double const raw = (in_base_unit / (unit ? unit->in_base : 1.0) - row.offset) / row.scale;
  std::uint64_t bits = 0;
  if (row.type == ValueType::text) return std::nullopt;
  if (row.type == ValueType::f32) {
    if (std::isfinite(raw) && std::abs(raw) > static_cast<double>(std::numeric_limits<float>::max()))
      return std::nullopt;
    bits = std::bit_cast<std::uint32_t>(static_cast<float>(raw));
  } else if (row.type == ValueType::f64) {
    bits = std::bit_cast<std::uint64_t>(raw);
  } else {
    double const rounded = std::round(raw);
    auto const span = span_of(row.type);
    if (!(rounded >= span.lowest && rounded < span.above)) return std::nullopt;
    bits = rounded < 0 ? static_cast<std::uint64_t>(static_cast<std::int64_t>(rounded))
                       : static_cast<std::uint64_t>(rounded);
    if (row.type == ValueType::bcd16 || row.type == ValueType::bcd32) bits = to_bcd(bits);
  }
  return in_order(split(bits, row.words), row.order);
}

std::optional<std::vector<std::uint16_t>> encode_text(std::string const& text, RegisterRow const& row) {
  if (row.type != ValueType::text || text.size() > static_cast<std::size_t>(row.words) * 2) return std::nullopt;
  std::vector<std::uint16_t> words(static_cast<std::size_t>(row.words));
  for (std::size_t i = 0; i < text.size(); ++i) {
    auto const byte = static_cast<unsigned>(static_cast<unsigned char>(text[i]));
    words[i / 2] = static_cast<std::uint16_t>(words[i / 2] | (i % 2 == 0 ? byte << 8 : byte));
  }
  return in_order(words, order_of_text(row.order));
}

std::vector<std::uint16_t> words_of_row(std::vector<std::uint16_t> const& group_words, ReadGroup const& group,
                                        RegisterRow const& row) {
  auto const from = static_cast<std::ptrdiff_t>(row.address - group.address);
  if (from < 0 || from + row.words > static_cast<std::ptrdiff_t>(group_words.size())) return {};
  return {group_words.begin() + from, group_words.begin() + from + row.words};
}

std::string hex_of(std::vector<std::uint16_t> const& words) {
  std::string hex;
  for (auto const word : words) {
    for (int shift = 12; shift >= 0; shift -= 4) hex += "0123456789ABCDEF"[(word >> shift) & 0xF];
  }
  return hex;
}

}  // namespace benchward
