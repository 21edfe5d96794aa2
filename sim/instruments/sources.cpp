// SPDX-License-Identifier: MIT
// The panels of the alternating-current source and of the dielectric set: orders in, their own meters out.
#include <algorithm>
#include <cmath>

#include "sim/instruments/instrument_base.hpp"

namespace benchward::sim {
namespace {

class AcSourcePanel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    auto const& source = physics().source();
    auto const now = now_ns();
    if (name == "at_zero") return source.at_zero(now) ? 1.0 : 0.0;
    if (name == "at_set") return source.at_set(now) ? 1.0 : 0.0;
    if (name == "tripped") return source.tripped() ? 1.0 : 0.0;
    if (name == "healthy") return source.healthy() ? 1.0 : 0.0;
    bool const driving = physics().source_on(SourcePath::ac_source) && physics().path() == SourcePath::ac_source;
    if (name == "voltage") return positive("voltage", driving ? physics().output_v() : source.regulator_v(now));
    if (name == "current") return positive("current", driving ? physics().output_a() : 0.0);
    if (name == "frequency")
      return positive("frequency", source.frequency_hz(now) + parameters().source_frequency_error_hz);
    return std::nullopt;
  }
  bool perform(std::string_view sequence) override {
    if (sequence == "set") {
      SupplyOrder order;
      order.volts = setting("voltage_set", 0.0);
      order.hertz = setting("frequency_set", 60.0);
      order.phases = setting("phases_set", 1.0) >= 2.0 ? 3 : 1;
      order.ramp_s = setting("ramp_s", 1.0);
      order.limit_a = setting("current_limit", 0.0);
      return physics().source().set(order, now_ns());
    }
    if (sequence == "to_zero") {
      physics().source().to_zero(setting("ramp_s", 1.0), now_ns());
    }
    return true;
  }
  double positive(char const* quantity, double value) { return std::max(0.0, errors_.reading(quantity, value)); }
};

class DielectricPanel final : public InstrumentBase {
 public:
  using InstrumentBase::InstrumentBase;

 private:
  std::optional<double> sample(std::string_view name) override {
    auto const& set = physics().dielectric();
    auto const now = now_ns();
    if (name == "at_zero") return set.at_zero(now) ? 1.0 : 0.0;
    if (name == "at_set") return set.at_set(now) ? 1.0 : 0.0;
    if (name == "tripped") return set.tripped() ? 1.0 : 0.0;
    bool const driving = physics().source_on(SourcePath::dielectric) && physics().path() == SourcePath::dielectric;
    if (name == "level") {
      return std::max(0.0, errors_.reading("dielectric_voltage", physics().dielectric_level_v()));
    }
    if (name == "current") {
      return std::max(0.0, errors_.reading("dielectric_current", driving ? physics().output_a() : 0.0));
    }
    if (name == "frequency") return errors_.reading("frequency", set.frequency_hz(now));
    return std::nullopt;
  }
  bool perform(std::string_view sequence) override {
    if (sequence == "set") {
      SupplyOrder order;
      order.volts = setting("level_set", 0.0);
      order.hertz = setting("frequency_set", 60.0);
      order.ramp_s = setting("ramp_s", 10.0);
      order.limit_a = setting("trip_current", 0.0);
      return physics().dielectric().set(order, now_ns());
    }
    if (sequence == "to_zero") {
      physics().dielectric().to_zero(setting("ramp_s", 5.0), now_ns());
    }
    return true;
  }
};

}  // namespace

std::unique_ptr<SimInstrument> make_ac_source(InstrumentPlace const& place) {
  return std::make_unique<AcSourcePanel>(place);
}
std::unique_ptr<SimInstrument> make_dielectric_tester(InstrumentPlace const& place) {
  return std::make_unique<DielectricPanel>(place);
}

}  // namespace benchward::sim
