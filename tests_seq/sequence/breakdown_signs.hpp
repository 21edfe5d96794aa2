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
/// fed low side. A winding that is shorted as a whole inside draws as much and no more; the bench is not clean.
bool less_than_a_short_inside(Unit const& unit, Bench const& bench, PlanStep const& step, TripRecord const& trip);

/// What the ramp says against a breakdown of the unit, in words; empty: nothing.
std::string what_the_ramp_says(PlanStep const& step, std::vector<RampPoint> const& ramp, TripRecord const& trip);

}  // namespace benchward
