// SPDX-License-Identifier: MIT
#include "firmware_host/panel/instrument_watch.hpp"

#include <chrono>
#include <initializer_list>

#include "limits/documents/readings_json.hpp"

namespace benchward::panel {

InstrumentWatch::InstrumentWatch(BenchSession& session, Bench const& bench) : session_(session) {
  for (auto const& declared : bench.instruments) {
    InstrumentLine line;
    line.name = declared.name;
    line.role = declared.role;
    line.words = "not asked yet";
    line.calibration_due = declared.calibration.due_on;
    lines_.push_back(std::move(line));
  }
}

Instrument* InstrumentWatch::of(std::string const& name) const {
  auto const& roles = session_.roles();
  std::initializer_list<Instrument*> const all = {
      roles.ratio_meter,         roles.resistance_meter,  roles.power_analyzer,   roles.ac_source,
      roles.thermometer_scanner, roles.dielectric_tester, roles.insulation_meter,
  };
  for (auto* instrument : all) {
    if (instrument != nullptr && instrument->name() == name) return instrument;
  }
  return nullptr;
}

Task<bool> InstrumentWatch::ask_all(std::function<bool()> busy) {
  for (auto& line : lines_) {
    if (busy()) co_return false;
    auto* instrument = of(line.name);
    if (instrument == nullptr) continue;
    auto const begin = std::chrono::steady_clock::now();
    auto const answer = co_await instrument->identify();
    auto const took = std::chrono::steady_clock::now() - begin;
    line.asked = true;
    line.at = utc_text(session_.clock().now().utc_us);
    line.ok = static_cast<bool>(answer);
    line.round_trip_ms = std::chrono::duration<double, std::milli>(took).count();
    if (answer) {
      auto const& who = answer.value();
      line.words = who.maker + " " + who.model + ", serial " + who.serial + ", firmware " + who.firmware;
    } else {
      line.words = answer.error().text();
    }
  }
  co_return true;
}

}  // namespace benchward::panel
