// SPDX-License-Identifier: MIT
#pragma once

/// A periodic voltage, current or flux of half-wave symmetry, by its odd harmonics. Phasors are rms values referred to
/// one common time zero: x(t) = sum of sqrt(2) |X_n| cos(n w t + arg X_n), n = 1, 3, 5, 7, 9. Whatever a meter makes of
/// a wave (true rms, average-responding, crest, power) follows from it, so a bench can build every meter on it.

#include <array>
#include <complex>

namespace benchward::sim {

using Complex = std::complex<double>;

struct Wave {
  static constexpr int harmonic_count = 5;
  /// Order of the n-th kept harmonic: 1, 3, 5, 7, 9.
  static constexpr int order(int index) { return 2 * index + 1; }

  std::array<Complex, harmonic_count> phasor{};

  Complex fundamental() const { return phasor[0]; }
  /// True rms, harmonics included.
  double rms() const;
  /// What an average-responding meter scaled to the rms of a sine reads: mean of |x| times pi/(2 sqrt 2).
  double average_scaled() const;
  /// Highest instantaneous value.
  double crest() const;
  /// Instantaneous value at an angle of the fundamental's time axis.
  double at(double angle_rad) const;

  Wave& operator+=(Wave const& other);
  Wave& operator-=(Wave const& other);
  friend Wave operator+(Wave a, Wave const& b) { return a += b; }
  friend Wave operator-(Wave a, Wave const& b) { return a -= b; }
  friend Wave operator*(Wave a, double factor) {
    for (Complex& p : a.phasor) p *= factor;
    return a;
  }
};

/// Mean of v(t) i(t), watts, all harmonics.
double active_power(Wave const& volts, Wave const& amperes);
/// Complex power of the fundamentals, V I*, volt-amperes.
Complex fundamental_power(Wave const& volts, Wave const& amperes);

}  // namespace benchward::sim
