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
  bool check = false;
  bool dangerous = false;
};

}  // namespace

/// Faults of leads, instruments, supplies and hands. Signatures: common practice, no source.
std::vector<FaultDescription> bench_faults() {
  Row const rows[] = {
      // Resistance measurement.
      {"open-sense-lead", "1 = on", "1", 1, 0, 1,
       "A sense lead of the resistance meter is broken: volts drift about zero.", {"all"}, "INVALID",
       "winding_resistance"},
      {"sense-clip-outside-joint", "added resistance on the low-voltage side", "milliohm", 20, 0, 1000,
       "The sense clip sits outside the joint: low-voltage resistance high by a fixed amount.", {"all"}, "INVALID",
       "winding_resistance"},
      {"current-lead-loose", "contact resistance", "ohm", 5000, 0, 1e6,
       "A current lead of the resistance meter is loose: the source runs into its compliance.", {"all"}, "INVALID",
       "winding_resistance"},
      {"thermal-emf", "volts at zero current", "mV", 0.05, -5, 5,
       "Warm clips add a small direct voltage; taken out by the reading at zero current.", {"all"}, "PASS", ""},
      {"resistance-meter-drift", "gain error", "%", 8, -50, 50, "The resistance meter reads off by a share.", {"all"},
       "INVALID", "winding_resistance"},
      // Ratio measurement.
      {"ratio-leads-swapped", "1 = on", "1", 1, 0, 1,
       "High and low sides of the ratio meter are exchanged: it feeds the low side.", {"all"}, "INVALID", "ratio", false,
       true},
      {"unit-on-wrong-tap", "steps", "steps", 1, -4, 4,
       "The person sets the tap changer a step off from what was asked.", {"tapped"}, "INVALID", "ratio"},
      {"ratio-meter-drift", "gain error", "%", 2, -50, 50, "The ratio meter reads off by a share.", {"all"}, "FAIL",
       "ratio"},
      {"other-unit-on-bench", "high volts over the document's", "%", 120, 20, 500,
       "Another unit stands on the bench than the one whose serial was scanned.", {"all"}, "INVALID", "ratio"},
      // Power analyser and its transformers.
      {"ct-reversed", "phase", "1", 1, 1, 3, "A current transformer's secondary is connected the wrong way round.",
       {"all"}, "INVALID", "no_load"},
      {"cts-swapped", "1 = on", "1", 1, 0, 1, "The current transformers of phases 1 and 2 are exchanged.",
       {"three_phase"}, "INVALID", "no_load"},
      {"ct-ratio-wrong", "factor of the current reading", "1", 2, 0.01, 1000,
       "The analyser's scale is set for another current-transformer ratio.", {"all"}, "INVALID", "no_load"},
      {"ct-secondary-open", "phase", "1", 1, 1, 3,
       "A current transformer's secondary is open: no reading, dangerous volts at its terminals.", {"all"}, "INVALID",
       "no_load", false, true},
      {"ct-magnetised", "phase error", "mrad", 20, -200, 200,
       "A current transformer was magnetised by direct current: phase and ratio errors above its class.", {"all"},
       "INVALID", ""},
      {"voltage-lead-open", "phase", "1", 1, 1, 3, "A voltage lead of the analyser is off.", {"all"}, "INVALID",
       "no_load"},
      {"voltage-scale-wrong", "factor of the volt reading", "1", 1.7320508075688772, 0.001, 1000,
       "The analyser's volts are scaled by a wrong factor (line and phase confused).", {"all"}, "INVALID", "no_load"},
      {"meter-drift", "gain error of power", "%", 6, -50, 50,
       "The analyser's power channels have drifted: all units shift alike.", {"all"}, "INVALID", ""},
      {"meter-noise", "noise of the current channels", "%", 5, 0, 100, "The analyser's currents are noisy.", {"all"},
       "INVALID", "no_load"},
      // Leads, bars, straps and what hands forget.
      {"test-lead-off", "1 = on", "1", 1, 0, 1,
       "The lead of the dielectric set has fallen off the unit: it raises volts on nothing.", {"applied_hv"}, "INVALID",
       "applied"},
      {"earth-lead-off", "1 = on", "1", 1, 0, 1,
       "The winding that is not tested floats instead of being earthed.", {"applied_hv"}, "INVALID", "applied"},
      {"feed-on-middle-terminal", "1 = on", "1", 1, 0, 1,
       "A feed lead sits on X2 instead of the end terminal: twice the volts a turn.", {"center_tapped"}, "INVALID",
       "no_load"},
      {"meter-left-on-hv", "1 = on", "1", 1, 0, 1,
       "The ratio meter is left clipped to the high side while the low side is fed.", {"all"}, "INVALID", "", false,
       true},
      {"strap-left-on", "1 = on", "1", 1, 0, 1, "The earthing strap stays on when it should be off.",
       {"strapped", "applied_lv"}, "INVALID", "applied", false, true},
      {"arrester-left-on", "1 = on", "1", 1, 0, 1, "An arrester stays on for the dielectric steps.", {"arresters"},
       "INVALID", "", false, true},
      {"breaker-left-open", "1 = on", "1", 1, 0, 1, "The unit's inner breaker is left open.", {"breaker"}, "INVALID",
       "ratio"},
      {"shorting-bar-poor", "resistance", "milliohm", 2, 0, 1000,
       "The shorting bar is not tightened: load loss and resistive part up, rising as it heats.", {"all"}, "INVALID",
       "load_loss"},
      {"shorting-bar-missing", "1 = on", "1", 1, 0, 1,
       "The shorting bar was forgotten: the current is not reached at the volts expected.", {"all"}, "INVALID",
       "load_loss"},
      {"shorting-bar-left-on", "1 = on", "1", 1, 0, 1, "The shorting bar is left on for the no-load test.", {"all"},
       "INVALID", "no_load"},
      {"feed-lead-loose", "contact resistance", "ohm", 50, 0, 1e6, "A feed lead of the source has a poor clamp.",
       {"all"}, "INVALID", "load_loss"},
      // Sources.
      {"soft-supply", "times the declared source impedance", "1", 60, 1, 1000,
       "The source is soft: the exciting current flattens its wave.", {"all"}, "INVALID", "no_load"},
      {"wrong-frequency", "off the set frequency", "Hz", 1.5, -20, 20, "The source runs at another frequency.", {"all"},
       "INVALID", "no_load"},
      {"supply-unbalance", "of one phase's volts", "%", 5, 0, 50, "One phase of the source is low.", {"three_phase"},
       "INVALID", "no_load"},
      {"regulator-not-at-zero", "of the range", "%", 12, 0, 100,
       "The regulator stands above zero while its limit switch says zero.", {"all"}, "INVALID", "no_load", false, true},
      {"regulator-sticks", "of the set volts", "%", 40, 0, 100, "The regulator sticks on the way up.", {"all"},
       "INVALID", "no_load"},
      {"regulator-runs-on", "a second, of the range", "%", 3, 0, 50, "The regulator runs on past the set value.",
       {"all"}, "INVALID", "no_load", false, true},
      {"self-excitation", "volts a second, of the set value", "%", 4, 0, 50,
       "The rotating source excites itself on the load: volts rise with no command.", {"all"}, "INVALID", "", false,
       true},
      {"store-stays-charged", "volts left at the source", "V", 300, 0, 2000,
       "Compensation or link capacitors stay charged after the source is off.", {"all"}, "INVALID", "no_load", false,
       true},
      {"shaft-still-turning", "time of running down", "s", 20, 0, 300,
       "The rotating set keeps generating after it is told to zero.", {"all"}, "INVALID", "", false, true},
      {"source-trips-early", "of the set current limit", "%", 5, 1, 100,
       "The source's over-current relay is set far too low.", {"all"}, "INVALID", ""},
      {"dc-discharge-path-open", "1 = on", "1", 1, 0, 1,
       "The resistance meter's discharge path is broken: the current is cut off hard.", {"all"}, "INVALID",
       "winding_resistance", false, true},
      // Thermometers.
      {"probe-wrong", "error of the top probe", "K", 9, -100, 100, "The top temperature probe reads wrong.", {"all"},
       "INVALID", "temperatures"},
      {"probe-open", "1 = on", "1", 1, 0, 1, "The top temperature probe is broken: over-range.", {"all"}, "INVALID",
       "temperatures", true},
  };
  std::vector<FaultDescription> list;
  for (auto const& row : rows) {
    list.push_back({row.name, "bench", row.parameter, row.unit, row.value, row.low, row.high, row.effect,
                    row.applies_to, row.outcome, row.test, row.check, row.dangerous});
  }
  return list;
}

}  // namespace benchward::sim::parts
