// SPDX-License-Identifier: MIT
#pragma once

/// What every simulated instrument does alike: it keeps its settings, says its serial number, makes errors.

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>

#include "../../drivers/bench/bench.hpp"
#include "../bench/physics.hpp"
#include "channel_errors.hpp"
#include "sim_instrument.hpp"

namespace benchward::sim {

/// What an instrument stands on.
struct InstrumentPlace {
  InstrumentDeclaration const& declaration;
  SimulationParameters const& parameters;
  FaultSet const& faults;
  Physics& physics;
  std::uint64_t seed;
};

class InstrumentBase : public SimInstrument {
 public:
  explicit InstrumentBase(InstrumentPlace const& place)
      : place_(place), errors_(place.declaration.calibration, place.seed) {}

  std::string const& name() const final { return place_.declaration.name; }
  std::string const& role() const final { return place_.declaration.role; }
  double answer_delay_s() const final { return place_.parameters.answer_delay_s; }

  std::optional<double> point(std::string_view name) final {
    if (auto const own = sample(name)) return own;
    auto const kept = numbers_.find(name);
    return kept == numbers_.end() ? std::nullopt : std::optional<double>(kept->second);
  }
  std::optional<std::string> text(std::string_view name) final {
    if (name == "serial") return place_.declaration.serial;
    auto const kept = words_.find(name);
    return kept == words_.end() ? std::nullopt : std::optional<std::string>(kept->second);
  }
  bool write(std::string_view name, double value) final {
    if (name.substr(0, 3) == "do.") return perform(name.substr(3));
    if (auto const taken = take(name, value)) return *taken;
    numbers_[std::string(name)] = value;
    return true;
  }
  bool write_text(std::string_view name, std::string_view value) final {
    words_[std::string(name)] = std::string(value);
    return true;
  }

 protected:
  /// A measured value or bit; nothing: none of that name, or no reading.
  virtual std::optional<double> sample(std::string_view name) = 0;
  /// A sequence of the role ("measure", "to_zero"). False: refused.
  virtual bool perform(std::string_view sequence) = 0;
  /// A setting that has bounds. Nothing: kept as it is. False: refused.
  virtual std::optional<bool> take(std::string_view, double) { return std::nullopt; }

  double setting(std::string_view name, double otherwise) const {
    auto const kept = numbers_.find(name);
    return kept == numbers_.end() ? otherwise : kept->second;
  }
  std::string word(std::string_view name) const {
    auto const kept = words_.find(name);
    return kept == words_.end() ? std::string() : kept->second;
  }
  Physics& physics() { return place_.physics; }
  FaultSet const& faults() const { return place_.faults; }
  SimulationParameters const& parameters() const { return place_.parameters; }
  std::int64_t now_ns() const { return place_.physics.now_ns(); }

  InstrumentPlace place_;
  ChannelErrors errors_;

 private:
  std::map<std::string, double, std::less<>> numbers_;
  std::map<std::string, std::string, std::less<>> words_;
};

std::unique_ptr<SimInstrument> make_ratio_meter(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_resistance_meter(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_power_analyzer(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_ac_source(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_dielectric_tester(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_thermometers(InstrumentPlace const& place);
std::unique_ptr<SimInstrument> make_insulation_meter(InstrumentPlace const& place);

}  // namespace benchward::sim
