// SPDX-License-Identifier: MIT
#pragma once

/// Resistance at another temperature, and phase resistances out of three readings between terminals.
/// Source: 10 CFR 431 subpart K appendix A 3.4.1 and equation 3-6 (symbols and constants read in the 2015 annual
/// edition, the equation's form derived); the IEC constants 235/225 from IEC 60076-1 (secondary text).

#include <algorithm>
#include <array>

#include "../unit/unit.hpp"
#include "scalar.hpp"

namespace benchward {

/// T_k, degC: minus the temperature at which the metal's resistance, extrapolated in a straight line, would be zero.
/// 234.5 (IEEE, DOE) or 235 (IEC) for copper, 225 for aluminium in both families.
double inferred_zero_c(Metal metal, StandardFamily standard);

/// Equation 3-6: R_ts = R_dc * (T_s + T_k) / (T_dc + T_k).
template <class T>
T resistance_at(T const& resistance_ohm, T const& measured_at_c, double reference_c, double zero_c) {
  require_positive(resistance_ohm, "resistance_ohm");
  if (!(value_of(measured_at_c) > -zero_c)) {
    throw InputError("measured_at_c", "expected a temperature above that of zero resistance");
  }
  if (!(reference_c > -zero_c) || !std::isfinite(reference_c)) {
    throw InputError("reference_c", "expected a temperature above that of zero resistance");
  }
  return resistance_ohm * ((reference_c + zero_c) / (measured_at_c + zero_c));
}

enum class ThreePhaseConnection { wye, delta };

template <class T>
struct PhaseResistances {
  std::array<T, 3> phase_ohm;  ///< wye: legs 1, 2, 3; delta: the windings 1-2, 2-3, 3-1
  T total_ohm;                 ///< wye (R12 + R23 + R31) / 2; delta 1.5 * (R12 + R23 + R31): 3.4.1 (g) to (i)
  double unbalance_percent;    ///< 100 * (largest - smallest) / mean of the phases
};

/// 100 * (largest - smallest) / mean.
template <class T>
T unbalance_percent(std::array<T, 3> const& phase) {
  auto const less = [](T const& a, T const& b) { return value_of(a) < value_of(b); };
  T const largest = *std::max_element(phase.begin(), phase.end(), less);
  T const smallest = *std::min_element(phase.begin(), phase.end(), less);
  return 100.0 * (largest - smallest) / ((phase[0] + phase[1] + phase[2]) / 3.0);
}

/// Phases out of the readings 1-2, 2-3, 3-1, solved, no balance assumed. Of the wye each reading is the sum of two
/// legs. Of the closed delta each reading is one winding in parallel with the other two in series: the star with the
/// same terminal resistances is found as for the wye, then turned into its delta, which is exact for three terminals.
template <class T>
PhaseResistances<T> phase_resistances(std::array<T, 3> const& line_to_line_ohm, ThreePhaseConnection connection) {
  for (auto const& reading : line_to_line_ohm) require_positive(reading, "line_to_line_ohm");
  auto const& [r12, r23, r31] = line_to_line_ohm;
  T const sum = r12 + r23 + r31;
  std::array<T, 3> const leg{(r12 + r31 - r23) / 2.0, (r12 + r23 - r31) / 2.0, (r23 + r31 - r12) / 2.0};
  for (auto const& one : leg) {
    if (!(value_of(one) > 0.0)) {
      throw InputError("line_to_line_ohm",
                       "no three resistances give these readings: one is larger than the sum of the other two");
    }
  }
  if (connection == ThreePhaseConnection::wye) {
    return {leg, sum / 2.0, value_of(unbalance_percent(leg))};
  }
  T const products = leg[0] * leg[1] + leg[1] * leg[2] + leg[2] * leg[0];
  std::array<T, 3> const winding{products / leg[2], products / leg[0], products / leg[1]};
  return {winding, 1.5 * sum, value_of(unbalance_percent(winding))};
}

}  // namespace benchward
