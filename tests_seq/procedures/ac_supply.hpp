// SPDX-License-Identifier: MIT
#pragma once

/// What the steps on the alternating-current source share: raising with a look at the source's own relay, the volts
/// that are set, lowering before the guard's stop.

#include <string>

#include "step_context.hpp"

namespace benchward {

/// How a step names a source that trips or does not get there.
enum class Shortfall {
  of_the_unit,  ///< the step names it as a failure: BreakdownReading
  of_the_bench  ///< a bar missing, an earth left on: the measurement is worth nothing
};

/// Sets the source and waits until it says that it is there. StepStopped (breakdown, or cannot_measure with `hint`)
/// where its relay trips or the volts are not reached 10 s after the ramp.
Task<void> raise_to(StepContext& at, Permit const& permit, AcSource::Setting setting, Shortfall shortfall,
                    std::string hint);

/// The source's own over-current relay, between readings of a hold.
Task<void> require_not_tripped(StepContext& at, Shortfall shortfall, std::string hint);

/// Set value to zero, then the guard's stop. A source that cannot be told so is stopped all the same, then reported.
Task<void> lower_and_stop(StepContext& at, Duration ramp, bool keep_area);

/// After a stop: the set value of the step's source to zero, once the guard has cut. The source's over-current relay
/// lets go with it, and the next step does not find the old set value. Lowering is always allowed. Nothing to do where
/// the step has no such source.
Task<Answer<Done>> source_to_zero(RunWorld& world, SourcePath source);

/// Mean over the elements as line volts; nothing where a reading is not GOOD.
std::optional<double> average_line_volts(PowerSnapshot const& snapshot, AcWiring const& wiring);
std::optional<double> rms_line_volts(PowerSnapshot const& snapshot, AcWiring const& wiring);
std::optional<double> mean_amperes(PowerSnapshot const& snapshot);

/// What was seen when a step broke down, for the evaluation. `bench_proven_clean` is the sequencer's to say.
BreakdownReading breakdown_at(StepContext const& at, std::string cause, Voltage output, Current current);

}  // namespace benchward
