// SPDX-License-Identifier: MIT
#include "firmware_host/panel/instrument_watch.hpp"

#include <initializer_list>
#include <utility>

#include "drivers/instruments/open_instruments.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward::panel {
namespace {

// A page that shows them asks every two seconds.
constexpr auto a_look_lasts = std::chrono::seconds(5);

}  // namespace

InstrumentWatch::InstrumentWatch(BenchSession& session, Bench const& bench) : session_(session) {
  for (auto const& declared : bench.instruments) {
    InstrumentLine line;
    line.name = declared.name;
    line.role = declared.role;
    line.link = declared.link;
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

bool InstrumentWatch::is_looked_at() const {
  return looked_at_.time_since_epoch().count() != 0 && std::chrono::steady_clock::now() - looked_at_ < a_look_lasts;
}

Task<void> InstrumentWatch::read_values() {
  auto* wires = session_.wires();
  if (wires == nullptr) co_return;
  WatchSettings once;
  once.turns = 1;
  std::function<void(WatchedLine)> const take = [this](WatchedLine const& seen) {
    for (auto& line : lines_) {
      if (line.name != seen.device) continue;
      line.values_at = utc_text(seen.at.utc_us);
      line.values = seen.values;
      if (!seen.fault) continue;
      line.ok = false;
      line.words = seen.fault->text();
    }
  };
  auto reading = watch_instruments(*wires, session_.clock(), once, take);
  co_await std::move(reading);
}

std::vector<InstrumentLine> InstrumentWatch::lines() const {
  auto lines = lines_;
  auto const* wires = session_.wires();
  for (auto& line : lines) {
    auto const* bus = wires == nullptr ? nullptr : wires->bus(line.link);
    if (bus == nullptr) continue;
    auto const counts = bus->counts();
    if (auto const found = counts.find(line.name); found != counts.end()) line.counts = found->second;
  }
  return lines;
}

}  // namespace benchward::panel
