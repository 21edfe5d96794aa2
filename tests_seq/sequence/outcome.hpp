// SPDX-License-Identifier: MIT
#pragma once

/// What a stop says: outcome of the attempt and disposition of the unit, by the first cause. Pure; the house's table.

#include <string>
#include <vector>

#include "../../limits/result.hpp"
#include "../guard/desk.hpp"
#include "../procedures/step_stopped.hpp"

namespace benchward {

/// What a guard condition means as the first cause of a trip.
enum class TripMeaning {
  aborted,      ///< gate, emergency stop, operator, earth sticks, two-hand: a person or the area
  bench,        ///< feedback, regulator, watchdog, stale or impossible reading, supply: INVALID
  perhaps_unit  ///< over-current, voltage ceiling: FAIL where the step names it and the bench is proven clean
};
TripMeaning meaning_of_condition(int number);

/// Whether the later conditions of a trip still leave the bench proven clean: consequences of an over-current do.
bool later_conditions_are_clean(TripRecord const& trip);

/// What a stop by an exception comes to. `breakdown_of_unit`: an evaluation of it decides instead (evaluate_breakdown).
struct StopVerdict {
  Outcome outcome = Outcome::invalid;
  Disposition disposition = Disposition::repeat;
  std::string reason;
  bool breakdown_of_unit = false;
};

/// `step_names_it`: the step declared that over-current, ceiling, collapse and volts not reached are the unit's
/// failure.
StopVerdict verdict_of_stop(StepStopped const& stopped, bool step_names_it);

/// What a disposition means in a stage, for a person: a good unit before closing is not released, its tank may be
/// closed.
std::string disposition_in_words(Disposition disposition, std::string const& stage);

/// A run stopped after results that already rejected the unit keeps the hold: the worse disposition stands.
Disposition worse(Disposition a, Disposition b);

}  // namespace benchward
