// SPDX-License-Identifier: MIT
#pragma once

/// What the journal says of a unit before it is energised again: a hold, an interrupted attempt to take up.

#include <string>

#include "firmware_host/session/unit_run.hpp"

namespace benchward {

struct PastWishes {
  std::string resume;  ///< attempt to take up; empty: a new sequence
  std::string after;   ///< rework whose tests are repeated; empty: the whole sequence
  std::string reason;  ///< signed: why a unit on hold is energised again
};

/// `store`: null where no journal is kept; nothing is known then. Shapes the order's plan by the wishes and tells the
/// run what came before. Throws DocumentError (`plan.resume`, `plan.rework`, `plan.stage-waits`, `unit.on-hold`) where
/// the journal forbids what is wished, naming what to do instead. `only_shown`: for a plan; an attempt that never ended
/// is taken as the next start would close it.
RunPast past_of_unit(EventStore const* store, Bench const& bench, UnitOrder& order, PastWishes const& wishes, Stamp now,
                     bool only_shown = false);

/// Adds to `past` what the run of `order` may release: whether the bench is within what its check object asks, whether
/// the unit once broke down, what a rework leaves open. `of_unit`: the journal, at least from the unit's first attempt
/// on; `of_bench`: at least from the newest checks of the bench on.
void judge_release(RunPast& past, EventStore const& of_unit, EventStore const& of_bench, Bench const& bench,
                   UnitOrder const& order, Stamp now);

}  // namespace benchward
