// SPDX-License-Identifier: MIT
#pragma once

/// The roles of a simulated bench without wires, for virtual time: same profiles, same readings, no bus.

#include <memory>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/roles/roles.hpp"
#include "../../drivers/time/clock.hpp"
#include "../bench/sim_bench.hpp"

namespace benchward::sim {

/// A role that the bench lacks is null. Bench, simulated bench and clock must outlive it.
struct InProcessInstruments {
  std::unique_ptr<RatioMeter> ratio_meter;
  std::unique_ptr<ResistanceMeter> resistance_meter;
  std::unique_ptr<PowerAnalyzer> power_analyzer;
  std::unique_ptr<AcSource> ac_source;
  std::unique_ptr<ThermometerScanner> thermometer_scanner;
  std::unique_ptr<DielectricTester> dielectric_tester;
  std::unique_ptr<InsulationMeter> insulation_meter;
  std::vector<Instrument*> all;  ///< in the order of the bench document
};

/// Throws DocumentError for an unknown profile or instrument.
InProcessInstruments make_roles(Bench const& bench, SimBench& sim, Clock& clock);

}  // namespace benchward::sim
