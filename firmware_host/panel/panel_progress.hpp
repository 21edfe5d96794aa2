// SPDX-License-Identifier: MIT
#pragma once

/// What a run tells while it runs, kept as the panel shows it.

#include <functional>
#include <optional>
#include <utility>

#include "firmware_host/panel/panel_state.hpp"
#include "tests_seq/procedures/progress.hpp"

namespace benchward::panel {

class PanelProgress final : public ProgressSink {
 public:
  explicit PanelProgress(std::function<void()> changed) : changed_(std::move(changed)) {}

  /// The unit that is looked at, with its plan; before the run and after it as well.
  std::optional<ShownRun> run;

  void step_started(int step, int of, PlanStep const& plan_step) override;
  void act(std::string const& words) override;
  void reading(std::string const& what, double value, std::string const& unit) override;
  void hold_left(Duration left) override;
  void guard(GuardStatus const& status) override;
  void evaluated(Evaluation const& evaluation) override;
  void step_ended(int step, std::string const& how, std::string const& words) override;
  void ended(AttemptResult const& result) override;

 private:
  ShownStep* at(int step);
  std::function<void()> changed_;
};

/// The plan as it stands before a run.
ShownRun planned_run(Unit const& unit, Plan const& plan);

}  // namespace benchward::panel
