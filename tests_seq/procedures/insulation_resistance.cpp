// SPDX-License-Identifier: MIT
// Insulation resistance with direct current: 15 s and 60 s readings, then resistor discharge by meter and guard.
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

Task<InsulationReadings> measure_insulation_resistance(StepContext& at, InsulationWork const& work) {
  InsulationMeter& meter = in_role(at.world.roles.insulation_meter, "insulation_meter");
  InsulationReadings readings;
  readings.between = work.between;
  if (at.world.roles.thermometer_scanner != nullptr) readings.temperature = co_await read_temperatures(at);

  Permit const permit = co_await energise(at, *at.plan_step.energy);
  at.world.guard.raising();
  co_await need(meter.start(permit, work.test_voltage));
  co_await wait_energised(at, permit, seconds(15));
  auto const early = co_await need(meter.read());
  readings.at_15_s = early.resistance;
  co_await wait_energised(at, permit, work.hold - seconds(15));
  auto const late = co_await need(meter.read());
  readings.at_60_s = late.resistance;
  readings.test_voltage = late.test_voltage;
  at.world.progress.reading("insulation resistance", late.resistance.value.in(megohms), "Mohm");
  co_await need(meter.stop_and_discharge());
  // It recharges from absorption: earthed by the guard for four times as long, never kept open for another step.
  co_await de_energise(at, false);
  co_await at.world.clock.wait(work.hold * 4.0);
  co_await keep_readings(at, "insulation_resistance", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
