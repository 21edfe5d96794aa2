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

void bad(Decoded& value, char const* why) {
  value.good = false;
  value.why = why;
}

/// The bytes of a value of up to four words as one number, most significant first.
std::uint64_t joined(std::span<std::uint16_t const> words, WordOrder order) {
  bool const swap_words = order == WordOrder::cdab || order == WordOrder::dcba;
  bool const swap_bytes = order == WordOrder::badc || order == WordOrder::dcba;
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < words.size(); ++i) {
    unsigned word = words[swap_words ? words.size() - 1 - i : i];
    if (swap_bytes) word = ((word >> 8) | (word << 8)) & 0xFFFFu;
    value = (value << 16) | word;
  }
  return value;
}

/// Two characters a word, up to the first zero byte.
void decode_text(std::span<std::uint16_t const> words, WordOrder order, Decoded& out) {
  bool const swap_bytes = order_of_text(order) == WordOrder::badc;
  for (auto const word : words) {
    auto const first = static_cast<char>(word >> 8), second = static_cast<char>(word & 0xFF);
    for (auto const byte : {swap_bytes ? second : first, swap_bytes ? first : second}) {
      if (byte == '\0') {
        out.good = true;
        return;
      }
      if (static_cast<unsigned char>(byte) < 0x20 || static_cast<unsigned char>(byte) > 0x7E)
        return bad(out, "not a text: byte outside printable characters");
      out.text += byte;
    }
  }
  while (!out.text.empty() && out.text.back() == ' ') out.text.pop_back();
  out.good = true;
}

std::span<std::uint16_t const> part(std::span<std::uint16_t const> words, std::size_t from, int count) {
  auto const size = static_cast<std::size_t>(count);
  return from + size > words.size() ? std::span<std::uint16_t const>() : words.subspan(from, size);
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
  auto const unit = unit_named(row.unit);
  decode_into(words, row, unit ? unit->in_base : 1.0, power_of_ten, out);
  return out;
}

void decode_into(std::span<std::uint16_t const> words, RegisterRow const& row, double unit_in_base, int power_of_ten,
                 Decoded& out) {
  out.words.assign(words.begin(), words.end());
  out.number = 0.0;
  out.good = false;
  out.why.clear();
  out.text.clear();
  out.bits = 0;
  if (words.size() != static_cast<std::size_t>(row.words)) return bad(out, "words are missing");
  if (row.type == ValueType::text) return decode_text(words, row.order, out);
  auto const raw = joined(words, row.order);
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
      return;
    case ValueType::text:
      break;
  }
  if (!std::isfinite(number)) return bad(out, "not a number");
  double const plain = number * row.scale + row.offset;
  double in_unit = plain;
  if (power_of_ten != 0) {
    double const power = std::pow(10.0, std::abs(power_of_ten));  // exact to 10^22: dividing by it rounds once
    in_unit = power_of_ten < 0 ? plain / power : plain * power;
  }
  out.number = in_unit * unit_in_base;
  if ((row.lowest && in_unit < *row.lowest) || (row.highest && in_unit > *row.highest))
    return bad(out, "outside the range");
  out.good = std::isfinite(out.number);
  if (!out.good) out.why = "not a number";
}

GroupPlan::GroupPlan(ReadGroup const& group, Profile const& profile) {
  auto const place = [&](RegisterRow const& row) { return static_cast<std::size_t>(row.address - group.address); };
  for (auto const& name : group.rows) {
    Row planned;
    planned.row = profile.row(name);
    planned.from = place(*planned.row);
    auto const unit = unit_named(planned.row->unit);
    planned.unit_in_base = unit ? unit->in_base : 1.0;
    if (!planned.row->exponent.empty()) {
      planned.exponent = profile.row(planned.row->exponent);
      planned.exponent_from = place(*planned.exponent);
    }
    rows_.push_back(planned);
  }
}

void GroupPlan::decode_row(Row const& row, std::span<std::uint16_t const> group_words, Decoded& out) {
  auto const own = part(group_words, row.from, row.row->words);
  if (row.exponent == nullptr) return decode_into(own, *row.row, row.unit_in_base, 0, out);
  auto const exponent_words = part(group_words, row.exponent_from, row.exponent->words);
  decode_into(exponent_words, *row.exponent, 1.0, 0, out);
  bool const usable = out.good && std::abs(out.number) <= largest_power;
  int const power = usable ? static_cast<int>(out.number) : 0;
  decode_into(own, *row.row, row.unit_in_base, power, out);
  out.words.insert(out.words.end(), exponent_words.begin(), exponent_words.end());
  if (!usable) bad(out, "its power of ten is none");
}

std::map<std::string, Decoded> decode_group(std::vector<std::uint16_t> const& words, ReadGroup const& group,
                                            Profile const& profile) {
  std::map<std::string, Decoded> values;
  GroupPlan const plan(group, profile);
  for (auto const& row : plan.rows()) GroupPlan::decode_row(row, words, values[row.row->name]);
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

std::string hex_of(std::vector<std::uint16_t> const& words) {
  std::string hex;
  for (auto const word : words) {
    for (int shift = 12; shift >= 0; shift -= 4) hex += "0123456789ABCDEF"[(word >> shift) & 0xF];
  }
  return hex;
}

}  // namespace benchward
