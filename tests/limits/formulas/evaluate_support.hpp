// SPDX-License-Identifier: MIT
#pragma once

/// Invented instruments, sheets and readings for the evaluations' tests.

#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "limits/evaluate/evaluate.hpp"
#include "tests/limits/formulas/units.hpp"

namespace benchward::testing {

template <class Q>
Reading<Q> reading(Q value, std::string instrument, std::string channel) {
  Reading<Q> out;
  out.value = value;
  out.quality = Quality::good;
  out.origin.instrument = std::move(instrument);
  out.origin.channel = std::move(channel);
  return out;
}

inline ChannelCalibration channel(std::string quantity, double relative_u, double noise_u = 0.0) {
  ChannelCalibration out;
  out.quantity = std::move(quantity);
  out.relative_u = relative_u;
  out.noise_u = noise_u;
  return out;
}

/// Analyser, ratio meter, resistance meter, thermometer, dielectric set: all in date.
inline std::map<std::string, Calibration> instruments() {
  std::map<std::string, Calibration> all;
  auto const make = [&](char const* name, std::vector<ChannelCalibration> channels) {
    all[name] = Calibration{std::string("C-") + name, "2029-06-01", "2030-06-01", std::move(channels)};
  };
  make("analyser", {channel("voltage", 2e-4, 0.01), channel("current", 2e-4, 1e-4), channel("power", 3e-4, 0.05),
                    channel("frequency", 1e-5)});
  make("ratio_meter", {channel("ratio", 2e-4), channel("voltage", 1e-3), channel("phase", 0.0, 1e-3)});
  make("ohm_meter", {channel("voltage", 2e-4), channel("current", 2e-4)});
  make("thermometer", {channel("temperature", 0.0)});
  all["thermometer"].channels[0].offset_u = 0.2;
  make("hipot", {channel("dielectric_voltage", 1e-2), channel("dielectric_current", 1e-2, 1e-5),
                 channel("frequency", 1e-4), channel("resistance", 0.05), channel("voltage", 0.01)});
  return all;
}

inline SheetLine line(std::string test, std::string quantity, std::optional<double> lower, std::optional<double> upper,
                      std::string at = "") {
  SheetLine out;
  out.test = std::move(test);
  out.quantity = std::move(quantity);
  out.at = std::move(at);
  out.limit.rule = "test-" + out.quantity;
  out.limit.lower = lower;
  out.limit.upper = upper;
  out.limit.source = "invented for this test";
  return out;
}

inline TemperatureReadings liquid(double top_c, double bottom_c) {
  TemperatureReadings out;
  out.mode = "own_sensors";
  out.top = reading(celsius(top_c), "thermometer", "probe.1");
  out.bottom = reading(celsius(bottom_c), "thermometer", "probe.2");
  out.ambient = reading(celsius(20.0), "thermometer", "probe.3");
  out.rest = hours(8.0);
  return out;
}

inline Result const* find(Evaluation const& evaluation, std::string const& quantity, std::string const& at = "") {
  for (auto const& result : evaluation.results) {
    if (result.quantity == quantity && (at.empty() || result.at == at)) return &result;
  }
  return nullptr;
}

inline double step(Result const& result, std::string const& name) {
  for (auto const& one : result.intermediates) {
    if (one.name == name) return one.value;
  }
  return std::nan("");
}

/// Everything that an evaluation is handed, kept together.
struct Bench {
  Unit unit;
  LimitSheet sheet;
  std::map<std::string, Calibration> calibration = instruments();
  EvaluationContext context() const { return {unit, sheet, calibration, "2030-01-01"}; }
};

}  // namespace benchward::testing
