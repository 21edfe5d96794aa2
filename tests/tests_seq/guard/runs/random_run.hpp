// SPDX-License-Identifier: MIT
#pragma once

/// One run of the guard against the simulated bench in virtual time: one energised step, a person at the desk, and
/// whatever the script lets go wrong. The judge is the simulator's list of dangerous moments, which looks at physics
/// and hardware alone; beside it, every turn, what the guard shows as safe is held against the truth.

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "scene.hpp"
#include "script.hpp"

namespace benchward::guard::runs {

struct RunReport {
  std::uint64_t seed = 0;
  bool energised = false;     ///< a source was on at some time
  bool came_to_rest = false;  ///< SAFE_EARTHED, TRIPPED and earthed, LOCKOUT, or killed and off
  bool killed = false;        ///< no program at the end
  GuardState at_end = GuardState::unknown;
  std::array<bool, guard_state_count> visited{};
  std::uint8_t first_condition = 0;     ///< of the first trip or lockout
  std::vector<std::string> had;         ///< faults that were taken, gate forced, program killed; in their order
  std::vector<std::string> moments;     ///< dangerous ones, with their time
  std::vector<std::string> false_safe;  ///< shown as safe and it was not
  double seconds = 0.0;                 ///< simulated
  std::uint64_t turns = 0;
  Script script;
  std::string scene;
};

RunReport one_run(Stock const& stock, std::uint64_t seed);

}  // namespace benchward::guard::runs
