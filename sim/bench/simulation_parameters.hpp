// SPDX-License-Identifier: MIT
#pragma once

/// What the simulated bench is built of: the "simulation" object of the bench document. Every key has a default that
/// stands here; an unknown key is refused. All of it is invented; orders of size are common practice, no source.

#include <optional>
#include <string>
#include <vector>

#include "../../drivers/bench/bench.hpp"

namespace benchward::sim {

struct SimulationParameters {
  // Interlock hardware, seconds.
  double pull_in_s = 0.08;          ///< coil on to main contacts closed, bounce over
  double drop_out_s = 0.05;         ///< coil off to main contacts open
  double direct_drop_out_s = 0.15;  ///< of the direct-current path: later than its shorting contact closes
  double earth_travel_s = 0.7;
  double resistor_s = 0.1;     ///< command to engaged
  double short_s = 0.05;       ///< shorting contact, either way
  double reset_press_s = 0.5;  ///< how long a person holds the reset button
  double scan_s = 0.002;       ///< the I/O block's own scan
  double chain_time_s = 0.35;  ///< a dangerous moment counts once it has lasted longer than this
  double discharge_resistor_ohm = 20e3;
  double voltage_relay_v = 0.3;  ///< the voltage relay says "no voltage" below this, at the source's output
  double room_c = 22.0;

  // Alternating-current source.
  std::vector<double> source_ranges_v;  ///< empty = 1, 0.3, 0.1 and 0.03 of the envelope's source volts
  /// Of the range's volts at the source's rated power: its regulator holds it stiff.
  double source_impedance_percent = 0.3;
  double source_x_over_r = 4.0;
  double source_unbalance_percent = 0.02;  ///< of phase B's volts
  double source_accuracy_percent = 0.1;    ///< of the regulated output
  double source_frequency_error_hz = 0.01;
  double source_relay_s = 0.12;        ///< over-current to trip
  double source_fastest_ramp_s = 0.3;  ///< zero to full range
  double source_stop_s = 4.0;          ///< own running down when the ramp permit is lowered
  double source_settle_s = 0.25;       ///< the regulator's last per cent

  // Dielectric set.
  double dielectric_leakage_percent = 5.0;  ///< reactance at the set's rated volts and power: capacitive rise
  double dielectric_power_va = 5000.0;
  double dielectric_stray_nf = 0.15;  ///< of cage and leads
  double dielectric_relay_s = 0.05;
  double divider_ohm = 2e9;  ///< of the level's divider to earth

  // Direct-current source of the resistance meter.
  double direct_compliance_v = 50.0;
  double direct_freewheel_v = 0.8;  ///< drop of the discharge path
  double direct_lead_ohm = 0.02;    ///< both current leads

  // Ratio meter.
  double ratio_source_ohm = 1.0;
  double ratio_voltage_burden_ohm = 2e6;

  // Leads of the alternating-current source, a conductor, out to the unit's terminals (the analyser's volt leads sit
  // at the terminals); shorting bars, a bar with its two clamps.
  double lead_ohm = 1.5e-3, lead_henry = 1.2e-6;
  double bar_ohm = 12e-6, bar_henry = 0.25e-6;
  double bar_heating_k_per_w = 0.15, bar_time_constant_s = 120.0;
  /// A bar that is not tightened carries its current through a few spots; they are small and heat within seconds.
  double contact_heating_k_per_w = 0.6, contact_time_constant_s = 12.0;

  // Instruments.
  double answer_delay_s = 0.03;    ///< to any request
  double analyser_update_s = 0.2;  ///< a new set of readings this often
  double ratio_measure_s = 1.0;    ///< from the command to a finished reading
  double resistance_update_s = 0.1;
  /// Bar and clamps against the bench document's own figures, relative; absent = drawn once a bench.
  std::optional<double> true_bar_deviation;
};

/// Defaults, then the bench document's "simulation" object. Throws DocumentError (`document.unknown-key`,
/// `document.number-range`, ...) with paths under /simulation.
SimulationParameters read_simulation_parameters(Bench const& bench);

}  // namespace benchward::sim
