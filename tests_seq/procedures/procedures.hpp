// SPDX-License-Identifier: MIT
#pragma once

/// The first half of every routine test: measure. A file a test; each reads like the procedure in the standard, takes
/// what it needs of the plan, keeps its raw readings durably and hands them out. The second half is
/// `limits/evaluate/evaluate.hpp`, under the same words.

#include "step_context.hpp"

namespace benchward {

/// Every instrument says who it is; the person compares plate and unit document. StepStopped (person) otherwise.
Task<void> measure_identity(StepContext& at, IdentityWork const& work);
Task<TemperatureReadings> measure_temperatures(StepContext& at, TemperaturesWork const& work);
/// All points, tap by tap; also the phase relation. Starts at 1 V or less, checks the size there, then raises.
Task<RatioReadings> measure_ratio(StepContext& at, RatioWork const& work);
Task<PolarityReadings> measure_polarity(StepContext& at, PolarityWork const& work);
Task<InsulationReadings> measure_insulation_resistance(StepContext& at, InsulationWork const& work);
/// Current at most 15 % of rated; offset at zero current; settled by slope x remaining time; at least four readings.
Task<ResistanceReadings> measure_winding_resistance(StepContext& at, ResistanceWork const& work);
/// Set by the average volts within 0.25 %; two straddling points where the source cannot.
Task<NoLoadReadings> measure_no_load(StepContext& at, NoLoadWork const& work);
Task<LoadLossReadings> measure_load_loss(StepContext& at, LoadLossWork const& work);
Task<AppliedReadings> measure_applied(StepContext& at, AppliedWork const& work);
Task<InducedReadings> measure_induced(StepContext& at, InducedWork const& work);
/// A smooth ramp to rated volts and down.
Task<void> demagnetise(StepContext& at, DemagnetiseWork const& work);
/// Answers whether the person passed it.
Task<bool> do_hand_check(StepContext& at, HandCheckWork const& work);
Task<bool> take_result_from_elsewhere(StepContext& at, ElsewhereWork const& work);
/// Puts the unit as it ships, one ratio reading there, leads off.
Task<RatioReadings> measure_as_shipped(StepContext& at, AsShippedWork const& work);

}  // namespace benchward
