// SPDX-License-Identifier: MIT
#include "limits/correct/impedance.hpp"

namespace benchward {
namespace {

double reactive(VoltageCurrentPower const& reading, char const* power_name) {
  require_positive(reading.voltage_v, "voltage_v");
  require_positive(reading.current_a, "current_a");
  require_positive(reading.power_w, power_name);
  double const apparent = reading.voltage_v * reading.current_a;
  double const square = apparent * apparent - reading.power_w * reading.power_w;
  if (!(square > 0.0)) throw InputError(power_name, "not below volts times amperes: not a possible reading");
  return std::sqrt(square);
}

}  // namespace

EquivalentCircuit equivalent_circuit(VoltageCurrentPower const& open, VoltageCurrentPower const& shorted) {
  EquivalentCircuit circuit{};
  circuit.magnetizing_reactance_ohm = open.voltage_v * open.voltage_v / reactive(open, "open/power_w");
  circuit.core_resistance_ohm = open.voltage_v * open.voltage_v / open.power_w;
  double const square = shorted.current_a * shorted.current_a;
  circuit.series_reactance_ohm = reactive(shorted, "short/power_w") / square;
  circuit.series_impedance_ohm = shorted.voltage_v / shorted.current_a;
  circuit.series_resistance_ohm = shorted.power_w / square;
  return circuit;
}

}  // namespace benchward
