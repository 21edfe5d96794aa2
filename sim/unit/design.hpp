// SPDX-License-Identifier: MIT
#pragma once

/// The design behind a rating plate: turns, resistances, leakage, stray loss, core, insulation, solved from the Unit's
/// guaranteed data, with the small differences that manufacture leaves.

#include <array>
#include <cstdint>

#include "../../limits/unit/unit.hpp"
#include "core.hpp"
#include "unit_model.hpp"
#include "vector_group.hpp"

namespace benchward::sim {

/// Resistance of a metal by temperature, relative to 20 degC: linear, alpha = 1/254.5 a kelvin copper (IACS copper,
/// 0.00393), 1/245 aluminium (0.00408).
double resistance_factor(Metal metal, double celsius_now);

/// Stray loss as eddy loss in windings and steel parts: falls exponentially with temperature (own law; against the
/// customary inverse law the difference stays below 0.6 % of the stray loss between 20 and 90 degC for copper), rises
/// with current to the power 1.92 (tank steel) and with frequency to the power 1.8.
struct StrayLaw {
  double ohm_at_reference = 0.0;  ///< in each high-voltage coil, at rated current, frequency, reference temperature
  double reference_c = 85.0;
  double rated_amperes = 1.0;  ///< of that coil
  double rated_hz = 60.0;
  static constexpr double current_exponent = 1.92;
  static constexpr double frequency_exponent = 1.8;
  static constexpr double temperature_coefficient = 0.0034;
  /// Series ohms at this coil current.
  double ohm(double amperes, double frequency_hz, double winding_c) const;
};

struct Design {
  int phases = 1, limbs = 1, parts = 1;  ///< parts: coils of one low-voltage phase in series
  CoreForm form = CoreForm::shell;
  VectorGroup group;
  double kva = 0.0, hz = 60.0;
  Metal hv_metal = Metal::copper, lv_metal = Metal::copper;

  double hv_coil_volts = 0.0, lv_part_volts = 0.0;  ///< rated, no load
  double hv_coil_amperes = 0.0, lv_part_amperes = 0.0;
  double lv_line_amperes = 0.0, hv_line_amperes = 0.0;
  int hv_turns = 0, lv_part_turns = 0;  ///< on the rated tap, ordered voltage
  double volts_per_turn = 0.0;          ///< rms, rated
  double flux_peak_wb = 0.0;

  double hv_ohm_20 = 0.0, lv_part_ohm_20 = 0.0;
  std::array<double, 3> hv_ohm_spread{1.0, 1.0, 1.0}, lv_ohm_spread{1.0, 1.0, 1.0};
  StrayLaw stray;
  double hv_leakage_h = 0.0, lv_part_leakage_h = 0.0;

  std::array<CoreLimb, 3> core;
  std::array<double, 3> limb_weight{1.0, 1.0, 1.0};  ///< iron that each limb's flux magnetises; sums to `limbs`
  double zero_sequence_mmf = 0.0;   ///< ampere-turns between the yokes a unit of summed flux (three-limb: air, tank)
  double zero_sequence_loss = 0.0;  ///< the same, in phase with the volts (tank as a delta), a unit at rated frequency
  bool return_limbs = false;        ///< five-limb: the summed flux runs in iron
  MagnetisationCurve return_curve;
  double return_area = 1.2;  ///< summed flux that fills the return limbs as x = 1 fills a limb

  double capacitance_hv_earth_f = 0.0, capacitance_lv_earth_f = 0.0, capacitance_hv_lv_f = 0.0;  ///< whole unit
  double hv_test_volts = 0.0, lv_test_volts = 0.0;  ///< design levels, rms to earth
  static constexpr double bushing_f = 30e-12;  ///< of one bushing to the tank (from memory: 10 to 50 pF at these sizes)
  double capacitance_bushings_f = 0.0;         ///< high-voltage line bushings behind a fuse or switch, all of them
  bool hv_graded = false;                      ///< neutral end on the tank or with reduced insulation

  double heating_hv_k_per_s = 0.0, heating_lv_k_per_s = 0.0;  ///< at rated current, 55 degC
  double oil_joule_per_k = 0.0, oil_rise_k = 40.0;

  // What came out of manufacture, at the guarantee's conditions.
  double no_load_loss_w = 0.0, load_loss_w = 0.0, stray_loss_w = 0.0, impedance_percent = 0.0,
         exciting_current_percent = 0.0;
  double guaranteed_no_load_w = 0.0;
  double load_reference_c = 85.0, no_load_reference_c = 20.0;
};

/// Throws UnsolvableUnit.
Design solve_design(Unit const& unit, Manufacture const& manufacture);

/// Flux waves of the limbs at rated sine volts on the low-voltage side, high-voltage side open. A winding that can
/// carry no sum of currents (zigzag, star without neutral) under an open star leaves the limbs' sum of ampere-turns
/// unpaid: a flux common to the limbs pays it.
std::array<std::array<Complex, Wave::harmonic_count>, 3> rated_flux(Design const& design, double loss_factor,
                                                                    std::array<double, 3> const& scale);
/// Core loss under these waves, watts, at 20 degC.
double core_watts(Design const& design, double loss_factor,
                  std::array<std::array<Complex, Wave::harmonic_count>, 3> const& flux);

/// Exciting current in percent of the rated line current, mean of the fed lines' rms values, at rated sine volts on the
/// low-voltage side with its neutral connected, high-voltage side open: closed form over the limbs' harmonics.
/// `loss_factor`: on the core loss; `flux`: of each limb, 1 = rated.
double exciting_percent(Design const& design, double core_celsius, double loss_factor = 1.0,
                        std::array<double, 3> const& flux = {1.0, 1.0, 1.0});

}  // namespace benchward::sim
