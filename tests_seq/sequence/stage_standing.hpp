// SPDX-License-Identifier: MIT
#pragma once

/// Whether a stage of a unit's life may begin: a stage waits for the one before, and what was done to the unit between
/// opens the tests of the retest table again.

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

/// Reworks of the unit that stand in the journal behind entry `seq`, in order.
std::vector<std::string> reworks_since(EventStore const& store, std::string const& serial, std::uint64_t seq);

/// Throws DocumentError (`plan.rework`) for a word that the retest table does not have, naming those that it has.
void check_rework(std::string const& done);

}  // namespace benchward
