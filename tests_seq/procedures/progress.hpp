// SPDX-License-Identifier: MIT
#pragma once

/// What a run shows while it runs: a view for terminal and panel, never evidence. Called on the run's own thread; must
/// not block.

#include <string>

#include "../../limits/quantity.hpp"
#include "../../limits/result.hpp"
#include "../guard/desk.hpp"
#include "../plan/plan.hpp"

namespace benchward {

struct AttemptResult;

class ProgressSink {
 public:
  ProgressSink() = default;
  ProgressSink(ProgressSink const&) = delete;
  ProgressSink& operator=(ProgressSink const&) = delete;
  virtual ~ProgressSink() = default;

  virtual void step_started(int /*step*/, int /*of*/, PlanStep const& /*plan_step*/) {}
  /// What a person does now, where: "Set tap 3", "Connect: ...".
  virtual void act(std::string const& /*words*/) {}
  /// A live reading, not for record.
  virtual void reading(std::string const& /*what*/, double /*value*/, std::string const& /*unit*/) {}
  virtual void hold_left(Duration /*left*/) {}
  /// State, missing list or trip of the guard changed.
  virtual void guard(GuardStatus const& /*status*/) {}
  /// After its results are kept.
  virtual void evaluated(Evaluation const& /*evaluation*/) {}
  virtual void step_ended(int /*step*/, std::string const& /*how*/, std::string const& /*words*/) {}
  virtual void ended(AttemptResult const& /*result*/) {}
};

}  // namespace benchward
