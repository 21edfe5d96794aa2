// SPDX-License-Identifier: MIT
#pragma once

/// What volts and amperes on the way up say of an over-current: the unit's own, or the bench's.

#include <string>
#include <vector>

#include "drivers/bench/bench.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/guard/desk.hpp"
#include "tests_seq/plan/plan.hpp"
#include "tests_seq/procedures/step_context.hpp"

namespace benchward {

/// A bar, strap or earth left on: volts over amperes at the source below the unit's own short-circuit impedance on the
/// fed low side, at the trip and on the way up before it. A winding that is shorted as a whole inside draws as much and
/// no more; the bench is not clean.
bool less_than_a_short_inside(Unit const& unit, Bench const& bench, PlanStep const& step,
                              std::vector<RampPoint> const& ramp, TripRecord const& trip);

/// The volts at which it came. At the trip itself they may be gone already, where the source cut off before the guard;
/// the last of the ramp is a lower bound then.
Voltage volts_of_trip(std::vector<RampPoint> const& ramp, TripRecord const& trip);

/// What the ramp says against a breakdown of the unit, in words; empty: nothing.
std::string what_the_ramp_says(PlanStep const& step, std::vector<RampPoint> const& ramp, TripRecord const& trip);

}  // namespace benchward
