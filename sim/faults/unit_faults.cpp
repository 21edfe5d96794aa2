// SPDX-License-Identifier: MIT
#include "sim/faults/fault_parts.hpp"

namespace benchward::sim::parts {
namespace {

struct Row {
  char const* name;
  char const* parameter;
  char const* unit;
  double value, low, high;
  char const* effect;
  std::vector<std::string> applies_to;
  char const* outcome;
  char const* test;
};

}  // namespace

/// Faults of the transformer itself. Signatures: common practice, no source.
std::vector<FaultDescription> unit_faults() {
  Row const rows[] = {
      {"shorted-turn", "turns shorted on one limb's high-voltage coil", "turns", 1, 1, 50,
       "A turn of the high-voltage coil is bolted to its neighbour: loss and exciting current far up, ratio nearly right.",
       {"all"}, "FAIL", "no_load"},
      {"one-lv-turn-missing", "turns missing on one limb", "turns", 1, 1, 5,
       "A low-voltage coil has a turn less on one limb: its ratio is high on all taps.", {"all"}, "FAIL", "ratio"},
      {"one-lv-turn-extra", "turns too many on one limb", "turns", 1, 1, 5,
       "A low-voltage coil has a turn more on one limb: its ratio is low on all taps.", {"all"}, "FAIL", "ratio"},
      {"one-hv-turn-missing", "turns missing on one limb", "turns", 1, 1, 50,
       "A high-voltage coil has a turn less on one limb: ratio off by one part in its turns, inside the usual limit.",
       {"all"}, "PASS", "ratio"},
      {"hv-turns-wrong", "turns too many on one limb", "%", 1.2, -20, 20,
       "A high-voltage coil was wound with the wrong counter setting (at most 50 turns off).", {"all"}, "FAIL", "ratio"},
      {"tap-leads-swapped", "tap position; it and the next are exchanged", "1", 2, 1, 99,
       "On one phase two neighbouring tap leads are on each other's contact: their ratios are exchanged.", {"tapped"},
       "FAIL", "ratio"},
      {"reversed-lv-coil", "1 = on", "1", 1, 1, 1, "One low-voltage coil is connected the wrong way round.", {"all"},
       "FAIL", "ratio"},
      {"wrong-markings", "1 = on", "1", 1, 1, 1, "Two low-voltage leads are on each other's bushing.", {"all"}, "FAIL",
       "ratio"},
      {"wrong-vector-group", "1 = on", "1", 1, 1, 1,
       "The low-voltage winding is joined at its wrong ends: angle 180 degrees off.", {"three_phase"}, "FAIL", "ratio"},
      {"center-tap-off", "turns off the middle", "turns", 1, -5, 5,
       "The middle lead of the low-voltage winding is not in the middle.", {"center_tapped"}, "FAIL", "ratio"},
      {"poor-hv-joint", "of the phase's resistance", "%", 25, 0.5, 500,
       "A cold joint in one phase of the high-voltage winding: resistance high there, unsteady.", {"three_phase"},
       "FAIL", "winding_resistance"},
      {"open-hv-winding", "1 = on", "1", 1, 1, 1, "A high-voltage coil is broken: no current, no ratio.", {"all"},
       "FAIL", "ratio"},
      {"wrong-wire", "resistance above design, all phases", "%", 40, -30, 60,
       "The high-voltage coils are wound with too thin a wire: all phases alike.", {"all"}, "FAIL", "load_loss"},
      {"core-burrs", "core loss above design", "%", 35, 1, 200,
       "Burrs on the laminations: no-load loss up, current little.", {"all"}, "FAIL", "no_load"},
      {"core-gap", "magnetising current above design", "%", 150, 1, 2000,
       "A joint of the core stands open: exciting current up, loss little.", {"all"}, "PASS", ""},
      {"core-earthed-twice", "of the core loss", "%", 35, 1, 200,
       "The core is earthed at two points: a current circulates through the second.", {"all"}, "FAIL", "no_load"},
      {"wrong-steel", "loss and magnetising current above design", "%", 60, 1, 200,
       "The core is built of a poorer steel: loss and current up.", {"all"}, "FAIL", "no_load"},
      {"coil-spacing", "impedance above design", "%", 25, -40, 100,
       "Wrong spacing between the coils: impedance off, loss nearly right.", {"all"}, "FAIL", "load_loss"},
      {"stray-loss-high", "stray loss above design", "%", 500, 1, 2000,
       "Strands wrongly transposed or a shield missing: stray loss far up.", {"all"}, "FAIL", "load_loss"},
      {"remanence", "of rated peak flux", "%", 60, -120, 120,
       "The core keeps remanence from an earlier direct current: gone after the ramp to rated volts.", {"all"}, "PASS",
       ""},
      {"weak-insulation-to-earth", "strength, of the applied-voltage test level", "%", 60, 5, 200,
       "The high-voltage winding breaks down to earth below its test level.", {"applied_hv"}, "FAIL", "applied"},
      {"weak-lv-insulation", "strength, of the applied-voltage test level", "%", 60, 5, 200,
       "The low-voltage winding breaks down to earth below its test level.", {"applied_lv"}, "FAIL", "applied"},
      {"weak-insulation-between-windings", "strength, of the applied-voltage test level", "%", 60, 5, 200,
       "High- and low-voltage windings break down to each other.", {"applied_hv"}, "FAIL", "applied"},
      {"weak-turn-insulation", "strength, of the induced level", "%", 75, 5, 200,
       "Turn insulation gives way between rated volts and the induced test's.", {"all"}, "FAIL", "induced"},
      {"damp-insulation", "insulation resistance divided by", "1", 40, 1.5, 1000,
       "Moisture: insulation resistance low, some strength lost.", {"all"}, "PASS", ""},
      {"bushing-flashover", "of the applied-voltage test level", "%", 70, 5, 300,
       "A dirty bushing flashes over in air; the solid insulation is sound.", {"applied_hv"}, "FAIL", "applied"},
      {"unit-still-warm", "above ambient", "K", 25, 1, 80,
       "The unit comes warm from filling, its liquid in layers.", {"all"}, "INVALID", "temperatures"},
  };
  std::vector<FaultDescription> list;
  for (auto const& row : rows) {
    list.push_back({row.name, "unit", row.parameter, row.unit, row.value, row.low, row.high, row.effect, row.applies_to,
                    row.outcome, row.test, false, false});
  }
  return list;
}

}  // namespace benchward::sim::parts
