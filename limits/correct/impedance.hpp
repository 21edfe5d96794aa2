// SPDX-License-Identifier: MIT
#pragma once

/// Impedance, regulation and equivalent circuit out of the loss tests: the algebra of every textbook of transformers.

#include <algorithm>
#include <cmath>

#include "scalar.hpp"

namespace benchward {

template <class T>
struct ImpedanceInput {
  T impedance_voltage_v;  ///< measured at the test current
  double rated_voltage_v = 0.0;
  T test_current_a;
  double rated_current_a = 0.0;
  T load_loss_w;  ///< at rated current, at test temperature
  double rated_kva = 0.0;
};

template <class T>
struct ImpedancePercent {
  T z, r, x;
};

/// Z% = 100 * V (I_r / I) / V_r, R% = P / (10 S), X% = sqrt(Z%^2 - R%^2).
template <class T>
ImpedancePercent<T> impedance_percent(ImpedanceInput<T> const& in) {
  using std::sqrt;
  require_positive(in.impedance_voltage_v, "impedance_voltage_v");
  require_positive(in.rated_voltage_v, "rated_voltage_v");
  require_positive(in.test_current_a, "test_current_a");
  require_positive(in.rated_current_a, "rated_current_a");
  require_not_negative(in.load_loss_w, "load_loss_w");
  require_positive(in.rated_kva, "rated_kva");
  ImpedancePercent<T> out;
  out.z = in.impedance_voltage_v * (in.rated_current_a / in.test_current_a) * (100.0 / in.rated_voltage_v);
  out.r = in.load_loss_w / (10.0 * in.rated_kva);
  double const square = value_of(out.z) * value_of(out.z) - value_of(out.r) * value_of(out.r);
  if (square < 0.0) throw InputError("load_loss_w", "more loss than volts times amperes: not a possible reading");
  out.x = square > 0.0 ? T(sqrt(out.z * out.z - out.r * out.r)) : T(out.z * 0.0);
  return out;
}

/// Z% at the reference temperature: X% does not depend on temperature, R% becomes loss at reference / (10 S).
template <class T>
T reference_impedance_percent(T const& x_percent, T const& load_loss_reference_w, double rated_kva) {
  using std::sqrt;
  require_not_negative(load_loss_reference_w, "load_loss_reference_w");
  require_positive(rated_kva, "rated_kva");
  T const r = load_loss_reference_w / (10.0 * rated_kva);
  return sqrt(x_percent * x_percent + r * r);
}

/// 100 * (|1 + load (r + jx)/100 (pf - jq)| - 1), q = sqrt(1 - pf^2), negative if leading: exact, for rated secondary
/// volts at the load.
template <class T>
T regulation_percent(T const& r_percent, T const& x_percent, double power_factor, bool leading = false,
                     double load_fraction = 1.0) {
  using std::sqrt;
  require_finite(r_percent, "r_percent");
  require_finite(x_percent, "x_percent");
  if (!(power_factor >= 0.0 && power_factor <= 1.0)) throw InputError("power_factor", "expected 0 to 1");
  require_not_negative(load_fraction, "load_fraction");
  double const q = std::sqrt(1.0 - power_factor * power_factor) * (leading ? -1.0 : 1.0);
  double const share = load_fraction / 100.0;
  T const in_phase = 1.0 + share * (r_percent * power_factor + x_percent * q);
  T const across = share * (x_percent * power_factor - r_percent * q);
  return 100.0 * (sqrt(in_phase * in_phase + across * across) - 1.0);
}

struct VoltageCurrentPower {
  double voltage_v = 0.0, current_a = 0.0, power_w = 0.0;
};

struct EquivalentCircuit {
  double core_resistance_ohm, magnetizing_reactance_ohm;                     ///< on the side of the open-circuit test
  double series_impedance_ohm, series_resistance_ohm, series_reactance_ohm;  ///< on that of the short-circuit test
};

/// Single-phase (or per-phase) equivalent circuit out of open- and short-circuit test.
EquivalentCircuit equivalent_circuit(VoltageCurrentPower const& open, VoltageCurrentPower const& shorted);

}  // namespace benchward
