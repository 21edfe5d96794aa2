// SPDX-License-Identifier: MIT
#include "sim/faults/fault_parts.hpp"

namespace benchward::sim::parts {
namespace {

double kva(Unit const& unit) { return unit.rated_power.in(kilovolt_amperes); }
bool series_parallel(Unit const& unit) { return unit.lv_form == LowVoltageForm::series_parallel; }
/// A turn is some 6 % of the low-voltage winding, and the document does not say how many there are.
/// Halves would tell: the one with the turn stands out from the other.
bool large_turns_unknown(Unit const& unit) {
  return unit.phases == 1 && unit.lv_form == LowVoltageForm::plain && !unit.lv.turns && kva(unit) > 300.0;
}
bool small_current(Unit const& unit) { return unit.phases == 1 && kva(unit) <= 10.0; }
bool one_megavolt_ampere_delta(Unit const& unit) {
  return unit.vector_group.front() == 'D' && kva(unit) >= 1000.0 && kva(unit) < 1600.0;
}
bool five_megavolt_amperes(Unit const& unit) { return kva(unit) >= 5000.0; }

}  // namespace

std::vector<PromiseException> const& exceptions() {
  constexpr char const* turn_as_large =
      "one winding, a turn of some 6 % and no number of turns in the document: all pairs on all taps shift alike, as "
      "another unit's would; the station asks for the rating plate to be compared";
  static std::vector<PromiseException> const all = {
      {"one-lv-turn-missing", large_turns_unknown, "INVALID", turn_as_large},
      {"one-lv-turn-extra", large_turns_unknown, "INVALID", turn_as_large},
      {"wrong-markings", series_parallel, "INVALID",
       "with leads of two sections exchanged no pair of the low side is one winding: nothing gives volts, as with a "
       "feed "
       "lead off; the resistance of the pairs tells"},
      {"one-hv-turn-missing", one_megavolt_ampere_delta, "FAIL",
       "the missing turn drives a current around the delta: exciting current some hundredths above its limit"},
      {"shorting-bar-poor", small_current, "FAIL",
       "at some 40 A a contact of 20 milliohm does not warm enough to be told from the winding: the loss is too high, "
       "the unit is held, and the bar is what the retest looks at first"},
      {"soft-supply", five_megavolt_amperes, "INVALID",
       "a source 600 times softer than declared cannot hold rated volts against this unit's exciting current: the "
       "volts "
       "are not reached, and nothing is extrapolated"},
  };
  return all;
}

}  // namespace benchward::sim::parts
