// SPDX-License-Identifier: MIT
#include "sim/wires/register_words.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

namespace benchward::sim {

namespace {

// Everything goes over bytes in the order of the wire: byte 0 is sent first. Position p of a value of n bytes carries
// the byte of significance significance(p) (0 = most significant).
std::size_t significance(std::size_t position, std::size_t count, WordOrder order) {
  std::size_t const words = count / 2, word = position / 2, half = position % 2;
  switch (order) {
    case WordOrder::abcd:
      return position;
    case WordOrder::cdab:
      return (words - 1 - word) * 2 + half;
    case WordOrder::badc:
      return word * 2 + (1 - half);
    case WordOrder::dcba:
      return count - 1 - position;
  }
  return position;
}

std::vector<std::uint16_t> words_of_bits(std::uint64_t bits, RegisterRow const& row) {
  auto const count = static_cast<std::size_t>(row.words) * 2;
  std::vector<std::uint16_t> words(static_cast<std::size_t>(row.words));
  for (std::size_t position = 0; position < count; ++position) {
    auto const from_top = significance(position, count, row.order);
    auto const byte = (bits >> (8 * (count - 1 - from_top))) & 0xFF;
    auto& word = words[position / 2];
    word = static_cast<std::uint16_t>(word | (position % 2 == 0 ? byte << 8 : byte));
  }
  return words;
}

std::uint64_t bits_of_words(std::span<std::uint16_t const> words, RegisterRow const& row) {
  auto const count = words.size() * 2;
  std::uint64_t bits = 0;
  for (std::size_t position = 0; position < count; ++position) {
    auto const word = words[position / 2];
    std::uint64_t const byte = position % 2 == 0 ? word >> 8 : word & 0xFF;
    bits |= byte << (8 * (count - 1 - significance(position, count, row.order)));
  }
  return bits;
}

bool is_signed(ValueType type) { return type == ValueType::s16 || type == ValueType::s32 || type == ValueType::s64; }
bool is_decimal(ValueType type) { return type == ValueType::bcd16 || type == ValueType::bcd32; }

std::uint64_t mask_of(RegisterRow const& row) {
  return row.words >= 4 ? ~std::uint64_t{0} : (std::uint64_t{1} << (16 * row.words)) - 1;
}

std::uint64_t decimal_digits(std::uint64_t value) {
  std::uint64_t bits = 0;
  for (unsigned shift = 0; value != 0; shift += 4, value /= 10) bits |= (value % 10) << shift;
  return bits;
}

/// Largest count that a double, too, can hold.
double highest_count(RegisterRow const& row) {
  if (is_decimal(row.type)) return std::pow(10.0, 4 * row.words) - 1.0;
  int const bits = 16 * row.words - (is_signed(row.type) ? 1 : 0);
  return bits > 53 ? std::ldexp(1.0, bits) - std::ldexp(1.0, bits - 53) : std::ldexp(1.0, bits) - 1.0;
}

double in_base_of(RegisterRow const& row) {
  auto const unit = unit_named(row.unit);
  return unit ? unit->in_base : 1.0;
}

}  // namespace

std::vector<std::uint16_t> words_of_number(std::optional<double> value, RegisterRow const& row) {
  double const missing = std::numeric_limits<double>::quiet_NaN();
  double const raw = value ? (*value / in_base_of(row) - row.offset) / row.scale : missing;
  if (row.type == ValueType::f32) {
    auto const narrow = static_cast<float>(raw);
    std::uint32_t bits = 0;
    std::memcpy(&bits, &narrow, sizeof bits);
    return words_of_bits(bits, row);
  }
  if (row.type == ValueType::f64) {
    std::uint64_t bits = 0;
    std::memcpy(&bits, &raw, sizeof bits);
    return words_of_bits(bits, row);
  }
  if (std::isnan(raw)) {
    if (is_signed(row.type)) return words_of_bits(std::uint64_t{1} << (16 * row.words - 1), row);
    return words_of_bits(mask_of(row), row);
  }
  double const highest = highest_count(row), lowest = is_signed(row.type) ? -highest - 1.0 : 0.0;
  double const count = std::clamp(std::round(raw), lowest, highest);
  if (is_decimal(row.type)) return words_of_bits(decimal_digits(static_cast<std::uint64_t>(count)), row);
  auto const bits =
      count < 0.0 ? static_cast<std::uint64_t>(static_cast<std::int64_t>(count)) : static_cast<std::uint64_t>(count);
  return words_of_bits(bits & mask_of(row), row);
}

std::vector<std::uint16_t> words_of_text(std::string const& text, RegisterRow const& row) {
  std::vector<std::uint16_t> words(static_cast<std::size_t>(row.words));
  bool const low_first = row.order == WordOrder::badc || row.order == WordOrder::dcba || row.order == WordOrder::cdab;
  for (std::size_t i = 0; i < text.size() && i / 2 < words.size(); ++i) {
    auto const byte = static_cast<unsigned>(static_cast<unsigned char>(text[i]));
    bool const high = (i % 2 == 0) != low_first;
    words[i / 2] = static_cast<std::uint16_t>(words[i / 2] | (high ? byte << 8 : byte));
  }
  return words;
}

std::optional<double> number_of_words(std::span<std::uint16_t const> words, RegisterRow const& row) {
  auto const bits = bits_of_words(words, row);
  double raw = 0.0;
  if (row.type == ValueType::f32) {
    auto const narrow_bits = static_cast<std::uint32_t>(bits);
    float narrow = 0.0F;
    std::memcpy(&narrow, &narrow_bits, sizeof narrow);
    raw = static_cast<double>(narrow);
  } else if (row.type == ValueType::f64) {
    std::memcpy(&raw, &bits, sizeof raw);
  } else if (is_decimal(row.type)) {
    double weight = 1.0;
    for (auto rest = bits; rest != 0; rest >>= 4, weight *= 10.0) {
      if ((rest & 0xF) > 9) return std::nullopt;
      raw += static_cast<double>(rest & 0xF) * weight;
    }
  } else if (is_signed(row.type) && (bits >> (16 * row.words - 1)) != 0) {
    raw = -static_cast<double>((~bits & mask_of(row)) + 1);
  } else {
    raw = static_cast<double>(bits);
  }
  if (!std::isfinite(raw)) return std::nullopt;
  return (raw * row.scale + row.offset) * in_base_of(row);
}

std::string text_of_words(std::span<std::uint16_t const> words, RegisterRow const& row) {
  bool const low_first = row.order == WordOrder::badc || row.order == WordOrder::dcba || row.order == WordOrder::cdab;
  std::string text;
  for (auto const word : words) {
    char const high = static_cast<char>(word >> 8), low = static_cast<char>(word & 0xFF);
    text += low_first ? low : high;
    text += low_first ? high : low;
  }
  while (!text.empty() && (text.back() == '\0' || text.back() == ' ')) text.pop_back();
  return text;
}

}  // namespace benchward::sim
