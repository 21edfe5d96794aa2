// SPDX-License-Identifier: MIT
#pragma once

/// Every fault that the simulator can have, in plain trade words, with what must come of it.

#include <optional>
#include <string>
#include <vector>

#include "../../limits/unit/unit.hpp"

namespace benchward::sim {

struct FaultDescription {
  std::string name;             ///< "shorted-turn"
  std::string where;            ///< "unit", "bench", "wires", "interlock"
  std::string parameter, unit;  ///< what VALUE means, and its unit
  double default_value = 0.0, lowest = 0.0, highest = 0.0;
  std::string effect;  ///< one sentence
  /// All of these must fit the unit: "all", "single_phase", "three_phase", "tapped", "strapped", "arresters",
  /// "breaker", "center_tapped", "dual_voltage", "applied_hv", "applied_lv", "lv_neutral", or a vector group.
  std::vector<std::string> applies_to;
  std::string expected_outcome;  ///< "PASS", "FAIL", "INVALID", "ABORTED" of `benchward test` at the default
  std::string expected_test;     ///< the test that must name it; empty where none
  bool bench_check = false;      ///< `bench check` must see it
  bool dangerous_by_hardware = false;
};

/// The whole list, in a fixed order.
std::vector<FaultDescription> const& fault_list();
FaultDescription const* find_fault(std::string const& name);
/// The known name nearest to a wrong one, by edit distance.
std::string nearest_fault(std::string const& name);
/// What must come of the fault on one unit: the list's promise, or that of the exception that fits the unit.
struct Promise {
  std::string outcome;
  std::string reason;  ///< why it differs from the list's, empty where it does not
};
Promise promise_for(FaultDescription const& fault, Unit const& unit);
/// Whether a unit can have the fault at all (every word of `applies_to` fits it).
bool applies_to(FaultDescription const& fault, Unit const& unit);

}  // namespace benchward::sim
