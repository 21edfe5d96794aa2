// SPDX-License-Identifier: MIT
#include "sim/faults/unit_defects.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <fmt/format.h>

#include "sim/faults/fault_list.hpp"

namespace benchward::sim {
namespace {

constexpr double as_is(double value, UnitModel const&) { return value; }
constexpr double missing(double value, UnitModel const&) { return -value; }
constexpr double percent(double value, UnitModel const&) { return value / 100.0; }
double turns_of_percent(double value, UnitModel const& model) {
  double const turns = std::round(value / 100.0 * model.hv_turns());
  return std::clamp(turns, -50.0, 50.0);
}

/// A fault of the list, the model's defect that it sets, and the defect's value from the fault's.
struct Row {
  char const* fault;
  char const* defect;
  double (*value)(double, UnitModel const&);
};

constexpr Row rows[] = {
    {"shorted-turn", "shorted-turn", as_is},
    {"one-lv-turn-missing", "lv-turns-error", missing},
    {"one-lv-turn-extra", "lv-turns-error", as_is},
    {"one-hv-turn-missing", "hv-turns-error", missing},
    {"hv-turns-wrong", "hv-turns-error", turns_of_percent},
    {"tap-leads-swapped", "tap-step-wrong", as_is},
    {"reversed-lv-coil", "reversed-coil", as_is},
    {"wrong-markings", "lead-swap", as_is},
    {"wrong-vector-group", "wrong-vector-group", as_is},
    {"center-tap-off", "center-tap-off", as_is},
    {"poor-hv-joint", "poor-joint", as_is},
    {"open-hv-winding", "open-winding", as_is},
    {"open-hv-winding-alone", "open-winding", as_is},
    {"wrong-wire", "wrong-conductor", as_is},
    {"core-burrs", "core-burrs", as_is},
    {"core-gap", "core-gap", as_is},
    {"core-earthed-twice", "core-double-earth", as_is},
    {"wrong-steel", "core-burrs", as_is},
    {"wrong-steel", "core-gap", as_is},
    {"coil-spacing", "leakage-gap", as_is},
    {"stray-loss-high", "stray-high", as_is},
    {"weak-insulation-to-earth", "weak-insulation-hv", percent},
    {"weak-lv-insulation", "weak-insulation-lv", percent},
    {"weak-insulation-between-windings", "weak-insulation-hv-lv", percent},
    {"weak-turn-insulation", "weak-insulation-turn", percent},
    {"damp-insulation", "moisture", as_is},
    {"remanence", "remanence", percent},
    {"unit-still-warm", "unit-warm", as_is},
};

}  // namespace

std::string set_unit_defects(UnitModel& model, FaultSet const& faults) {
  model.clear_fault("all");
  for (auto const& row : rows) {
    if (!faults.on(row.fault)) continue;
    try {
      model.set_fault(row.defect, row.value(faults.value_or(row.fault, 0.0), model));
    } catch (std::invalid_argument const& error) {
      return fmt::format("fault \"{}\": {}", row.fault, error.what());
    }
  }
  return {};
}

}  // namespace benchward::sim
