// SPDX-License-Identifier: MIT
#pragma once

/// Register words from and to values, by a profile's row. Pure: reading words and understanding them are two things,
/// and the words are kept.

#include <cstdint>
#include <map>
#include <optional>
#include <span>
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

/// The same into `out`, whose room is used again: nothing is allocated for a good number. `unit_in_base`: base units of
/// one of the row's unit.
void decode_into(std::span<std::uint16_t const> words, RegisterRow const& row, double unit_in_base, int power_of_ten,
                 Decoded& out);

/// A read group with its rows, units and powers of ten looked up once: reads in steady state look nothing up.
class GroupPlan {
 public:
  /// `profile` outlives this; it may be moved, its rows stay where they are.
  GroupPlan(ReadGroup const& group, Profile const& profile);

  struct Row {
    RegisterRow const* row = nullptr;
    std::size_t from = 0;  ///< its first word within the group's
    double unit_in_base = 1.0;
    RegisterRow const* exponent = nullptr;
    std::size_t exponent_from = 0;
  };
  std::vector<Row> const& rows() const { return rows_; }
  /// One row out of the group's words.
  static void decode_row(Row const& row, std::span<std::uint16_t const> group_words, Decoded& out);

 private:
  std::vector<Row> rows_;
};

/// Every row of a group out of the words of one request, powers of ten applied.
std::map<std::string, Decoded> decode_group(std::vector<std::uint16_t> const& words, ReadGroup const& group,
                                            Profile const& profile);

/// The words of a number given in the base unit of the row's dimension, rounded to the row's least count; nothing where
/// the type cannot hold it. NaN fits float types only.
std::optional<std::vector<std::uint16_t>> encode(double in_base_unit, RegisterRow const& row);
/// The words of a text, filled with zero bytes; nothing where it is too long.
std::optional<std::vector<std::uint16_t>> encode_text(std::string const& text, RegisterRow const& row);

/// Hex of words as in the record: "3F800000".
std::string hex_of(std::vector<std::uint16_t> const& words);

}  // namespace benchward
