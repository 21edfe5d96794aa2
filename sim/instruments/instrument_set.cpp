// SPDX-License-Identifier: MIT
#include "sim/instruments/instrument_set.hpp"

#include "limits/documents/document_error.hpp"
#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

std::unique_ptr<SimInstrument> make(InstrumentPlace const& place) {
  auto const& role = place.declaration.role;
  if (role == "ratio_meter") return make_ratio_meter(place);
  if (role == "resistance_meter") return make_resistance_meter(place);
  if (role == "power_analyzer") return make_power_analyzer(place);
  if (role == "ac_source") return make_ac_source(place);
  if (role == "dielectric_tester") return make_dielectric_tester(place);
  if (role == "thermometer_scanner") return make_thermometers(place);
  if (role == "insulation_meter") return make_insulation_meter(place);
  throw DocumentError("bench.role-mismatch", "bench document", "/instruments",
                      "the simulator has no instrument for the role \"" + role + "\"");
}

}  // namespace

InstrumentSet::InstrumentSet(Bench const& bench, SimulationParameters const& parameters, FaultSet const& faults,
                             Physics& physics, std::uint64_t seed) {
  std::uint64_t number = 0;
  for (auto const& declaration : bench.instruments) {
    // Each instrument has its own stream: one more on the bench does not move the others' errors.
    std::uint64_t const own = (seed + 1) * 0xD1342543DE82EF95ull + ++number * 0x9E3779B97F4A7C15ull;
    instruments_.push_back(make(InstrumentPlace{declaration, parameters, faults, physics, own}));
  }
}

std::vector<SimInstrument*> InstrumentSet::all() const {
  std::vector<SimInstrument*> list;
  for (auto const& one : instruments_) list.push_back(one.get());
  return list;
}

SimInstrument* InstrumentSet::find(std::string_view name) const {
  for (auto const& one : instruments_) {
    if (one->name() == name) return one.get();
  }
  return nullptr;
}

}  // namespace benchward::sim
