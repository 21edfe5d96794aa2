// SPDX-License-Identifier: MIT
#pragma once

/// Insulation of a unit: breakdown as a random event in volts and time, and its direct-current behaviour (charge,
/// leakage, slow absorption that recharges a winding after a short).

#include <array>

#include "random.hpp"
#include "unit_model.hpp"

namespace benchward::sim {

/// One insulation under stress. Breakdown comes when an accumulated hazard passes a number drawn from the exponential
/// law: hazard a minute = (volts / volts63)^16 (Weibull in volts with the inverse power law in time; 16 for oil and
/// paper, from memory). Stress adds up, so "once more until it passes" sometimes passes and sometimes kills.
class StressedInsulation {
 public:
  static constexpr double power = 16.0;
  void set(double volts63, RandomStream& random);
  void scale(double factor) { factor_ = factor; }
  /// True at the moment of breakdown. Each breakdown leaves 0.8 of the strength.
  bool stress(double volts, double seconds, RandomStream& random);
  int count = 0;
  bool arcing = false;

 private:
  double volts63_ = 1.0, factor_ = 1.0, scar_ = 1.0, used_ = 0.0, bound_ = 1.0;
};

/// Capacitance with leakage and four absorption branches between two points.
class AbsorbingLeg {
 public:
  void set(double farad, double leakage_seconds);
  void set_leakage(double ohm) { ohm_ = ohm; }
  double ohm() const { return ohm_; }
  double farad() const { return farad_; }
  /// Companion of the step: current = conductance * volts + source.
  void companion(double step_s, double& siemens, double& amperes) const;
  void advance(double volts, double step_s);
  double volts() const { return volts_; }
  double joules() const;
  void clear();

 private:
  static constexpr std::array<double, 4> part{0.06, 0.08, 0.10, 0.12};  ///< of the capacitance
  static constexpr std::array<double, 4> seconds{1.0, 8.0, 60.0, 400.0};
  double farad_ = 1e-9, ohm_ = 1e10, volts_ = 0.0;
  std::array<double, 4> slow_{};
};

/// Three legs: high voltage to tank, low voltage to tank, between them.
class DirectInsulation {
 public:
  AbsorbingLeg hv, lv, between;
  double hv_volts = 0.0, lv_volts = 0.0;
  InsulationReading step(InsulationConnection const& connection, double seconds);
  bool quiet() const;

 private:
  InsulationReading substep(InsulationConnection const& connection, double step_s);
};

}  // namespace benchward::sim
