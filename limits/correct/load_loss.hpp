// SPDX-License-Identifier: MIT
#pragma once

/// Load loss: phase-angle error of the measuring system, scaling to rated current, ohmic and stray parts, reference
/// temperature. Source: 10 CFR 431 subpart K appendix A 4.5, equations 4-3 to 4-10 (symbols and conditions read in the
/// 2015 annual edition, forms derived).

#include <cmath>
#include <string>
#include <vector>

#include "scalar.hpp"

namespace benchward {

/// Equation 4-5, P = S cos(phi_m + B), phi_m = arccos(P_m / S). One sign everywhere: B > 0 means that the system reads
/// too much for a lagging load. Written without the arccosine so that it also takes a negative element reading:
/// cos(phi_m + B) = cos phi_m cos B - sin phi_m sin B. A reading above the apparent power is refused.
template <class T>
T correct_phase_error(T const& measured_w, T const& apparent_va, T const& phase_error_rad) {
  using std::cos;
  using std::sin;
  using std::sqrt;
  require_finite(measured_w, "measured_w");
  require_positive(apparent_va, "apparent_power_va");
  require_finite(phase_error_rad, "phase_error_rad");
  double const square = value_of(apparent_va) * value_of(apparent_va) - value_of(measured_w) * value_of(measured_w);
  if (square < 0.0) throw InputError("measured_w", "above the apparent power: not a possible reading");
  if (square == 0.0) return measured_w * cos(phase_error_rad);  // the root below has no slope at zero
  T const reactive = sqrt(apparent_va * apparent_va - measured_w * measured_w);
  return measured_w * cos(phase_error_rad) - reactive * sin(phase_error_rad);
}

/// One winding as the load-loss correction sees it.
template <class T>
struct LoadLossWinding {
  T total_resistance_ohm;  ///< by 3.4.1, at the temperature of its measurement
  T measured_at_c;
  double zero_c = 234.5;               ///< T_k of its metal
  double rated_phase_current_a = 0.0;  ///< current of the winding itself: in a delta line / sqrt(3)
};

template <class T>
struct LoadLossInput {
  T measured_w;  ///< after the phase-angle correction and what may be deducted
  T test_current_a;
  double rated_current_a = 0.0;  ///< of the fed side, on the same basis as the test current
  T winding_c;                   ///< T_lm
  double reference_c = 85.0;     ///< T_lr
  std::vector<LoadLossWinding<T>> windings;
};

template <class T>
struct LoadLossCorrected {
  T at_rated_current_w;  ///< measured * (rated / test current)^2
  T ohmic_w;             ///< equation 4-6, at T_lm
  T stray_w;             ///< equation 4-7; negative = an error of measurement, flagged
  T ohmic_reference_w;   ///< equation 4-8
  T stray_reference_w;   ///< equation 4-9
  T corrected_w;         ///< equation 4-10
  bool negative_stray = false;
};

inline constexpr char const* below_zero_resistance = "expected a temperature above that of zero resistance";

/// T_k of equation 4-9: that of the windings' metal where they share it, 229 where they are mixed (read).
template <class T>
double stray_zero_c(std::vector<LoadLossWinding<T>> const& windings) {
  for (auto const& winding : windings) {
    if (std::abs(winding.zero_c - windings.front().zero_c) > 1e-9) return 229.0;
  }
  return windings.front().zero_c;
}

template <class T>
LoadLossCorrected<T> correct_load_loss(LoadLossInput<T> const& in) {
  require_positive(in.measured_w, "measured_w");
  require_positive(in.test_current_a, "test_current_a");
  require_positive(in.rated_current_a, "rated_current_a");
  require_finite(in.winding_c, "winding_c");
  require_finite(in.reference_c, "reference_c");
  if (in.windings.empty()) throw InputError("windings", "expected at least one winding");
  LoadLossCorrected<T> out;
  T const scale = in.rated_current_a / in.test_current_a;
  out.at_rated_current_w = in.measured_w * scale * scale;
  bool first = true;
  for (auto const& winding : in.windings) {
    require_positive(winding.total_resistance_ohm, "windings/total_resistance_ohm");
    require_positive(winding.rated_phase_current_a, "windings/rated_phase_current_a");
    if (!(value_of(in.winding_c) > -winding.zero_c)) refuse_number("winding_c", below_zero_resistance);
    if (!(in.reference_c > -winding.zero_c)) refuse_number("reference_c", below_zero_resistance);
    if (!(value_of(winding.measured_at_c) > -winding.zero_c)) {
      auto const number = std::to_string(&winding - in.windings.data());
      throw InputError("windings/" + number + "/measured_at_c", below_zero_resistance);
    }
    double const square = winding.rated_phase_current_a * winding.rated_phase_current_a;
    T const cold = square * winding.total_resistance_ohm / (winding.zero_c + winding.measured_at_c);
    T const ohmic = cold * (winding.zero_c + in.winding_c);
    T const reference = cold * (winding.zero_c + in.reference_c);
    out.ohmic_w = first ? ohmic : out.ohmic_w + ohmic;
    out.ohmic_reference_w = first ? reference : out.ohmic_reference_w + reference;
    first = false;
  }
  double const zero = stray_zero_c(in.windings);
  out.stray_w = out.at_rated_current_w - out.ohmic_w;
  out.stray_reference_w = out.stray_w * ((zero + in.winding_c) / (zero + in.reference_c));
  out.corrected_w = out.ohmic_reference_w + out.stray_reference_w;
  out.negative_stray = !(value_of(out.stray_w) >= 0.0);
  return out;
}

}  // namespace benchward
