// SPDX-License-Identifier: MIT
#pragma once

/// From numbers to register words and back, by a profile's row: the simulator's own reading of types and orders, so
/// that a mistake of the station's codec shows as a wrong value. Numbers are in the base unit of the row's dimension.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "../../drivers/profile/profile.hpp"

namespace benchward::sim {

/// A reading outside what the row can hold stops at the end of the row's range; no reading is NaN in a float row, the
/// most negative number in a signed one and all ones in an unsigned one.
std::vector<std::uint16_t> words_of_number(std::optional<double> value, RegisterRow const& row);
/// Filled with zero bytes; cut where it is too long.
std::vector<std::uint16_t> words_of_text(std::string const& text, RegisterRow const& row);
/// Nothing: no number (NaN, a BCD digit above 9).
std::optional<double> number_of_words(std::span<std::uint16_t const> words, RegisterRow const& row);
std::string text_of_words(std::span<std::uint16_t const> words, RegisterRow const& row);

}  // namespace benchward::sim
