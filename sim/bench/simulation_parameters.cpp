// SPDX-License-Identifier: MIT
#include "sim/bench/simulation_parameters.hpp"

#include "limits/documents/json_reader.hpp"

namespace benchward::sim {
namespace {

using documents::above;
using documents::at_least;
using documents::between;

void read_hardware(documents::ObjectReader& from, SimulationParameters& p) {
  auto const time = [&](char const* key, double& value) {
    value = from.number_or(key, value, "a number of seconds", documents::above_up_to(0.0, 60.0));
  };
  time("pull_in_s", p.pull_in_s);
  time("drop_out_s", p.drop_out_s);
  time("direct_drop_out_s", p.direct_drop_out_s);
  time("earth_travel_s", p.earth_travel_s);
  time("resistor_s", p.resistor_s);
  time("short_s", p.short_s);
  time("reset_press_s", p.reset_press_s);
  time("scan_s", p.scan_s);
  time("chain_time_s", p.chain_time_s);
  p.discharge_resistor_ohm =
      from.number_or("discharge_resistor_ohm", p.discharge_resistor_ohm, "a number of ohms", above(0.0));
  p.voltage_relay_v = from.number_or("voltage_relay_v", p.voltage_relay_v, "a number of volts", above(0.0));
  p.room_c = from.number_or("room_c", p.room_c, "a number of degrees Celsius", between(-20.0, 60.0));
}

void read_sources(documents::ObjectReader& from, SimulationParameters& p) {
  if (from.has("source_ranges_v")) p.source_ranges_v = from.numbers("source_ranges_v", "a number of volts", above(0.0));
  auto const value = [&](char const* key, double& number, char const* what, documents::Range range) {
    number = from.number_or(key, number, what, range);
  };
  value("source_impedance_percent", p.source_impedance_percent, "a number of percent", between(0.01, 50.0));
  value("source_x_over_r", p.source_x_over_r, "a number", between(0.01, 100.0));
  value("source_unbalance_percent", p.source_unbalance_percent, "a number of percent", between(0.0, 10.0));
  value("source_accuracy_percent", p.source_accuracy_percent, "a number of percent", between(0.0, 5.0));
  value("source_frequency_error_hz", p.source_frequency_error_hz, "a number of hertz", between(-1.0, 1.0));
  value("source_relay_s", p.source_relay_s, "a number of seconds", between(0.001, 10.0));
  value("source_fastest_ramp_s", p.source_fastest_ramp_s, "a number of seconds", between(0.01, 60.0));
  value("source_stop_s", p.source_stop_s, "a number of seconds", between(0.1, 60.0));
  value("source_settle_s", p.source_settle_s, "a number of seconds", between(0.0, 10.0));
  value("dielectric_leakage_percent", p.dielectric_leakage_percent, "a number of percent", between(0.1, 30.0));
  value("dielectric_power_va", p.dielectric_power_va, "a number of volt-amperes", above(0.0));
  value("dielectric_stray_nf", p.dielectric_stray_nf, "a number of nanofarads", between(0.0, 100.0));
  value("dielectric_relay_s", p.dielectric_relay_s, "a number of seconds", between(0.001, 10.0));
  value("divider_ohm", p.divider_ohm, "a number of ohms", above(0.0));
  value("direct_compliance_v", p.direct_compliance_v, "a number of volts", above(0.0));
  value("direct_freewheel_v", p.direct_freewheel_v, "a number of volts", between(0.05, 10.0));
  value("direct_lead_ohm", p.direct_lead_ohm, "a number of ohms", above(0.0));
  value("ratio_source_ohm", p.ratio_source_ohm, "a number of ohms", above(0.0));
  value("ratio_voltage_burden_ohm", p.ratio_voltage_burden_ohm, "a number of ohms", above(0.0));
}

void read_leads_and_instruments(documents::ObjectReader& from, SimulationParameters& p) {
  auto const value = [&](char const* key, double& number, char const* what, documents::Range range) {
    number = from.number_or(key, number, what, range);
  };
  value("lead_ohm", p.lead_ohm, "a number of ohms", at_least(0.0));
  value("lead_henry", p.lead_henry, "a number of henries", at_least(0.0));
  value("bar_ohm", p.bar_ohm, "a number of ohms", at_least(0.0));
  value("bar_henry", p.bar_henry, "a number of henries", at_least(0.0));
  value("bar_heating_k_per_w", p.bar_heating_k_per_w, "a number of kelvins a watt", at_least(0.0));
  value("bar_time_constant_s", p.bar_time_constant_s, "a number of seconds", above(0.0));
  value("contact_heating_k_per_w", p.contact_heating_k_per_w, "a number of kelvins a watt", at_least(0.0));
  value("contact_time_constant_s", p.contact_time_constant_s, "a number of seconds", above(0.0));
  value("answer_delay_s", p.answer_delay_s, "a number of seconds", between(0.0, 10.0));
  value("analyser_update_s", p.analyser_update_s, "a number of seconds", between(0.01, 10.0));
  value("ratio_measure_s", p.ratio_measure_s, "a number of seconds", between(0.01, 60.0));
  value("resistance_update_s", p.resistance_update_s, "a number of seconds", between(0.01, 10.0));
  p.true_bar_deviation = from.optional_number("true_bar_deviation", "a number", between(-0.9, 100.0));
}

}  // namespace

SimulationParameters read_simulation_parameters(Bench const& bench) {
  SimulationParameters parameters;
  if (bench.shorting_bar) parameters.bar_ohm = bench.shorting_bar->in(ohms);
  if (bench.shorting_bar_inductance) parameters.bar_henry = bench.shorting_bar_inductance->in(henries);
  if (!bench.simulation_json.empty()) {
    auto const name = bench.file.empty() ? std::string("bench document") : bench.file;
    auto const json = documents::parse_json(bench.simulation_json, name);
    documents::ObjectReader from(json, name, "/simulation");
    read_hardware(from, parameters);
    read_sources(from, parameters);
    read_leads_and_instruments(from, parameters);
    from.finish();
  }
  if (parameters.source_ranges_v.empty()) {
    double const top = bench.envelope.source.in(volts);
    parameters.source_ranges_v = {0.03 * top, 0.1 * top, 0.3 * top, top};
  }
  return parameters;
}

}  // namespace benchward::sim
