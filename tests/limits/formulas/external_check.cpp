// SPDX-License-Identifier: MIT
#include "tests/limits/formulas/external_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <map>

namespace benchward::testing {
namespace {

struct Tally {
  int checks = 0;
  double largest = 0.0;  ///< |computed - published| / allowed
  std::string of;
};

/// Prints when the program ends.
class Tallies {
 public:
  ~Tallies() {
    int all = 0;
    for (auto const& [source, tally] : by_source_) {
      std::fputs(
          fmt::format("external | {} | {} | {:.3f} ({})\n", source, tally.checks, tally.largest, tally.of).c_str(),
          stdout);
      all += tally.checks;
    }
    std::fputs(fmt::format("external | all sources | {} |\n", all).c_str(), stdout);
  }
  void add(std::string const& source, std::string const& what, double relative) {
    auto& tally = by_source_[source];
    ++tally.checks;
    if (tally.checks == 1 || relative > tally.largest) {
      tally.largest = relative;
      tally.of = what;
    }
  }

 private:
  std::map<std::string, Tally> by_source_;
};

Tallies& tallies() {
  static Tallies all;
  return all;
}

}  // namespace

void external(std::string const& source, std::string const& what, double computed, double published, double allowed) {
  INFO(source << ": " << what << ": computed " << computed << ", published " << published << ", allowed " << allowed);
  REQUIRE(allowed > 0.0);
  REQUIRE(std::abs(computed - published) <= allowed);
  tallies().add(source, what, std::abs(computed - published) / allowed);
}

}  // namespace benchward::testing
