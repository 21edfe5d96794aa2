// SPDX-License-Identifier: MIT
#pragma once

/// Small readings of one image that `observe` and `judge` share. Freestanding.

#include "guard.hpp"

namespace benchward::guard {

constexpr std::int32_t size_of(std::int32_t value) { return value < 0 ? (value == INT32_MIN ? INT32_MAX : -value) : value; }

constexpr bool has_source(Declaration const& bench, int path) { return (bench.sources >> path & 1) != 0; }
constexpr bool wired(Declaration const& bench, int condition) { return (bench.absent & bit(condition)) == 0; }

/// Paths with a regulator between zero and the set value. The others are switched, with milliamperes at most.
constexpr bool regulated(SourcePath path) { return path == SourcePath::ac_source || path == SourcePath::dielectric; }

constexpr bool gates_closed(BenchInputs const& in, Declaration const& bench) {
  for (int gate = 0; gate < bench.gates && gate < max_gates; ++gate) {
    if (!in.gate_a[gate] || !in.gate_b[gate]) return false;
  }
  return true;
}

/// Mirror contacts of all sources, against the coils that are ordered.
struct Mirrors {
  bool all_open = true;           ///< of every source
  bool first = false, second = false;   ///< of the selected source: not proven open
  bool other = false;             ///< one of another source is not proven open
  bool pair = false;              ///< both of some source are not proven open
  bool not_opened = false;        ///< not ordered, not proven open
  bool not_closed = false;        ///< ordered, proven open
};

constexpr bool first_ordered(Coils coils) { return coils == Coils::first || coils == Coils::both; }
constexpr bool second_ordered(Coils coils) { return coils == Coils::second || coils == Coils::both; }

constexpr Mirrors mirrors_of(BenchInputs const& in, Declaration const& bench, StepLimits const& step, Coils coils) {
  Mirrors m;
  for (int path = 1; path < max_sources; ++path) {
    if (!has_source(bench, path)) continue;
    bool const first = !in.source[path].first_open, second = !in.source[path].second_open;
    m.all_open = m.all_open && !first && !second;
    m.pair = m.pair || (first && second);
    if (path == static_cast<int>(step.source)) {
      m.first = first;
      m.second = second;
      m.not_opened = m.not_opened || (first && !first_ordered(coils)) || (second && !second_ordered(coils));
      m.not_closed = (!first && first_ordered(coils)) || (!second && second_ordered(coils));
    } else {
      m.other = m.other || first || second;
      m.not_opened = m.not_opened || first || second;
    }
  }
  return m;
}

}  // namespace benchward::guard
