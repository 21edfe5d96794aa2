// SPDX-License-Identifier: MIT
#include <cmath>

#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

/// Three probes: on the tank at liquid level and near the bottom, under insulation; in the room.
class Thermometers final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    bool const open = faults().on("probe-open");
    if (name == "top_open") return open ? 1.0 : 0.0;
    if (name == "bottom_open" || name == "ambient_open") return 0.0;
    auto const true_c = physics().model().temperatures();
    if (name == "top") {
      if (open) return std::nullopt;
      return errors_.reading("temperature", true_c.oil_top_c + faults().value_or("probe-wrong", 0.0));
    }
    if (name == "bottom") return errors_.reading("temperature", true_c.oil_bottom_c);
    if (name == "ambient") return errors_.reading("temperature", true_c.ambient_c);
    return std::nullopt;
  }
  bool perform(std::string_view) override { return true; }
};

class InsulationMeterModel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    auto const& reading = physics().insulation_reading();
    double const volts = physics().insulation_volts();
    if (name == "test_voltage") return errors_.reading("voltage", volts);
    if (name == "resistance" && volts > 0.0 && std::abs(reading.meter_amperes) > 1e-13) {
      return errors_.reading("resistance", volts / std::abs(reading.meter_amperes));
    }
    return std::nullopt;
  }
  bool perform(std::string_view sequence) override {
    if (sequence == "start") physics().insulation_volts(setting("test_voltage_set", 0.0));
    if (sequence == "stop") physics().insulation_volts(0.0);
    return true;
  }
  std::optional<bool> take(std::string_view name, double value) override {
    if (name == "test_voltage_set" && !(0.0 <= value && value <= 10e3)) return false;
    return std::nullopt;
  }
};

}  // namespace

std::unique_ptr<SimInstrument> make_thermometers(InstrumentPlace const& place) {
  return std::make_unique<Thermometers>(place);
}
std::unique_ptr<SimInstrument> make_insulation_meter(InstrumentPlace const& place) {
  return std::make_unique<InsulationMeterModel>(place);
}

}  // namespace benchward::sim
