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
      {"shorted-turn", "turns shorted on one limb's high-voltage coil", "turns", 1, 1, 20,
       "A turn of the high-voltage coil is bolted to its neighbour: loss and exciting current far up, ratio nearly right.",
       {"all"}, "FAIL", "no_load"},
      {"one-lv-turn-missing", "turns missing on one limb", "turns", 1, 0, 20,
       "A low-voltage coil has a turn less on one limb: its ratio is high on all taps.", {"all"}, "FAIL", "ratio"},
      {"one-hv-turn-missing", "turns missing on one limb", "turns", 1, 0, 100,
       "A high-voltage coil has a turn less on one limb: ratio off by one part in its turns, inside the usual limit.",
       {"all"}, "PASS", "ratio"},
      {"hv-turns-wrong", "turns too many on one limb", "%", 1.2, -20, 20,
       "A high-voltage coil was wound with the wrong counter setting.", {"all"}, "FAIL", "ratio"},
      {"tap-leads-swapped", "1 = on", "1", 1, 0, 1,
       "Two neighbouring tap leads are exchanged at the tap changer: their ratios are exchanged.", {"tapped"}, "FAIL",
       "ratio"},
      {"tap-pointer-off", "steps", "steps", 1, -4, 4,
       "The tap changer's pointer is fitted a step off: every marked tap is its neighbour.", {"tapped"}, "FAIL", "ratio"},
      {"reversed-lv-coil", "limb", "1", 1, 1, 3, "The low-voltage coil of one limb is connected the wrong way round.",
       {"all"}, "FAIL", "ratio"},
      {"wrong-markings", "1 = on", "1", 1, 0, 1,
       "Low-voltage terminals are marked in exchange: single-phase both ends, three-phase X1 and X2.", {"all"}, "FAIL",
       "ratio"},
      {"poor-hv-joint", "of the phase's resistance", "%", 25, 0, 500,
       "A cold joint in one phase of the high-voltage winding: resistance high there.", {"three_phase"}, "FAIL",
       "winding_resistance"},
      {"poor-lv-joint", "of the phase's resistance", "%", 40, 0, 500,
       "A poor joint in one phase of the low-voltage winding.", {"three_phase"}, "FAIL", "winding_resistance"},
      {"loose-tap-contact", "of the phase's resistance", "%", 40, 0, 500,
       "The tap changer's contact is loose on the rated tap: resistance high there, unsteady.",
       {"three_phase", "tapped"}, "FAIL", "winding_resistance"},
      {"open-hv-winding", "limb", "1", 1, 1, 3, "A high-voltage coil is broken: no current, no ratio.", {"all"},
       "FAIL", "ratio"},
      {"wrong-wire", "resistance above design, all phases", "%", 30, -50, 200,
       "The high-voltage coils are wound with too thin a wire: all phases alike.", {"all"}, "FAIL", "load_loss"},
      {"core-burrs", "loss above design", "%", 35, 0, 500, "Burrs on the laminations: no-load loss up, current little.",
       {"all"}, "FAIL", "no_load"},
      {"core-gap", "magnetising current above design", "%", 400, 0, 5000,
       "A joint of the core stands open: exciting current up, loss little.", {"all"}, "PASS", ""},
      {"core-earthed-twice", "circulating loss of rated no-load loss", "%", 30, 0, 500,
       "The core is earthed at two points: a current circulates through the second.", {"all"}, "FAIL", "no_load"},
      {"wrong-steel", "loss above design", "%", 60, -50, 500, "The core is built of a poorer steel: loss and current up.",
       {"all"}, "FAIL", "no_load"},
      {"coil-spacing", "leakage reactance above design", "%", 25, -60, 200,
       "Wrong spacing between the coils: impedance off, loss nearly right.", {"all"}, "FAIL", "load_loss"},
      {"stray-loss-high", "of the load loss", "%", 25, 0, 300,
       "Strands wrongly transposed or a shield missing: stray loss far up.", {"all"}, "FAIL", "load_loss"},
      {"remanence", "of rated peak flux", "%", 60, -100, 100,
       "The core keeps remanence from an earlier direct current: gone after the ramp to rated volts.", {"all"}, "PASS",
       ""},
      {"weak-insulation-to-earth", "of the applied-voltage test level", "%", 60, 5, 300,
       "The high-voltage winding breaks down to earth below its test level.", {"applied_hv"}, "FAIL", "applied"},
      {"weak-lv-insulation", "of the applied-voltage test level", "%", 60, 5, 300,
       "The low-voltage winding breaks down to earth below its test level.", {"applied_lv"}, "FAIL", "applied"},
      {"weak-turn-insulation", "of rated volts", "%", 150, 50, 400,
       "Turn insulation gives way between rated volts and the induced test's.", {"all"}, "FAIL", "induced"},
      {"damp-insulation", "strength left", "%", 50, 5, 100,
       "Moisture: breakdown comes at random volts and times, weaker after each stress.", {"all"}, "FAIL", ""},
      {"bushing-flashover", "of the applied-voltage test level", "%", 70, 5, 300,
       "A dirty bushing flashes over in air; the solid insulation is sound.", {"applied_hv"}, "FAIL", "applied"},
      {"lv-neutral-broken", "1 = on", "1", 1, 0, 1, "The lead to the low-voltage neutral bushing is broken inside.",
       {"lv_neutral"}, "FAIL", "ratio"},
      {"unit-still-warm", "top above bottom", "K", 14, 0, 60,
       "The unit came warm from filling: top and bottom of the liquid differ.", {"all"}, "INVALID", "temperatures"},
  };
  std::vector<FaultDescription> list;
  for (auto const& row : rows) {
    list.push_back({row.name, "unit", row.parameter, row.unit, row.value, row.low, row.high, row.effect, row.applies_to,
                    row.outcome, row.test, false, false});
  }
  return list;
}

}  // namespace benchward::sim::parts
