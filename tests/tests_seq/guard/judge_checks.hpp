// SPDX-License-Identifier: MIT
#pragma once

/// Checks of a compiled `judge` and `observe`, condition by condition, with everything else random. Named, so that a
/// wrong version is caught by name.

#include <string>
#include <vector>

#include "tests_seq/guard/guard.hpp"

namespace benchward::guard::proof {

struct Judging {
  Judgement (*judge)(BenchInputs const&, Watch const&, Declaration const&, StepLimits const&, Machine const&,
                     Orders const&);
  Watch (*observe)(Watch const&, BenchInputs const&, Heard, Machine const&, Orders const&, std::uint16_t,
                   Declaration const&, StepLimits const&);
};

struct JudgeCheck {
  std::string name;
  std::string (*check)(Judging, int condition);  ///< empty, or what is wrong
  int condition = 0;
};
std::vector<JudgeCheck> const& judge_checks();

/// A bench with every signal wired, five sources and two gates, and a step of 1 kV on a connection of ratio 30.
Declaration full_bench();
StepLimits full_step(SourcePath source = SourcePath::ac_source);
/// Everything as it should be in a state.
BenchInputs healthy_image(GuardState state, Declaration const& bench, StepLimits const& step);

}  // namespace benchward::guard::proof
