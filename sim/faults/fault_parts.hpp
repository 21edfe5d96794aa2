// SPDX-License-Identifier: MIT
#pragma once

/// The four parts of the fault list, each in a file of its own. Only `fault_list.cpp` includes this.

#include <vector>

#include "fault_list.hpp"

namespace benchward::sim::parts {

std::vector<FaultDescription> unit_faults();
std::vector<FaultDescription> bench_faults();
std::vector<FaultDescription> interlock_faults();
std::vector<FaultDescription> wire_faults();

/// Units on which something else must come of a fault than the list says, and the physical reason.
struct PromiseException {
  std::string fault;
  bool (*fits)(Unit const&);
  std::string outcome;
  std::string reason;
};
std::vector<PromiseException> const& exceptions();

}  // namespace benchward::sim::parts
