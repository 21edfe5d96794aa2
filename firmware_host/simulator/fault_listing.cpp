// SPDX-License-Identifier: MIT
#include "firmware_host/simulator/fault_listing.hpp"

#include <fmt/format.h>

#include "limits/documents/json_writer.hpp"
#include "sim/faults/fault_list.hpp"

namespace benchward::sim {

std::string faults_as_text(Unit const* unit) {
  std::string text;
  std::string where;
  for (auto const& fault : fault_list()) {
    if (unit != nullptr && !applies_to(fault, *unit)) continue;
    auto const promise = unit != nullptr ? promise_for(fault, *unit) : Promise{fault.expected_outcome, ""};
    if (fault.where != where) {
      where = fault.where;
      text += fmt::format("{}{}:\n", text.empty() ? "" : "\n", where);
    }
    text += fmt::format("  {:<28} {:<8} {}\n", fault.name, promise.outcome, fault.effect);
    if (!promise.reason.empty()) text += fmt::format("  {:<28} {:<8} On this unit: {}\n", "", "", promise.reason);
    if (!fault.parameter.empty()) {
      text += fmt::format("  {:<28} {:<8} VALUE: {} ({}), default {}, {} to {}\n", "", "", fault.parameter, fault.unit,
                          fault.default_value, fault.lowest, fault.highest);
    }
  }
  return text;
}

std::string faults_as_json(Unit const* unit) {
  JsonWriter json;
  json.begin_list();
  for (auto const& fault : fault_list()) {
    if (unit != nullptr && !applies_to(fault, *unit)) continue;
    auto const promise = unit != nullptr ? promise_for(fault, *unit) : Promise{fault.expected_outcome, ""};
    json.begin_object();
    json.field("name", fault.name).field("where", fault.where);
    json.field("parameter", fault.parameter).field("unit", fault.unit).field("default", fault.default_value);
    json.field("lowest", fault.lowest).field("highest", fault.highest);
    json.field("effect", fault.effect).field("applies_to", fault.applies_to);
    json.field("expected_outcome", promise.outcome).field("expected_test", fault.expected_test);
    json.field("bench_check", fault.bench_check).field("dangerous_by_hardware", fault.dangerous_by_hardware);
    if (!promise.reason.empty()) json.field("reason_on_this_unit", promise.reason);
    json.end_object();
  }
  return json.end_list().text();
}

}  // namespace benchward::sim
