// SPDX-License-Identifier: MIT
#pragma once

/// Register words from and to values, by a profile's row. Pure: reading words and understanding them are two things,
/// and the words are kept.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "profile.hpp"

namespace benchward {

/// Number of words that a type takes; 0 for text (the row says).
int words_of(ValueType type);

/// The value in these words (as many as the row has). A number that cannot be one (NaN, infinite, a BCD digit above 9,
/// outside the row's range) is not good, with the reason.
/// `power_of_ten`: of a row with an exponent.
Decoded decode(std::vector<std::uint16_t> const& words, RegisterRow const& row, int power_of_ten = 0);

/// Every row of a group out of the words of one request, powers of ten applied.
std::map<std::string, Decoded> decode_group(std::vector<std::uint16_t> const& words, ReadGroup const& group,
                                            Profile const& profile);

/// The words of a number given in the base unit of the row's dimension, rounded to the row's least count; nothing where
/// the type cannot hold it. NaN fits float types only.
std::optional<std::vector<std::uint16_t>> encode(double in_base_unit, RegisterRow const& row);
/// The words of a text, filled with zero bytes; nothing where it is too long.
std::optional<std::vector<std::uint16_t>> encode_text(std::string const& text, RegisterRow const& row);

/// The row's words out of a group's.
std::vector<std::uint16_t> words_of_row(std::vector<std::uint16_t> const& group_words, ReadGroup const& group,
                                        RegisterRow const& row);

/// Hex of words as in the record: "3F800000".
std::string hex_of(std::vector<std::uint16_t> const& words);

}  // namespace benchward
