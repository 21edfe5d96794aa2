// SPDX-License-Identifier: MIT
#include "core.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace benchward::sim {
namespace {

using std::numbers::pi;
constexpr double straight_beyond = 1.3;

double power9(double x) {
  double const x2 = x * x;
  double const x4 = x2 * x2;
  return x4 * x4 * x;
}
double power8(double x) {
  double const x2 = x * x;
  double const x4 = x2 * x2;
  return x4 * x4;
}

/// cos and sin of n * tau_k for the kept harmonics.
struct Table {
  std::array<std::array<double, half_period_samples>, Wave::harmonic_count> cosine, sine;
  Table() {
    for (int n = 0; n < Wave::harmonic_count; ++n)
      for (int k = 0; k < half_period_samples; ++k) {
        double const angle = Wave::order(n) * pi * k / half_period_samples;
        cosine[n][k] = std::cos(angle);
        sine[n][k] = std::sin(angle);
      }
  }
};

Table const& table() {
  static Table const the_table;
  return the_table;
}

}  // namespace

double MagnetisationCurve::mmf(double x) const {
  double const a = std::abs(x);
  double value = gap * a;
  if (a <= straight_beyond)
    value += m * (a + bend * power9(a));
  else
    value += m * (a + bend * (power9(straight_beyond) + 9.0 * power8(straight_beyond) * (a - straight_beyond)));
  double const u = a - knee;
  if (u > knee_width)
    value += air * u;
  else if (u > -knee_width)
    value += air * (u + knee_width) * (u + knee_width) / (4.0 * knee_width);
  return x < 0.0 ? -value : value;
}

double MagnetisationCurve::slope(double x) const {
  double const a = std::abs(x);
  double value = gap + m * (1.0 + 9.0 * bend * power8(std::min(a, straight_beyond)));
  double const u = a - knee;
  if (u > knee_width)
    value += air;
  else if (u > -knee_width)
    value += air * (u + knee_width) / (2.0 * knee_width);
  return value;
}

double MagnetisationCurve::energy(double x) const {
  double const a = std::abs(x);
  double const b = std::min(a, straight_beyond);
  double value = 0.5 * gap * a * a + m * (0.5 * a * a + bend * power9(b) * b / 10.0);
  if (a > b) {
    double const d = a - b;
    value += m * bend * (power9(b) * d + 4.5 * power8(b) * d * d);
  }
  double const u = a - knee;
  if (u > knee_width)
    value += air * (0.5 * u * u + knee_width * knee_width / 6.0);
  else if (u > -knee_width)
    value += air * std::pow(u + knee_width, 3) / (12.0 * knee_width);
  return value;
}

void HysteresisBank::set_strength(double ampere_turns) { strength_ = ampere_turns; }

double HysteresisBank::force(double x) const {
  double sum = 0.0;
  for (int j = 0; j < count; ++j) {
    double const stretch = std::clamp(state_[j] + (x - at_), -limit[j], limit[j]);
    sum += share[j] / limit[j] * stretch;
  }
  return strength_ * sum;
}

double HysteresisBank::slope(double x) const {
  double sum = 0.0;
  for (int j = 0; j < count; ++j) {
    double const stretch = state_[j] + (x - at_);
    if (std::abs(stretch) < limit[j]) sum += share[j] / limit[j];
  }
  return strength_ * sum;
}

void HysteresisBank::move_to(double x) {
  for (int j = 0; j < count; ++j) state_[j] = std::clamp(state_[j] + (x - at_), -limit[j], limit[j]);
  at_ = x;
}

double HysteresisBank::stiffness(double amplitude) const {
  double sum = 0.0;
  for (int j = 0; j < count; ++j) {
    double part = 1.0;
    if (amplitude > limit[j]) {
      // Fundamental in phase of an elastic-plastic element (Iwan's element) under a sine.
      double const angle = std::acos(1.0 - 2.0 * limit[j] / amplitude);
      part = (angle - 0.5 * std::sin(2.0 * angle)) / pi;
    }
    sum += share[j] / limit[j] * part;
  }
  return strength_ * sum;
}

void HysteresisBank::reset(double x) {
  at_ = x;
  state_ = {};
}

double CoreLoss::hysteresis(double x) const {
  if (!(x > 0.0)) return 0.0;
  return hysteresis_joules * std::pow(x, 1.9 + 0.9 * std::min(x, 1.25));
}

