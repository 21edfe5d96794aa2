// SPDX-License-Identifier: MIT
#pragma once

/// What the checks of the simulator against something outside found, for the table in sim/README.md
/// (tests/sim/agreements collects and prints it): each check says its case, vector group, quantity, source and how far
/// the two lie apart. Writes to the file that BENCHWARD_AGREEMENTS names; without it, nothing.

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <string>

namespace benchward::sim::testing {

inline void agreed(std::string const& what, std::string const& group, std::string const& quantity, double deviation,
                   std::string const& source) {
  static char const* const path = std::getenv("BENCHWARD_AGREEMENTS");
  if (path == nullptr) return;
  std::ofstream(path, std::ios::app) << fmt::format("{}\t{}\t{}\t{:.3g}\t{}\n", what, group, quantity,
                                                    std::abs(deviation), source);
}

/// Deviation of a from b, relative to b; recorded on the way.
inline double apart(std::string const& what, std::string const& group, std::string const& quantity, double a, double b,
                    std::string const& source) {
  agreed(what, group, quantity, a / b - 1.0, source);
  return std::abs(a / b - 1.0);
}

}  // namespace benchward::sim::testing
