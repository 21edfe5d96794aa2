// SPDX-License-Identifier: MIT
#include "defects.hpp"

#include "unit_model.hpp"

namespace benchward::sim {

std::vector<UnitFaultKind> const& unit_fault_list() {
  // In the order of Defect.
  static std::vector<UnitFaultKind> const list{
      {"shorted-turn", "turns short-circuited", "turns", 1.0, 1.0, 50.0,
       "turns of the high-voltage winding are bolted together: current and loss without load", false, false},
      {"hv-turns-error", "turns too many", "turns", -1.0, -50.0, 50.0,
       "one high-voltage phase has turns too many (negative: missing)", false, false},
      {"lv-turns-error", "turns too many", "turns", -1.0, -5.0, 5.0,
       "one low-voltage phase has turns too many (negative: missing)", false, false},
      {"reversed-coil", "", "", 1.0, 1.0, 1.0, "one low-voltage coil is connected the wrong way round", false, false},
      {"tap-step-wrong", "tap position", "", 2.0, 0.0, 99.0,
       "on one phase this tap and the next are on each other's contact", false, false},
      {"poor-joint", "added to the phase's resistance", "%", 8.0, 0.5, 500.0,
       "a joint in one high-voltage phase adds resistance that wanders", false, false},
      {"open-winding", "", "", 1.0, 1.0, 1.0, "one high-voltage phase is open", false, false},
      {"wrong-conductor", "added to the resistance", "%", 8.0, -30.0, 60.0,
       "the high-voltage winding is of thinner wire on all phases", false, false},
      {"core-burrs", "added to the core loss", "%", 25.0, 1.0, 200.0, "burrs on the laminations raise the no-load loss",
       false, false},
      {"core-gap", "added to the magnetising current", "%", 150.0, 1.0, 2000.0,
       "an air gap in the core raises the exciting current, the loss little", false, false},
      {"core-double-earth", "added to the core loss", "%", 30.0, 1.0, 200.0,
       "a second core earth lets current circulate: loss up, current little", false, false},
      {"leakage-gap", "change of the impedance", "%", 15.0, -40.0, 100.0,
       "coils stand wrongly apart: the impedance is off", false, false},
      {"stray-high", "added to the stray loss", "%", 300.0, 1.0, 2000.0, "stray loss in tank and clamps is high", false,
       false},
      {"weak-insulation-hv", "strength, of the test level", "", 0.8, 0.05, 2.0,
       "insulation of the high-voltage winding to earth breaks down", false, false},
      {"weak-insulation-lv", "strength, of the test level", "", 0.8, 0.05, 2.0,
       "insulation of the low-voltage winding to earth breaks down", false, false},
      {"weak-insulation-hv-lv", "strength, of the test level", "", 0.8, 0.05, 2.0,
       "insulation between the windings breaks down", false, false},
      {"weak-insulation-turn", "strength, of the induced level", "", 0.8, 0.05, 2.0,
       "insulation between turns breaks down under induced volts", false, false},
      {"moisture", "insulation resistance divided by", "", 40.0, 1.5, 1000.0,
       "wet insulation: low resistance, some dielectric loss, some strength lost", false, false},
      {"remanence", "flux left in the core, of rated", "", 0.8, -1.2, 1.2,
       "the core was left magnetised by direct current", false, false},
      {"unit-warm", "above ambient", "K", 25.0, 1.0, 80.0, "the unit comes warm from filling, its liquid in layers",
       false, false},
      {"wrong-vector-group", "", "", 1.0, 1.0, 1.0,
       "the low-voltage winding is joined at its wrong ends: angle 180 degrees off", false, false},
      {"lead-swap", "", "", 1.0, 1.0, 1.0, "two low-voltage leads are on each other's bushing", false, false},
      {"center-tap-off", "turns off the middle", "turns", 1.0, -5.0, 5.0, "the middle lead is not in the middle", false,
       false},
  };
  return list;
}

std::optional<Defect> defect_named(std::string_view name) {
  std::vector<UnitFaultKind> const& list = unit_fault_list();
  for (std::size_t k = 0; k < list.size(); ++k)
    if (list[k].name == name) return static_cast<Defect>(k);
  return std::nullopt;
}

}  // namespace benchward::sim
