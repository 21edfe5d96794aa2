// SPDX-License-Identifier: MIT
#pragma once

/// Runs the plan of one unit: connects, energises through the guard, measures, evaluates, judges; makes safe on every
/// way out and writes down why it stopped, what was finished and what must be repeated.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "../../limits/evaluate/evaluate.hpp"
#include "../procedures/step_context.hpp"
#include "attempt_result.hpp"
#include "resume.hpp"
#include "stop_request.hpp"

namespace benchward {

/// What identifies an attempt besides the unit.
struct AttemptOptions {
  std::string attempt;  ///< id, from an IdSource
  std::string program_version;
  std::string unit_document;         ///< JSON text of the unit
  std::string sheet_document;        ///< JSON text of the limit sheet
  std::string calibration_document;  ///< JSON object: instrument name -> calibration in force
  std::string unit_hash;
  std::string repeat_reason;  ///< needed to energise a unit that was held after a breakdown
  bool unit_is_held = false;  ///< by an earlier attempt: without `repeat_reason` nothing is energised
  std::optional<std::uint32_t> gate_openings_before;  ///< the guard's count when the last unit ended (I32)
  std::string withheld;  ///< why nothing is released whatever the results: an instrument beyond its limit; empty: no
  std::string after;     ///< rework whose tests the plan repeats; empty: none
  /// Tests of the stage that are open besides this plan's, and why: a PASS is no release. Empty: none.
  std::vector<std::string> still_open;
  std::string why_still_open;
  std::string broke_down;  ///< the earlier breakdown: a PASS stays on hold until quality signs; empty: none
  std::optional<Resumption> resumption;  ///< an interrupted attempt taken up again
};

class Sequencer {
 public:
  /// `world` and everything in it, sheet and stop request outlive the run.
  Sequencer(RunWorld& world, LimitSheet const& sheet, StopRequest& stop, AttemptOptions options);
  Sequencer(Sequencer const&) = delete;
  Sequencer& operator=(Sequencer const&) = delete;

  /// One attempt, once. Never throws for what a bench, a unit or a person does; a defect of the program comes back as
  /// `defect` after everything was made safe. The calling coroutine's cancellation is off afterwards.
  Task<AttemptResult> run(Plan const& plan);

 private:
  struct Run;
  Task<void> body(Run& run);
  Task<void> wait_for_safe(Run& run);
  Task<void> connect(Run& run, StepContext& at);
  Task<void> wait_for_decay(Run& run);
  Task<void> begin_step(StepContext& at, std::string reason);
  Task<void> one_step(Run& run, std::size_t index);
  Task<void> ask_what_was_done_meanwhile(Run& run);
  Task<void> take_over(Run& run, std::size_t index);
  Task<bool> settle_question(Run& run, StepContext& at, Evaluation& evaluation, bool may_repeat);
  Task<void> keep_evaluation(Run& run, int step, Evaluation const& evaluation);
  Task<void> classify(Run& run, std::exception_ptr failure);
  Task<void> judge_breakdown(Run& run, StepStopped const& stopped, std::string reason);
  Task<bool> bench_is_clean(Run& run, TripRecord const& trip);
  Task<bool> source_relay_acted(Run& run);
  Task<void> finish(Run& run);

  RunWorld& world_;
  LimitSheet const& sheet_;
  StopRequest& stop_;
  AttemptOptions options_;
  std::map<std::string, Calibration> calibration_;
};

/// How an attempt that a crash left open is closed: what was finished, what must be repeated, on hold where a
/// dielectric step was energised and never judged.
AttemptEnded ended_by_a_crash(AttemptRecord const& record);

/// At program start: attempts that a crash left open are closed as ABORTED. Answers how many.
Task<Answer<int>> close_open_attempts(Journal& journal);

}  // namespace benchward
