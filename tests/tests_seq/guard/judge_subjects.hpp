// SPDX-License-Identifier: MIT
#pragma once

/// The checks of `judge` and `observe` by subject, and what they share.

#include <cstdint>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "judge_checks.hpp"

namespace benchward::guard::proof {

using Random = std::mt19937_64;
inline bool coin(Random& random) { return (random() & 1) != 0; }
inline std::int32_t number(Random& random, std::int32_t below) {
  return static_cast<std::int32_t>(random() % static_cast<std::uint64_t>(below));
}

/// What is ordered in a state of a healthy bench.
Orders orders_in(GuardState state);

std::vector<JudgeCheck> condition_checks();  ///< each condition in each state, everything else random
std::vector<JudgeCheck> reading_checks();    ///< what one image is taken for
std::vector<JudgeCheck> wiring_checks();     ///< benches that do not wire a signal, and what a bench cannot bring
std::vector<JudgeCheck> time_checks();       ///< memory: what counts only after a time

}  // namespace benchward::guard::proof
