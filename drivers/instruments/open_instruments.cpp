// SPDX-License-Identifier: MIT
#include "drivers/instruments/open_instruments.hpp"

#include <fmt/format.h>

#include "drivers/instruments/role_drivers.hpp"
#include "drivers/profile/profile_document.hpp"
#include "limits/documents/document_error.hpp"

namespace benchward {
namespace {

/// Makes the driver of one role, if the instrument is of it.
template <class Driver, class Role>
bool take(char const* role, InstrumentDeclaration const& entry, Device& device, std::unique_ptr<Role>& into,
          OpenedInstruments& opened) {
  if (entry.role != role) return false;
  auto driver = std::make_unique<Driver>(std::move(device));
  opened.all.push_back(driver.get());
  opened.devices.push_back(&driver->device());
  into = std::move(driver);
  return true;
}

}  // namespace

OpenedInstruments open_instruments(Bench const& bench, Clock& clock) {
  OpenedInstruments opened;
  for (auto const& entry : bench.instruments) {
    auto const* link = bench.link(entry.link);
    if (link == nullptr || link->address.empty()) {
      throw DocumentError(
          "bench.address-form", bench.file, "/links",
          fmt::format("link \"{}\" of \"{}\" has no address; give the simulator's ready line", entry.link, entry.name));
    }
    auto& bus = opened.buses[entry.link];
    if (!bus) bus = std::make_unique<Bus>(*link, clock);
    Device device(entry, profile_of(entry, bench), *bus, clock);
    static_cast<void>(
        take<ProfiledRatioMeter>("ratio_meter", entry, device, opened.ratio_meter, opened) ||
        take<ProfiledResistanceMeter>("resistance_meter", entry, device, opened.resistance_meter, opened) ||
        take<ProfiledPowerAnalyzer>("power_analyzer", entry, device, opened.power_analyzer, opened) ||
        take<ProfiledAcSource>("ac_source", entry, device, opened.ac_source, opened) ||
        take<ProfiledThermometerScanner>("thermometer_scanner", entry, device, opened.thermometer_scanner, opened) ||
        take<ProfiledDielectricTester>("dielectric_tester", entry, device, opened.dielectric_tester, opened) ||
        take<ProfiledInsulationMeter>("insulation_meter", entry, device, opened.insulation_meter, opened));
  }
  return opened;
}

}  // namespace benchward
