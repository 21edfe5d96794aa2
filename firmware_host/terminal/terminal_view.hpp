// SPDX-License-Identifier: MIT
#pragma once

/// What the person at the terminal sees while a unit runs: on a terminal a calm live line under the log, in a pipe
/// plain lines only. A view, never evidence.

#include <memory>
#include <string>

#include "drivers/time/clock.hpp"
#include "tests_seq/procedures/progress.hpp"

namespace benchward {

class TerminalView final : public ProgressSink {
 public:
  enum class Where { standard_output, standard_error };

  TerminalView(Where where, Clock const& clock, bool simulated);
  ~TerminalView() override;

  /// A whole line for the person; the live line steps aside.
  void say(std::string const& words);

  void step_started(int step, int of, PlanStep const& plan_step) override;
  void act(std::string const& words) override;
  void reading(std::string const& what, double value, std::string const& unit) override;
  void hold_left(Duration left) override;
  void guard(GuardStatus const& status) override;
  void evaluated(Evaluation const& evaluation) override;
  void step_ended(int step, std::string const& how, std::string const& words) override;

 private:
  void show_live();
  void wipe_live();

  int descriptor_;
  bool live_ = false;  // a person's terminal
  bool shown_ = false;
  Clock const& clock_;
  std::string step_, reading_, hold_, guard_, missing_;
  std::int64_t last_reading_ns_ = -1, last_shown_ns_ = -1;
  std::string last_reading_name_;
};

/// "Safe and earthed", "armed", ... with what is missing.
std::string guard_in_words(GuardStatus const& status);

}  // namespace benchward