double core_temperature_factor(double celsius_now) { return std::exp(-0.00065 * (celsius_now - 20.0)); }

Complex eddy_mmf_per_flux(CoreLimb const& limb, double omega, int harmonic_index, double loss_factor) {
  return {0.0, Wave::order(harmonic_index) * omega * limb.rated_flux_wb * limb.loss.eddy_siemens * loss_factor};
}

LimbResponse respond(CoreLimb const& limb, std::array<Complex, Wave::harmonic_count> const& flux, double omega,
                     double offset, double loss_factor, SlopeSamples* slopes, double* crest_angle) {
  LimbResponse out;
  double const size = std::abs(flux[0]);
  Complex const unit = size > 0.0 ? flux[0] / size : Complex(1.0, 0.0);
  // Time counted from the fundamental's crest, so that the crest is a sample.
  std::array<Complex, Wave::harmonic_count> turn;
  turn[0] = unit;
  Complex const step = unit * unit;
  for (int n = 1; n < Wave::harmonic_count; ++n) turn[n] = turn[n - 1] * step;
  std::array<double, Wave::harmonic_count> re, im;
  for (int n = 0; n < Wave::harmonic_count; ++n) {
    re[n] = flux[n].real() * turn[n].real() + flux[n].imag() * turn[n].imag();
    im[n] = flux[n].imag() * turn[n].real() - flux[n].real() * turn[n].imag();
  }
  Table const& t = table();
  std::array<double, half_period_samples> x{}, f;
  for (int n = 0; n < Wave::harmonic_count; ++n)
    for (int k = 0; k < half_period_samples; ++k) x[k] += re[n] * t.cosine[n][k] - im[n] * t.sine[n][k];
  double slope_sum = 0.0;
  int highest = 0;
  bool const with_offset = std::abs(offset) > 1e-6;
  for (int k = 0; k < half_period_samples; ++k) {
    double slope;
    if (with_offset) {
      // Only the part with half-wave symmetry: what the odd harmonics see of a core that stands aside of zero.
      f[k] = 0.5 * (limb.curve.mmf(x[k] + offset) + limb.curve.mmf(x[k] - offset));
      slope = 0.5 * (limb.curve.slope(x[k] + offset) + limb.curve.slope(x[k] - offset));
    } else {
      f[k] = limb.curve.mmf(x[k]);
      slope = limb.curve.slope(x[k]);
    }
    slope_sum += slope;
    if (slopes) (*slopes)[static_cast<std::size_t>(k)] = slope;
    if (std::abs(x[k]) > std::abs(x[highest])) highest = k;
  }
  out.mean_slope = slope_sum / half_period_samples;
  // Parabola through the highest sample and its neighbours (half-wave symmetry closes the ring).
  double const before = highest > 0 ? x[highest - 1] : -x[half_period_samples - 1];
  double const after = highest + 1 < half_period_samples ? x[highest + 1] : -x[0];
  double const curvature = before - 2.0 * x[highest] + after;
  double const tilt = after - before;
  out.peak = std::abs(curvature != 0.0 ? x[highest] - tilt * tilt / (8.0 * curvature) : x[highest]);

  for (int n = 0; n < Wave::harmonic_count; ++n) {
    double a = 0.0, b = 0.0;
    for (int k = 0; k < half_period_samples; ++k) {
      a += f[k] * t.cosine[n][k];
      b -= f[k] * t.sine[n][k];
    }
    out.mmf[n] = Complex(a, b) * (2.0 / half_period_samples) * turn[n] +
                 eddy_mmf_per_flux(limb, omega, n, loss_factor) * flux[n];
  }
  // A core that stands on its remanence is stiffer for small swings.
  double const set_aside = 1.0 + 1.5 * std::min(1.0, offset * offset);
  out.stiffness = limb.bank.stiffness(size) * set_aside;
  if (size > 0.0)
    out.loss_force = loss_factor * limb.loss.hysteresis(out.peak) / (pi * limb.rated_flux_wb * size * size);
  out.mmf[0] += Complex(out.stiffness, out.loss_force) * flux[0];
  if (crest_angle) *crest_angle = std::arg(unit);
  return out;
}

}  // namespace benchward::sim
