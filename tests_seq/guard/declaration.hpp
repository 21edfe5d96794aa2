// SPDX-License-Identifier: MIT
#pragma once

/// From bench document and step to the guard's own numbers: the only place where volts become millivolts at the
/// source's output.

#include <cstdint>
#include <string>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/fault.hpp"
#include "desk.hpp"
#include "guard.hpp"

namespace benchward {

/// The bench for the guard. `owner`: this run's random number in the heartbeat word, never 0. Throws DocumentError
/// `guard.condition-needed` where the bench declares absent what no guard can do without, and `guard.time` for a time
/// that is not positive and finite.
guard::Declaration guard_declaration(Bench const& bench, std::uint16_t owner);

/// A step for the guard, each threshold divided by the largest ratio of the connection. The error says in words why
/// energy cannot be declared so.
Result_<guard::StepLimits, std::string> step_limits(StepEnergy const& step, guard::Declaration const& bench);

}  // namespace benchward
