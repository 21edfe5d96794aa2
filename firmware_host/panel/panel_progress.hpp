// SPDX-License-Identifier: MIT
#pragma once

/// What a run tells while it runs, kept as the panel shows it.

#include <functional>
#include <optional>
#include <utility>

#include "firmware_host/panel/panel_state.hpp"
#include "limits/rules/limit_sheet.hpp"
#include "tests_seq/procedures/progress.hpp"

namespace benchward::panel {

class PanelProgress final : public ProgressSink {
 public:
  explicit PanelProgress(std::function<void()> changed) : changed_(std::move(changed)) {}

  /// The unit that is looked at, with its plan; before the run and after it as well.
  std::optional<ShownRun> run;
  /// Of that unit, for the limits beside the live readings; nullptr: none are shown.
  LimitSheet const* sheet = nullptr;

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
  std::string winding_;  ///< "hv", "lv": of an applied-voltage step
  std::function<void()> changed_;
};

/// Puts the sheet's limit beside a live reading of a test where both are the same quantity; else leaves it without.
/// `at`: the place that the line is of, e.g. a winding.
void put_limit(ShownReading& reading, LimitSheet const& sheet, std::string const& test, std::string const& at);

/// The plan as it stands before a run.
ShownRun planned_run(Unit const& unit, Plan const& plan);

}  // namespace benchward::panel
