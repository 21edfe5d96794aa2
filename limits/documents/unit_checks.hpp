// SPDX-License-Identifier: MIT
#pragma once

/// What a unit document may not contradict itself in. Each finding has a stable id:
///
/// - `unit.vector-group`: not a notation of IEC 60076-1, or a clock number that the connection cannot have
/// - `unit.phases`: `phases` and `vector_group` disagree, or a key that only the other number of phases has
/// - `unit.neutral`: how a neutral leaves the tank contradicts the vector group
/// - `unit.taps-order`: tap percents not strictly falling, or a position twice
/// - `unit.tap-missing`: `rated_tap` is not in the list, or a tap changer without taps
/// - `unit.rated-tap`: the rated tap's percent is not 0
/// - `unit.applied-impossible`: an applied level on a winding that cannot be lifted from earth or from the other one
/// - `unit.lv-form`: the form of the low-voltage winding contradicts phases or connection
/// - `unit.voltages`: low voltage above high voltage, or a dual voltage that does not contain the rated one
/// - `unit.turns`: turns that do not fit the voltages
/// - `unit.bushings`: a terminal that the connection needs is missing, stands twice, or has no meaning
/// - `unit.accessory`: an accessory at a terminal that the unit does not have
/// - `unit.options`: a stage twice or out of order

#include <string>

#include "../unit/unit.hpp"

namespace benchward {

/// Throws DocumentError for the first contradiction.
void check_unit(Unit const& unit, std::string const& document);

}  // namespace benchward
