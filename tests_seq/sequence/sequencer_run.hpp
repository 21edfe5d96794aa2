// SPDX-License-Identifier: MIT
#pragma once

/// One attempt as it goes on. Inner part of the sequencer, not installed.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "outcome.hpp"
#include "sequencer.hpp"
#include "step_runner.hpp"

namespace benchward {

struct Sequencer::Run {
  explicit Run(Plan const& of_plan) : plan(of_plan) {}

  Plan plan;                 ///< as it is gone through
  std::string planned_hash;  ///< of the plan as it was made
  Gathered gathered;
  std::string today;
  std::vector<std::optional<Evaluation>> evaluations;  ///< a place a step
  std::vector<Evaluation> breakdowns;
  std::size_t done = 0;  ///< steps finished
  std::size_t current = 0;
  bool in_step = false;
  std::string faulty_device;          ///< whose fault stopped the attempt; empty: nobody's
  bool started = false;               ///< `attempt started` is kept
  bool ended_early = false;           ///< rejected or invalid: the rest is not worth energising
  Connection const* leads = nullptr;  ///< as they are on the unit
  std::optional<int> tap;
  bool area_unbroken = false;
  std::optional<Current> direct_limit;  ///< a direct current flowed last; below this it counts as gone
  Duration bypassed_before;             ///< bypass key, before this attempt
  std::optional<Stamp> energised_at;    ///< of the step that was stopped
  std::vector<RampPoint> ramp;          ///< of the same
  std::optional<StopVerdict> stopped;
  AttemptResult result;
};

}  // namespace benchward
