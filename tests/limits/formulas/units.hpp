// SPDX-License-Identifier: MIT
#pragma once

/// Invented units for the tests of this folder: no rating plate, no order behind them.

#include "limits/unit/unit.hpp"

namespace benchward::testing {

/// 25 kVA, 7200 to 120/240 V, one tap changer of five positions, 1590 to 53 turns.
inline Unit small_single_phase() {
  Unit unit;
  unit.serial = "T-0001";
  unit.phases = 1;
  unit.rated_power = kilovolt_amperes(25.0);
  unit.rated_frequency = hertz(60.0);
  unit.vector_group = "Ii0";
  unit.hv.rated = volts(7200.0);
  unit.hv.turns = 1590;
  unit.hv.has_tap_changer = true;
  unit.hv.taps = {{1, 5.0}, {2, 2.5}, {3, 0.0}, {4, -2.5}, {5, -5.0}};
  unit.hv.rated_tap = 3;
  unit.lv.rated = volts(240.0);
  unit.lv.turns = 53;
  unit.lv.metal = Metal::aluminum;
  unit.lv_form = LowVoltageForm::center_tapped;
  unit.lead_placement = LeadPlacement::additive;
  return unit;
}

/// 500 kVA, 12470 to 480Y/277 V, Dyn1, no taps.
inline Unit pad_three_phase() {
  Unit unit;
  unit.serial = "T-0002";
  unit.phases = 3;
  unit.rated_power = kilovolt_amperes(500.0);
  unit.rated_frequency = hertz(60.0);
  unit.vector_group = "Dyn1";
  unit.hv.rated = volts(12470.0);
  unit.lv.rated = volts(480.0);
  unit.hv.metal = Metal::copper;
  unit.lv.metal = Metal::copper;
  unit.lv_neutral = NeutralKind::own_bushing;
  unit.core_form = CoreForm::five_limb;
  return unit;
}

}  // namespace benchward::testing
