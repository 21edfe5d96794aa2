// SPDX-License-Identifier: MIT
#pragma once

/// One unit through its plan on a live bench, with its record: what `test` does once and `station` again and again.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/session/session.hpp"
#include "limits/rules/limit_set.hpp"
#include "tests_seq/journal/journal.hpp"
#include "tests_seq/sequence/sequencer.hpp"

namespace benchward {

/// What is tested, against what.
struct UnitOrder {
  Unit unit;
  std::string unit_document;  ///< its text as read
  LimitSheet sheet;
  Plan plan;
};

/// Reads and plans; throws DocumentError for bad documents, SessionError 2 where the bench cannot test the unit, with
/// every reason.
UnitOrder make_order(std::string const& unit_file, std::string const& limits_file, std::string const& stage,
                     Bench const& bench);
UnitOrder make_order(Unit unit, LimitSet const& set, std::string const& stage, Bench const& bench);

/// The calibration in force, as the record keeps it: JSON object, instrument name -> calibration.
std::string calibration_document(Bench const& bench);

/// What a run may release, by what the journal says of bench and unit.
struct MayRelease {
  std::string withheld;                 ///< why nothing is released whatever the results; empty: no such reason
  std::string broke_down;               ///< the earlier breakdown that holds the unit until quality signs; empty: none
  std::vector<std::string> still_open;  ///< tests of the stage that the plan after a rework does not repeat
  std::string why_still_open;
};

/// What earlier attempts left for this one to know.
struct RunPast {
  bool unit_is_held = false;                          ///< without `repeat_reason` nothing is energised
  std::string repeat_reason;                          ///< why the unit is tested again, signed by who starts the run
  std::optional<std::uint32_t> gate_openings_before;  ///< the guard's count when the last unit ended
  std::string after;                                  ///< rework whose tests the plan repeats; empty: none
  std::optional<Resumption> resumption;               ///< an interrupted attempt taken up again
  std::optional<MayRelease> release;                  ///< by `judge_release`; without it nothing is released
};

/// Runs the order. `attempt`: id of the record. Reads nothing of the journal: a long one would hold up who waits for
/// the bench, so `past` is worked out before. Never throws for what a bench, unit or person does.
Task<AttemptResult> run_order(BenchSession& session, Bench const& bench, UnitOrder const& order, Operator& person,
                              Journal& journal, ProgressSink& progress, StopRequest& stop, std::string attempt,
                              RunPast past);

}  // namespace benchward
