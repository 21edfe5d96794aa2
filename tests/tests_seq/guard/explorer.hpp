// SPDX-License-Identifier: MIT
#pragma once

/// Walks the whole domain of a compiled `advance`: every machine that can be reached, with every finding, request and
/// timer, and checks named properties on each step. Then bounded-time properties on graphs with a healthy bench.

#include <cstdint>
#include <string>
#include <vector>

#include "tests_seq/guard/guard.hpp"

namespace benchward::guard::proof {

using AdvanceFunction = Advanced (*)(Machine const&, Findings const&, Request, Timers);

/// One step of the machine under test.
struct Step {
  Machine before;
  Findings in;
  Request request;
  Timers timers;
  Advanced after;
};

/// Properties of single steps: each a sentence, which is also the name by which a wrong version is caught.
std::vector<std::string> const& step_properties();
/// Bit n: property n does not hold on this step.
std::uint64_t fallen_properties(Step const& step);

struct Walk {
  std::uint64_t machines = 0, transitions = 0;
  std::vector<std::string> violated;  ///< names of properties that fell, with the first counter-example
  std::vector<Machine> reached;
};

/// All reachable machines by all inputs; with `only` set, stops at the first violation of that property.
Walk walk(AdvanceFunction advance, std::string const& only = {});

/// Properties over time, on the machines reached. Each answers an empty string, or what is wrong.
struct TimeProperty {
  char const* name;
  std::string (*check)(AdvanceFunction, std::vector<Machine> const& reached, std::uint64_t& nodes);
};
std::vector<TimeProperty> const& time_properties();

std::string text_of(Machine const& machine);
std::string text_of(Step const& step);

}  // namespace benchward::guard::proof
