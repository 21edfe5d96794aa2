// SPDX-License-Identifier: MIT
#include "wave.hpp"

#include <cmath>
#include <numbers>

namespace benchward::sim {
namespace {
using std::numbers::pi;
using std::numbers::sqrt2;
}  // namespace

double Wave::rms() const {
  double sum = 0.0;
  for (Complex const& p : phasor) sum += std::norm(p);
  return std::sqrt(sum);
}

double Wave::at(double angle_rad) const {
  // One sine and cosine; multiples by the step of two orders.
  Complex const turn(std::cos(angle_rad), std::sin(angle_rad));
  Complex const step = turn * turn;
  Complex now = turn;
  double sum = 0.0;
  for (Complex const& p : phasor) {
    sum += p.real() * now.real() - p.imag() * now.imag();
    now *= step;
  }
  return sqrt2 * sum;
}

double Wave::average_scaled() const {
  // The mean of |x| over half a period is the integral between two zero crossings half a period apart. Integral of
  // sqrt2 |X_n| cos(n t + a_n) from t0 to t0 + pi = -2 sqrt2 |X_n| sin(n t0 + a_n) / n for odd n. Newton from the
  // fundamental's own crossing finds t0.
  double const fundamental_size = std::abs(phasor[0]);
  if (!(fundamental_size > 0.0)) return rms();
  double t0 = pi / 2.0 - std::arg(phasor[0]);
  double integral = 0.0;
  for (int round = 0; round < 4; ++round) {
    Complex const turn(std::cos(t0), std::sin(t0));
    Complex const step = turn * turn;
    Complex now = turn;
    double value = 0.0, slope = 0.0;
    integral = 0.0;
    for (int k = 0; k < harmonic_count; ++k) {
      Complex const x = phasor[k] * now;
      value += x.real();
      slope -= order(k) * x.imag();
      integral -= x.imag() / order(k);
      now *= step;
    }
    if (slope == 0.0) break;
    double const move = value / slope;
    if (std::abs(move) < 1e-9) break;
    t0 -= std::min(std::max(move, -0.2), 0.2);
  }
  // mean = 2 sqrt2 |integral| / pi; scaled by pi / (2 sqrt2).
  return std::abs(integral);
}

double Wave::crest() const {
  double highest = 0.0;
  constexpr int points = 48;  // half a period is enough by symmetry
  for (int k = 0; k < points; ++k) highest = std::max(highest, std::abs(at(pi * k / points)));
  return highest;
}

Wave& Wave::operator+=(Wave const& other) {
  for (int k = 0; k < harmonic_count; ++k) phasor[k] += other.phasor[k];
  return *this;
}

Wave& Wave::operator-=(Wave const& other) {
  for (int k = 0; k < harmonic_count; ++k) phasor[k] -= other.phasor[k];
  return *this;
}

double active_power(Wave const& volts, Wave const& amperes) {
  double sum = 0.0;
  for (int k = 0; k < Wave::harmonic_count; ++k)
    sum += volts.phasor[k].real() * amperes.phasor[k].real() + volts.phasor[k].imag() * amperes.phasor[k].imag();
  return sum;
}

Complex fundamental_power(Wave const& volts, Wave const& amperes) {
  return volts.phasor[0] * std::conj(amperes.phasor[0]);
}

}  // namespace benchward::sim
