// SPDX-License-Identifier: MIT
#pragma once

/// The faults of the list that are the unit's, set on the unit model.

#include <string>

#include "../unit/unit_model.hpp"
#include "fault_set.hpp"

namespace benchward::sim {

/// Clears what was set before and sets what is in force. Empty, or why a fault cannot be set on this unit.
std::string set_unit_defects(UnitModel& model, FaultSet const& faults);

}  // namespace benchward::sim
