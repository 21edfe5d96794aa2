// SPDX-License-Identifier: MIT
#pragma once

/// Corrections of measured no-load loss, and points that straddle rated volts.
/// Source: 10 CFR 431 subpart K appendix A 4.4, equations 4-1 and 4-2 (symbols and limits read, forms derived; the
/// constant 0.00065 per kelvin from memory); the IEC form from memory.

#include <algorithm>
#include <cmath>

#include "scalar.hpp"

namespace benchward {

template <class T>
struct NoLoadInput {
  T measured_w;
  T rms_v;
  T average_v;  ///< of the average-sensing voltmeter, scaled to read rms of a sine
  T core_c;
};

template <class T>
struct NoLoadCorrected {
  T k;                              ///< (rms / average volts)^2
  T sine_w;                         ///< equation 4-1
  T corrected_w;                    ///< equation 4-2
  double correction_percent = 0.0;  ///< 100 * (sine - measured) / measured
  bool retest_required = false;     ///< the waveform correction is above 5 %: improve the source and test again
};

inline constexpr double no_load_loss_per_kelvin = 0.00065;  ///< equation 4-2; from memory
inline constexpr double largest_waveform_correction_percent = 5.0;

/// Equations 4-1 and 4-2, waveform first: P_nc1 = P_nm / (P1 + k P2), P_nc = P_nc1 * (1 + 0.00065 (T_nm - T_nr)).
/// `eddy_fraction` is P2; P1 = 1 - P2. Both are always applied: the exemptions concern certification only.
template <class T>
NoLoadCorrected<T> correct_no_load(NoLoadInput<T> const& in, double eddy_fraction = 0.5, double reference_c = 20.0) {
  require_positive(in.measured_w, "measured_w");
  require_positive(in.rms_v, "rms_v");
  require_positive(in.average_v, "average_v");
  require_finite(in.core_c, "core_c");
  require_finite(reference_c, "reference_c");
  if (!(eddy_fraction >= 0.0 && eddy_fraction <= 1.0)) throw InputError("eddy_fraction", "expected 0 to 1");
  NoLoadCorrected<T> out;
  T const form = in.rms_v / in.average_v;
  out.k = form * form;
  out.sine_w = in.measured_w / ((1.0 - eddy_fraction) + eddy_fraction * out.k);
  out.corrected_w = out.sine_w * (1.0 + no_load_loss_per_kelvin * (in.core_c - reference_c));
  out.correction_percent = 100.0 * (value_of(out.sine_w) / value_of(in.measured_w) - 1.0);
  out.retest_required = std::abs(out.correction_percent) > largest_waveform_correction_percent;
  return out;
}

/// IEC 60076-1 (2011): P0 = P_m * (1 + d), d = (U' - U) / U', U' by the mean-sensing voltmeter; the wave is accepted if
/// U and U' differ by at most 3 %. From memory. No temperature correction.
template <class T>
NoLoadCorrected<T> correct_no_load_iec(NoLoadInput<T> const& in) {
  require_positive(in.measured_w, "measured_w");
  require_positive(in.rms_v, "rms_v");
  require_positive(in.average_v, "average_v");
  NoLoadCorrected<T> out;
  T const form = in.rms_v / in.average_v;
  out.k = form * form;
  out.sine_w = in.measured_w * (2.0 - form);
  out.corrected_w = out.sine_w;
  out.correction_percent = 100.0 * (1.0 - value_of(form));
  out.retest_required = std::abs(out.correction_percent) > 3.0;
  return out;
}

/// A value at `x` between two points, straight on log-log paper (loss goes as a power of the volts). Never
/// extrapolates.
template <class T>
T interpolate_log_log(T const& x0, T const& y0, T const& x1, T const& y1, double x) {
  using std::exp;
  using std::log;
  for (auto const* number : {&x0, &y0, &x1, &y1}) require_positive(*number, "points");
  double const low = std::min(value_of(x0), value_of(x1));
  double const high = std::max(value_of(x0), value_of(x1));
  if (!(low <= x && x <= high) || !(low < high)) throw InputError("x", "not between the two points: no extrapolation");
  T const fraction = log(x / x0) / log(x1 / x0);
  return y0 * exp(fraction * log(y1 / y0));
}

}  // namespace benchward
