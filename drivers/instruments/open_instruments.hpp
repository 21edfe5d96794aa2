// SPDX-License-Identifier: MIT
#pragma once

/// From a bench document to its roles on real wires.

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "../bench/bench.hpp"
#include "../bus/bus.hpp"
#include "../roles/roles.hpp"
#include "../time/clock.hpp"

namespace benchward {

class Device;

/// The instruments of a bench, each behind its role; a role that the bench lacks is null. Members are destroyed in
/// reverse order: roles before the buses that they speak on. Destroy all of it before the io_context and the clock.
struct OpenedInstruments {
  std::map<std::string, std::unique_ptr<Bus>> buses;  ///< by link name
  std::unique_ptr<RatioMeter> ratio_meter;
  std::unique_ptr<ResistanceMeter> resistance_meter;
  std::unique_ptr<PowerAnalyzer> power_analyzer;
  std::unique_ptr<AcSource> ac_source;
  std::unique_ptr<ThermometerScanner> thermometer_scanner;
  std::unique_ptr<DielectricTester> dielectric_tester;
  std::unique_ptr<InsulationMeter> insulation_meter;

  /// Every instrument there is, in the order of the bench document.
  std::vector<Instrument*> all;
  /// The same, as devices behind profiles: for `bench check` and the technician's view (counts, raw words).
  std::vector<Device*> devices;
  Bus* bus(std::string const& link) const {
    auto const found = buses.find(link);
    return found == buses.end() ? nullptr : found->second.get();
  }
};

/// Starts the buses (nothing is sent yet; links open with their first request). The bench's links have addresses.
/// `clock.now()` must be callable from any thread. Throws DocumentError where an address is missing or a profile does
/// not fit. The bench I/O's link is not among them: see bench_io_link.hpp.
OpenedInstruments open_instruments(Bench const& bench, Clock& clock);

}  // namespace benchward
