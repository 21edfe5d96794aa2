// SPDX-License-Identifier: MIT
#include "sim/faults/fault_set.hpp"

#include <fmt/format.h>

#include "sim/faults/fault_list.hpp"

namespace benchward::sim {

std::string FaultSet::set(std::string const& name, std::optional<double> value) {
  auto const* fault = find_fault(name);
  if (fault == nullptr) {
    return fmt::format("no fault \"{}\" is known; nearest: \"{}\" (the list: benchward-sim --list-faults)", name,
                       nearest_fault(name));
  }
  double const wanted = value.value_or(fault->default_value);
  if (!(fault->lowest <= wanted && wanted <= fault->highest)) {
    return fmt::format("fault \"{}\": {} {} is outside {} to {}", name, wanted, fault->unit, fault->lowest,
                       fault->highest);
  }
  active_[name] = wanted;
  ++revision_;
  return {};
}

std::string FaultSet::clear(std::string_view name_or_all) {
  if (name_or_all == "all") {
    active_.clear();
  } else {
    auto const found = active_.find(name_or_all);
    if (found == active_.end()) return fmt::format("fault \"{}\" is not in force", name_or_all);
    active_.erase(found);
  }
  ++revision_;
  return {};
}

}  // namespace benchward::sim
