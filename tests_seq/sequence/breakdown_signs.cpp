// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/breakdown_signs.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

namespace benchward {

Voltage volts_of_trip(std::vector<RampPoint> const& ramp, TripRecord const& trip) {
  if (ramp.empty() || trip.in_state == GuardState::ramp_down) return trip.output;
  return std::max(trip.output, ramp.back().volts);
}

bool less_than_a_short_inside(Unit const& unit, Bench const& bench, PlanStep const& step,
                              std::vector<RampPoint> const& ramp, TripRecord const& trip) {
  constexpr double least_inside = 0.85;  // of the guaranteed impedance: its tolerance and the readings'
  if (step.test != "no_load" && step.test != "induced") return false;
  if (!trip.happened || !unit.guarantees.impedance_percent || !(trip.current.in(amperes) > 0.0)) return false;
  double const line = unit.phases == 3 ? std::sqrt(3.0) : 1.0;
  double seen_ohm = trip.output.in(volts) / line / trip.current.in(amperes);
  // A transducer holds its highest current for a moment, volts are of their instant: a source that cut off by itself
  // has left a current without volts. The last point of the ramp has both, and a bar was on then as well.
  if (!ramp.empty() && ramp.back().amperes.in(amperes) > 0.0)
    seen_ohm = std::max(seen_ohm, ramp.back().volts.in(volts) / line / ramp.back().amperes.in(amperes));
  double const rated_v = unit.lv.rated.in(volts);
  double const own_ohm =
      *unit.guarantees.impedance_percent / 100.0 * rated_v * rated_v / unit.rated_power.in(volt_amperes);
  // The bar's own impedance stands in the path; beside a large unit's it counts.
  double const bar_r = bench.shorting_bar ? bench.shorting_bar->in(ohms) : 0.0;
  double const bar_x =
      bench.shorting_bar_inductance
          ? 2.0 * std::numbers::pi * unit.rated_frequency.in(hertz)*bench.shorting_bar_inductance->in(henries)
          : 0.0;
  return seen_ohm < least_inside * own_ohm + std::hypot(bar_r, bar_x);
}

std::string what_the_ramp_says(PlanStep const& step, std::vector<RampPoint> const& ramp, TripRecord const& trip) {
  constexpr double no_insulation_below = 0.05;  // of the level: insulation that holds nothing is a lead or a strap
  constexpr double looks_from = 0.10;           // of the set volts
  constexpr double saturates = 2.5;  // amperes a volt, against the least on the way up (common practice, no source)
  constexpr int bends_over = 3;      // readings
  double const set = step.energy ? step.energy->set.in(volts) : 0.0;
  if (step.test == "applied") {
    double highest = trip.happened ? trip.output.in(volts) : 0.0;
    for (auto const& point : ramp) highest = std::max(highest, point.volts.in(volts));
    if (highest >= no_insulation_below * set) return "";
    return fmt::format(
        "the current came at {:.3g} V, below a twentieth of the level: a strap, an earth lead or an earth stick is on, "
        "or the winding lies solidly on earth. Look, then measure the insulation resistance",
        highest);
  }
  if (step.test != "no_load" || ramp.empty()) return "";
  // A shorted turn draws in proportion to the volts from the first; a breakdown comes at once. A current that bends up
  // over several readings below rated volts is a saturated core: half a winding fed, or the wrong frequency.
  auto const slope = [](RampPoint const& point) { return point.amperes.in(amperes) / point.volts.in(volts); };
  auto least = ramp.end();
  for (auto point = ramp.begin(); point != ramp.end(); ++point) {
    if (point->volts.in(volts) < looks_from * set) continue;
    if (least == ramp.end() || slope(*point) < slope(*least)) least = point;
  }
  if (least == ramp.end() || !(slope(*least) > 0.0) || ramp.end() - least <= bends_over) return "";
  auto const& last = ramp.back();
  bool bends = last.volts.in(volts) <= 0.9 * set && slope(last) >= saturates * slope(*least);
  for (auto point = ramp.end() - bends_over; point != ramp.end(); ++point) {
    bends = bends && slope(*point) > slope(*(point - 1));
  }
  if (!bends) return "";
  return fmt::format(
      "the current bent up smoothly from {:.3g} A at {:.3g} V to {:.3g} A at {:.3g} V: the core saturates below rated "
      "volts. Is a feed lead on the middle terminal (X2), or the frequency wrong?",
      least->amperes.in(amperes), least->volts.in(volts), last.amperes.in(amperes), last.volts.in(volts));
}

}  // namespace benchward
