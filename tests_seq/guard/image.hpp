// SPDX-License-Identifier: MIT
#pragma once

/// Small readings of one image that `observe` and `judge` share. Freestanding.

#include "guard.hpp"

namespace benchward::guard {

constexpr std::int32_t size_of(std::int32_t value) {
  return value < 0 ? (value == INT32_MIN ? INT32_MAX : -value) : value;
}

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

/// The sources' contacts against the coils that are ordered.
struct Mirrors {
  bool all_open = true;                ///< of every source
  bool first = false, second = false;  ///< of the selected source: not proven open
  bool other = false;                  ///< one of another source is not proven open
  bool pair = false;                   ///< both of some source are not proven open
  bool not_opened = false;             ///< not ordered, not proven open
  bool not_closed = false;             ///< ordered, proven open
  bool isolated = true;                ///< I34: every other source open twice and isolated
  bool stores_empty = true;            ///< I35: of every source
};

constexpr bool first_ordered(Coils coils) { return coils == Coils::first || coils == Coils::both; }
constexpr bool second_ordered(Coils coils) { return coils == Coils::second || coils == Coils::both; }

constexpr Mirrors mirrors_of(BenchInputs const& in, Declaration const& bench, StepLimits const& step, Coils coils) {
  // One bit a path: five sources are judged at once.
  unsigned first = 0, second = 0, isolated = 0, empty = 0;
  for (int path = 1; path < max_sources; ++path) {
    auto const& source = in.source[path];
    first |= static_cast<unsigned>(!source.first_open) << path;
    second |= static_cast<unsigned>(!source.second_open) << path;
    isolated |= static_cast<unsigned>(source.isolated) << path;
    empty |= static_cast<unsigned>(source.store_discharged) << path;
  }
  unsigned const here = bench.sources, selected = (1u << static_cast<int>(step.source)) & here;
  unsigned const order_first = first_ordered(coils) ? selected : 0, order_second = second_ordered(coils) ? selected : 0;
  first &= here;
  second &= here;
  Mirrors m;
  m.all_open = (first | second) == 0;
  m.first = (first & selected) != 0;
  m.second = (second & selected) != 0;
  m.other = ((first | second) & ~selected) != 0;
  m.pair = (first & second) != 0;
  m.not_opened = ((first & ~order_first) | (second & ~order_second)) != 0;
  m.not_closed = ((order_first & ~first) | (order_second & ~second)) != 0;
  m.isolated = (here & ~selected & ~(isolated & ~first & ~second)) == 0;
  m.stores_empty = (here & ~empty) == 0;
  return m;
}

}  // namespace benchward::guard
