// SPDX-License-Identifier: MIT
#pragma once

/// The load-loss computation from the measured quantities to the corrected values, over one list of inputs, so that the
/// same text runs on plain numbers, on values with linear uncertainty, and on the trials of a Monte Carlo run.

#include <cmath>
#include <vector>

#include "../correct/impedance.hpp"
#include "../correct/load_loss.hpp"
#include "power_means.hpp"

namespace benchward {

/// What does not vary.
struct LoadLossConstants {
  std::size_t elements = 1;
  bool three_phase = false;
  bool line_to_line = false;
  bool phase_error_known = false;
  double rated_current_a = 0.0;  ///< line current of the fed side
  double rated_volts = 0.0;      ///< line volts of the fed side
  double rated_kva = 0.0;
  double hv_winding_a = 0.0, lv_winding_a = 0.0;  ///< rated currents of the windings themselves
  double hv_zero_c = 0.0, lv_zero_c = 0.0;        ///< T_k of the metals
  double order_reference_c = 0.0, efficiency_reference_c = 0.0;
  double shorted_over_fed_current = 0.0;  ///< of the line currents
  bool bar_known = false;
  double bars = 0.0;               ///< between neighbouring terminals: one single-phase, two three-phase
  double bar_reactance_ohm = 0.0;  ///< of one, at the test's frequency
};

/// Positions in the list of inputs: per element volts, amperes, watts, phase error; then these.
struct LoadLossPositions {
  std::size_t elements;
  std::size_t volts(std::size_t k) const { return 4 * k; }
  std::size_t amperes(std::size_t k) const { return 4 * k + 1; }
  std::size_t watts(std::size_t k) const { return 4 * k + 2; }
  std::size_t phase_error(std::size_t k) const { return 4 * k + 3; }
  std::size_t repeatability() const { return 4 * elements; }
  std::size_t hv_ohm() const { return 4 * elements + 1; }
  std::size_t hv_c() const { return 4 * elements + 2; }
  std::size_t lv_ohm() const { return 4 * elements + 3; }
  std::size_t lv_c() const { return 4 * elements + 4; }
  std::size_t winding_c() const { return 4 * elements + 5; }
  std::size_t bar_ohm() const { return 4 * elements + 6; }
  std::size_t stray_law() const { return 4 * elements + 7; }
  std::size_t count() const { return 4 * elements + 8; }
};

template <class T>
struct LoadLossValues {
  T line_volts, amperes, apparent_va;
  T measured_w;  ///< as read
  T true_w;      ///< after equation 4-5, element by element
  T bar_w;       ///< deducted
  LoadLossCorrected<T> order, efficiency;
  ImpedancePercent<T> impedance;
  T impedance_reference_percent;
};

/// Equation 4-9 lets stray loss fall with the first power of the metal's resistivity. `off` is by how much that power
/// is another for this unit, whose stray loss is partly in steel: its mean is nothing, its width is uncertainty.
template <class T>
LoadLossCorrected<T> with_stray_law(LoadLossCorrected<T> out, T const& off, LoadLossInput<T> const& in) {
  double const zero = stray_zero_c(in.windings);
  out.stray_reference_w =
      out.stray_reference_w * (1.0 + off * std::log((zero + value_of(in.winding_c)) / (zero + in.reference_c)));
  out.corrected_w = out.ohmic_reference_w + out.stray_reference_w;
  return out;
}

template <class T>
LoadLossValues<T> load_loss_chain(std::vector<T> const& in, LoadLossConstants const& c) {
  using std::sqrt;
  LoadLossPositions const at{c.elements};
  LoadLossValues<T> out;
  T volts_sum = T(0.0);
  T amperes_sum = T(0.0);
  for (std::size_t k = 0; k < c.elements; ++k) {
    volts_sum = volts_sum + in[at.volts(k)];
    amperes_sum = amperes_sum + in[at.amperes(k)];
  }
  double const share = 1.0 / static_cast<double>(c.elements);
  T const mean_volts = volts_sum * share;
  out.amperes = amperes_sum * share;
  double const root3 = std::sqrt(3.0);
  out.line_volts = c.three_phase && !c.line_to_line ? mean_volts * root3 : mean_volts;
  out.apparent_va = T(0.0);
  out.measured_w = T(0.0);
  out.true_w = T(0.0);
  for (std::size_t k = 0; k < c.elements; ++k) {
    T const seen = c.line_to_line && c.elements == 3 ? T(mean_volts * (1.0 / root3)) : in[at.volts(k)];
    T const apparent = seen * in[at.amperes(k)];
    T const& measured = in[at.watts(k)];
    out.apparent_va = out.apparent_va + apparent;
    out.measured_w = out.measured_w + measured;
    out.true_w =
        out.true_w + (c.phase_error_known ? without_phase_error(measured, apparent, in[at.phase_error(k)]) : measured);
  }
  T const shorted_a = out.amperes * c.shorted_over_fed_current;
  out.bar_w = c.bar_known ? T(c.bars * shorted_a * shorted_a * in[at.bar_ohm()]) : T(0.0);
  LoadLossInput<T> loss;
  loss.measured_w = (out.true_w - out.bar_w) * in[at.repeatability()];
  loss.test_current_a = out.amperes;
  loss.rated_current_a = c.rated_current_a;
  loss.winding_c = in[at.winding_c()];
  loss.reference_c = c.order_reference_c;
  loss.windings.push_back({in[at.hv_ohm()], in[at.hv_c()], c.hv_zero_c, c.hv_winding_a});
  loss.windings.push_back({in[at.lv_ohm()], in[at.lv_c()], c.lv_zero_c, c.lv_winding_a});
  out.order = with_stray_law(correct_load_loss(loss), in[at.stray_law()], loss);
  loss.reference_c = c.efficiency_reference_c;
  out.efficiency = with_stray_law(correct_load_loss(loss), in[at.stray_law()], loss);
  ImpedanceInput<T> impedance;
  impedance.impedance_voltage_v = out.line_volts;
  impedance.rated_voltage_v = c.rated_volts;
  impedance.test_current_a = out.amperes;
  impedance.rated_current_a = c.rated_current_a;
  // Volts and watts both hold the bar's share here; it is taken out of both below.
  T const to_rated = T(c.rated_current_a) / out.amperes;
  impedance.load_loss_w = out.order.at_rated_current_w + out.bar_w * to_rated * to_rated;
  impedance.rated_kva = c.rated_kva;
  out.impedance = impedance_percent(impedance);
  double const shorted_rated_a = c.rated_current_a * c.shorted_over_fed_current;
  double const bar_var = c.bars * shorted_rated_a * shorted_rated_a * c.bar_reactance_ohm;
  out.impedance.r = out.order.at_rated_current_w / (10.0 * c.rated_kva);
  out.impedance.x = out.impedance.x - bar_var / (10.0 * c.rated_kva);
  out.impedance.z = sqrt(out.impedance.r * out.impedance.r + out.impedance.x * out.impedance.x);
  out.impedance_reference_percent = reference_impedance_percent(out.impedance.x, out.order.corrected_w, c.rated_kva);
  return out;
}

}  // namespace benchward
