// SPDX-License-Identifier: MIT
#pragma once

/// The iron of one limb with its share of the yokes: saturation, hysteresis, eddy currents. Flux is counted in units of
/// the design's rated peak flux (x = 1 at rated sine volts), magnetomotive force in ampere-turns, instantaneous.

#include <array>
#include <complex>

#include "wave.hpp"

namespace benchward::sim {

/// Magnetisation without hysteresis: m (x + bend x^9), straight beyond x = 1.3, plus the path in air once the steel is
/// full (slope `air` beyond `knee`, rounded over `knee_width`), plus an air gap if there is one.
struct MagnetisationCurve {
  double m = 1.0;
  double bend = 5.0;
  double gap = 0.0;  ///< ampere-turns a unit of flux
  double air = 1e4;  ///< ampere-turns a unit of flux beyond the knee
  double knee = 1.24, knee_width = 0.06;

  double mmf(double x) const;
  double slope(double x) const;
  /// Integral of mmf from 0 to x; times the rated peak flux it is joules.
  double energy(double x) const;
};

/// Rate-independent hysteresis by four elastic-plastic elements in parallel: remembers turning points, so a core cut
/// off at any angle keeps its remanence and a smooth ramp down wipes it out.
class HysteresisBank {
 public:
  static constexpr int count = 4;
  static constexpr std::array<double, count> limit{0.004, 0.02, 0.08, 0.25};  ///< in flux
  static constexpr std::array<double, count> share{0.01, 0.08, 0.40, 0.51};   ///< of the coercive force

  /// Coercive force, ampere-turns.
  void set_strength(double ampere_turns);
  double strength() const { return strength_; }
  /// Force at flux x, if x were reached by one straight move from where the limb stands.
  double force(double x) const;
  double slope(double x) const;
  /// Moves there.
  void move_to(double x);
  double at() const { return at_; }
  /// In-phase stiffness under a sine of this amplitude (describing function): ampere-turns a unit of flux.
  double stiffness(double amplitude) const;
  /// All elements relaxed at flux x.
  void reset(double x);

 private:
  double strength_ = 0.0;
  double at_ = 0.0;
  std::array<double, count> state_{};  ///< stretch of each element, within +- limit
};

/// Loss law of the steel for the alternating state.
struct CoreLoss {
  double hysteresis_joules = 0.0;  ///< a cycle at x = 1
  double eddy_siemens = 0.0;       ///< ampere-turns per volt of a turn, at 20 degC
  /// Joules a cycle at peak flux x: exponent 1.9 low down, 2.8 about rated flux.
  double hysteresis(double x) const;
};

/// Loss of a core at this temperature over that at 20 degC (resistivity of the steel rises with it).
double core_temperature_factor(double celsius_now);

struct CoreLimb {
  MagnetisationCurve curve;
  HysteresisBank bank;
  CoreLoss loss;
  double rated_flux_wb = 1.0;
};

/// Odd harmonics of a limb's magnetomotive force under a flux wave. Peak phasors both (not rms).
struct LimbResponse {
  std::array<Complex, Wave::harmonic_count> mmf{};
  double mean_slope = 0.0;  ///< of the single-valued part, ampere-turns a unit of flux
  double peak = 0.0;        ///< flux
  double stiffness = 0.0;   ///< of the hysteresis elements, on the fundamental
  double loss_force = 0.0;  ///< ampere-turns of the fundamental in phase with the volts, a unit of flux
};

inline constexpr int half_period_samples = 24;
using SlopeSamples = std::array<double, half_period_samples>;

/// `offset`: standing flux; `loss_factor`: temperature and defects. `slopes` (may be null) receives the curve's slope
/// at the sample instants, counted from the fundamental's own crest at angle `crest_angle`.
LimbResponse respond(CoreLimb const& limb, std::array<Complex, Wave::harmonic_count> const& flux, double omega,
                     double offset, double loss_factor, SlopeSamples* slopes, double* crest_angle);

/// Eddy part of harmonic k: added by `respond`, needed again for the derivative.
Complex eddy_mmf_per_flux(CoreLimb const& limb, double omega, int harmonic_index, double loss_factor);

}  // namespace benchward::sim
