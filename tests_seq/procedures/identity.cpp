// SPDX-License-Identifier: MIT
// Identity: is this the unit of the order, are these the instruments of the bench document? And the temperatures.
#include <array>

#include <fmt/format.h>

#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

Task<void> measure_identity(StepContext& at, IdentityWork const&) {
  TestRoles const& roles = at.world.roles;
  std::array<Instrument*, 7> const instruments{roles.thermometer_scanner, roles.ratio_meter, roles.resistance_meter,
                                               roles.power_analyzer,      roles.ac_source,   roles.dielectric_tester,
                                               roles.insulation_meter};
  std::vector<std::pair<std::string, Identity>> found;
  for (auto* instrument : instruments) {
    if (instrument == nullptr) continue;
    auto const identity = co_await need(instrument->identify());
    found.emplace_back(instrument->name(), identity);
  }
  co_await keep_readings(at, "identity", identity_json(found));

  Unit const& unit = at.world.unit;
  Question question;
  question.id = "unit.identity";
  question.text = fmt::format("Plate: serial {}, {:.6g} kVA, {:.6g} / {:.6g} V, {}. Is this the unit on the bench?",
                              unit.serial, unit.rated_power.in(kilovolt_amperes), unit.hv.rated.in(volts),
                              unit.lv.rated.in(volts), unit.vector_group);
  question.choices = {"yes", "no"};
  auto const answer = co_await ask(at, std::move(question));
  if (answer != "yes") {
    throw StepStopped(StopCause::person,
                      "another unit stands on the bench: load its order, or bring unit " + unit.serial);
  }
}

Task<TemperatureReadings> measure_temperatures(StepContext& at, TemperaturesWork const&) {
  auto readings = co_await read_temperatures(at);
  if (readings.mode == "own_sensors") {
    Question question;
    question.id = "unit.rest";
    question.text = "Has the unit stood 4 h or more under liquid without excitation and current?";
    question.choices = {"yes", "no"};
    auto const answer = co_await ask(at, std::move(question));
    if (answer == "yes") readings.rest = hours(4);
  }
  co_await keep_readings(at, "temperatures", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
