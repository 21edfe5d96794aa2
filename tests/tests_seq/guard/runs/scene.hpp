// SPDX-License-Identifier: MIT
#pragma once

/// What the guard's random runs draw from: the demo benches with their times moved about, the demo units, and every
/// energised step that the planner makes for them.

#include <cstdint>
#include <string>
#include <vector>

#include "chance.hpp"
#include "drivers/bench/bench.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/plan/plan.hpp"

namespace benchward::guard::runs {

/// One step that can be energised, and how its source is set.
struct Scene {
  std::size_t unit = 0;
  PlanStep step;
  double hertz = 60.0;
  int phases = 1;
};

struct Stock {
  std::vector<Bench> benches;  ///< guard turns each 50 ms, 10 ms
  std::vector<Unit> units;
  std::vector<Scene> scenes;
};

/// Reads the demo documents under `source_folder`/sim/demo.
Stock read_stock(std::string const& source_folder);

/// A bench with other times, all of which its reader would take, with or without the voltage relay.
Bench vary(Bench bench, Chance& chance);

}  // namespace benchward::guard::runs
