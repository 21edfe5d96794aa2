// SPDX-License-Identifier: MIT
#pragma once

/// Readings whose results can be worked out by hand to the last digit.

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/evaluate_support.hpp"

namespace benchward::testing {

inline bool says(std::optional<std::string> const& text, std::string const& part) {
  return text && text->find(part) != std::string::npos;
}

/// Instruments without any error, so that one source of uncertainty can be looked at alone.
inline void make_exact(Bench& bench) {
  for (auto& [name, calibration] : bench.calibration) {
    for (auto& one : calibration.channels) {
      one.relative_u = one.noise_u = one.noise_relative_u = one.offset_u = one.phase_u_rad = 0.0;
    }
  }
}

inline PowerSnapshot single(double v, double a, double w, double hz = 60.0) {
  PowerSnapshot out;
  out.volts_rms = {reading(volts(v), "analyser", "voltage.1")};
  out.amperes = {reading(amperes(a), "analyser", "current.1")};
  out.active = {reading(watts(w), "analyser", "power.1")};
  out.frequency = reading(hertz(hz), "analyser", "frequency");
  return out;
}

/// 25 kVA fed on H, 2 % impedance at rated current, 25 degC through and through.
inline LoadLossReadings loaded(std::vector<PowerSnapshot> snapshots) {
  LoadLossReadings out;
  out.fed = "H1-H2";
  out.snapshots = std::move(snapshots);
  out.temperature_before = out.temperature_after = liquid(25.0, 25.0);
  out.on_time = seconds(10.0);
  return out;
}
inline MeasuredResistances exact_resistances() {
  MeasuredResistances out;
  out.hv = {ohms(8.0), 0.0, celsius(25.0), true};
  out.lv = {ohms(0.0085), 0.0, celsius(25.0), true};
  return out;
}
inline constexpr double rated_a = 25000.0 / 7200.0, rated_w = 220.0;

/// All that is uncertain of a load loss of exact readings: the law of its stray part, whose power of the resistivity is
/// known to +-0.1 (rectangular), from one temperature to another above that of zero resistance.
inline double u_of_stray_law(double stray_reference_w, double zero_c, double winding_c, double reference_c) {
  return 0.1 / std::sqrt(3.0) * std::abs(std::log((zero_c + winding_c) / (zero_c + reference_c))) * stray_reference_w;
}

inline ResistancePoint resistance(std::string terminals, double ohm, double set_a, double before_v, double after_v) {
  ResistancePoint out;
  out.terminals = std::move(terminals);
  out.set_current = amperes(set_a);
  out.offset_before = reading(volts(before_v), "ohm_meter", "voltage");
  out.offset_after = reading(volts(after_v), "ohm_meter", "voltage");
  for (int i = 0; i < 4; ++i) {
    out.volts.push_back(reading(volts(ohm * set_a + (before_v + after_v) / 2.0), "ohm_meter", "voltage"));
    out.current.push_back(reading(amperes(set_a), "ohm_meter", "current"));
  }
  out.settling = seconds(12.0);
  out.temperature = liquid(20.0, 20.0);
  return out;
}

inline RatioReadings off_by(Unit const& unit, double factor) {
  RatioReadings readings;
  for (auto const& plan : ratio_plan(unit)) {
    RatioPoint point;
    point.tap = plan.tap;
    point.hv_pair = plan.hv_pair;
    point.lv_pair = plan.lv_pair;
    point.applied = reading(volts(40.0), "ratio_meter", "applied");
    point.ratio = reading(Number(plan.turns_ratio.value_or(plan.expected_ratio) * factor), "ratio_meter", "ratio");
    point.phase = reading(degrees(0.0), "ratio_meter", "phase");
    point.exciting_current = reading(milliamperes(1.0), "ratio_meter", "current");
    readings.points.push_back(point);
  }
  return readings;
}

}  // namespace benchward::testing
