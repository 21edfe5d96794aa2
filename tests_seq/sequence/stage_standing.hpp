// SPDX-License-Identifier: MIT
#pragma once

/// Where a unit stands by the journal: which stage of its life may begin (a stage waits for the one before, and what
/// was done to the unit between opens the tests of the retest table again), and whether it is on hold.

#include <string>
#include <vector>

#include "../journal/event_store.hpp"

namespace benchward {

/// Where a stage stands by the journal.
struct StageStanding {
  std::string stage;
  bool passed = false;            ///< every test of it, once
  std::vector<std::string> open;  ///< tests to be done again in it, in the order of the plan
  std::vector<std::string> why;   ///< one line a cause: a rework, a rejecting attempt
  bool stands() const { return passed && open.empty(); }
};

/// Every stage of `stages` for the unit of that serial. `simulated_counts`: attempts on simulated benches count (on a
/// real bench they never do).
std::vector<StageStanding> stages_standing(EventStore const& store, std::string const& serial,
                                           std::vector<std::string> const& stages, bool simulated_counts);

/// Why `stage` must wait, with what to do; empty: it may begin. The stage's own standing does not hinder it.
std::string why_stage_waits(EventStore const& store, std::string const& serial, std::vector<std::string> const& stages,
                            std::string const& stage, bool simulated_counts);

/// Why a unit is on hold.
struct UnitHold {
  std::string why;  ///< attempt and its reason; empty: it is not on hold
  /// It broke down: a repeat that passes clears nothing, only quality's signature does. Any other hold ends with a
  /// repeat that passes, which needs a signed reason to begin.
  bool broke_down = false;
};
UnitHold hold_of(EventStore const& store, std::string const& serial, bool simulated_counts);

/// Tests of `stage` that stay open whatever an attempt with these tests, planned for a rework, shows; with the cause.
/// `tests` of it: what must be done besides. `why` is empty where nothing stays open.
struct StillOpen {
  std::vector<std::string> tests;
  std::string why;
};
StillOpen still_open_after(EventStore const& store, std::string const& serial, std::string const& stage,
                           std::vector<std::string> const& attempt_tests, bool simulated_counts);

/// Reworks of the unit that stand in the journal behind entry `seq`, in order.
std::vector<std::string> reworks_since(EventStore const& store, std::string const& serial, std::uint64_t seq);

/// Throws DocumentError (`plan.rework`) for a word that the retest table does not have, naming those that it has.
void check_rework(std::string const& done);

}  // namespace benchward
