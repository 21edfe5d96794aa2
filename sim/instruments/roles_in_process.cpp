// SPDX-License-Identifier: MIT
#include "sim/instruments/roles_in_process.hpp"

#include <optional>
#include <utility>

#include <fmt/format.h>

#include "sim/instruments/in_process_device.hpp"

namespace benchward::sim {
namespace {

TextValue terminals(std::string words) { return TextValue{0.0, std::move(words)}; }
TextValue number(double value) { return TextValue{value, ""}; }
Number as_number(double value) { return Number(value); }

std::optional<Fault> beyond(InProcessDevice const& device, double value, char const* unit) {
  auto const highest = device.profile().highest;
  if (!highest || value <= *highest) return std::nullopt;
  return device.fault("device.range", "set",
                      fmt::format("{} {} asked, the device gives at most {} {}", value, unit, *highest, unit),
                      "this instrument is too small for the step");
}

/// What every role does alike.
template <class Role>
class InProcess : public Role {
 public:
  explicit InProcess(InProcessDevice device) : device_(std::move(device)) {}
  std::string name() const override { return device_.name(); }
  Task<Answer<Identity>> identify() override { return device_.identify(); }

 protected:
  Task<Answer<Done>> order(std::string sequence) {
    TextValues none;
    return device_.run(std::move(sequence), std::move(none), nullptr);
  }
  InProcessDevice device_;
};

class InProcessRatioMeter final : public InProcess<RatioMeter> {
 public:
  using InProcess::InProcess;
  Voltage highest_applied() const override { return volts(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Sample>> measure(Permit const& permit, Request request) override {
    auto const watch = permit.watch();
    if (auto const fault = beyond(device_, request.applied.in(volts), "V")) co_return *fault;
    TextValues values;
    values["feed_from"] = terminals(request.feed_from);
    values["feed_to"] = terminals(request.feed_to);
    values["read_from"] = terminals(request.read_from);
    values["read_to"] = terminals(request.read_to);
    auto const shorted = request.shorted.value_or("");
    auto const dash = shorted.find('-');
    values["short_from"] = terminals(shorted.substr(0, dash));
    values["short_to"] = terminals(dash == std::string::npos ? std::string() : shorted.substr(dash + 1));
    values["applied_set"] = number(request.applied.in(volts));
    auto const done = co_await device_.run("measure", std::move(values), watch);
    if (!done.ok()) co_return done.error();
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    auto const& read = answer.value();
    Sample sample;
    sample.applied = read.reading("applied", volts);
    sample.read = read.reading("read", volts);
    sample.ratio = read.reading("ratio", as_number);
    sample.phase = read.reading("phase", radians);
    sample.exciting_current = read.reading("exciting_current", amperes);
    co_return sample;
  }
  Task<Answer<Done>> output_off() override { return order("output_off"); }
};

class InProcessResistanceMeter final : public InProcess<ResistanceMeter> {
 public:
  using InProcess::InProcess;
  Current highest_current() const override { return amperes(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Done>> select(std::string from, std::string to) override {
    TextValues values;
    values["from"] = terminals(std::move(from));
    values["to"] = terminals(std::move(to));
    return device_.run("select", std::move(values), nullptr);
  }
  Task<Answer<Done>> set_current(Permit const& permit, Current current) override {
    auto const watch = permit.watch();
    if (auto const fault = beyond(device_, current.in(amperes), "A")) co_return *fault;
    TextValues values;
    values["set_current"] = number(current.in(amperes));
    co_return co_await device_.run("set_current", std::move(values), watch);
  }
  Task<Answer<Sample>> read() override {
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    Sample sample;
    sample.volts = answer.value().reading("volts", benchward::volts);
    sample.current = answer.value().reading("current", amperes);
    sample.in_compliance = !answer.value().bit("no_compliance");
    co_return sample;
  }
  Task<Answer<Done>> current_off() override { return order("current_off"); }
};

class InProcessPowerAnalyzer final : public InProcess<PowerAnalyzer> {
 public:
  using InProcess::InProcess;
  Task<Answer<Done>> set_up(Setup setup) override {
    TextValues values;
    values["wiring"] = number(static_cast<double>(static_cast<int>(setup.wiring)));
    values["voltage_range"] = number(setup.expected_voltage.in(volts));
    values["current_range"] = number(setup.expected_current.in(amperes));
    values["expected_frequency"] = number(setup.frequency.in(hertz));
    setup_.reset();
    auto const done = co_await device_.run("set_up", std::move(values), nullptr);
    if (done.ok()) setup_ = setup;
    co_return done;
  }
  Task<Answer<PowerSnapshot>> read() override {
    if (!setup_) {
      co_return device_.fault("device.not-set-up", "read", "no range and wiring has been set",
                              "set the analyser up first");
    }
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    auto const& read = answer.value();
    PowerSnapshot snapshot;
    bool const single = setup_->wiring == Wiring::single_phase;
    snapshot.star_point = single                                          ? "single_phase"
                          : setup_->wiring == Wiring::three_phase_neutral ? "neutral"
                                                                          : "floating";
    for (int element = 1; element <= (single ? 1 : 3); ++element) {
      auto const n = "." + std::to_string(element);
      snapshot.volts_rms.push_back(read.reading("volts_rms" + n, volts));
      snapshot.volts_average.push_back(read.reading("volts_average" + n, volts));
      snapshot.amperes.push_back(read.reading("amperes" + n, amperes));
      snapshot.active.push_back(read.reading("active" + n, watts));
    }
    snapshot.frequency = read.reading("frequency", hertz);
    co_return snapshot;
  }

 private:
  std::optional<Setup> setup_;
};

class InProcessAcSource final : public InProcess<AcSource> {
 public:
  using InProcess::InProcess;
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override {
    auto const watch = permit.watch();
    if (auto const fault = beyond(device_, setting.voltage.in(volts), "V")) co_return *fault;
    TextValues values;
    values["voltage_set"] = number(setting.voltage.in(volts));
    values["frequency_set"] = number(setting.frequency.in(hertz));
    values["phases_set"] = number(setting.phases);
    values["current_limit"] = number(setting.current_limit.in(amperes));
    values["ramp_s"] = number(setting.ramp.in(seconds));
    co_return co_await device_.run("set", std::move(values), watch);
  }
  Task<Answer<Done>> to_zero(Duration ramp) override {
    TextValues values;
    values["ramp_s"] = number(ramp.in(seconds));
    return device_.run("to_zero", std::move(values), nullptr);
  }
  Task<Answer<State>> read() override {
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    auto const& read = answer.value();
    State state;
    state.voltage = read.reading("voltage", volts);
    state.frequency = read.reading("frequency", hertz);
    state.current = read.reading("current", amperes);
    state.at_zero = read.bit("at_zero");
    state.at_set = read.bit("at_set");
    state.tripped = read.bit("tripped");
    state.healthy = read.bit("healthy");
    co_return state;
  }
};

class InProcessThermometerScanner final : public InProcess<ThermometerScanner> {
 public:
  using InProcess::InProcess;
  Task<Answer<Sample>> read() override {
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    Sample sample;
    sample.top = answer.value().reading("top", celsius);
    sample.bottom = answer.value().reading("bottom", celsius);
    sample.ambient = answer.value().reading("ambient", celsius);
    co_return sample;
  }
};

class InProcessDielectricTester final : public InProcess<DielectricTester> {
 public:
  using InProcess::InProcess;
  Voltage highest_level() const override { return volts(device_.profile().highest.value_or(0.0)); }
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override {
    auto const watch = permit.watch();
    if (auto const fault = beyond(device_, setting.level.in(volts), "V")) co_return *fault;
    TextValues values;
    values["level_set"] = number(setting.level.in(volts));
    values["frequency_set"] = number(setting.frequency.in(hertz));
    values["ramp_s"] = number(setting.ramp.in(seconds));
    values["trip_current"] = number(setting.trip_current.in(amperes));
    co_return co_await device_.run("set", std::move(values), watch);
  }
  Task<Answer<Done>> to_zero(Duration ramp) override {
    TextValues values;
    values["ramp_s"] = number(ramp.in(seconds));
    return device_.run("to_zero", std::move(values), nullptr);
  }
  Task<Answer<State>> read() override {
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    auto const& read = answer.value();
    State state;
    state.level = read.reading("level", volts);
    state.current = read.reading("current", amperes);
    state.frequency = read.reading("frequency", hertz);
    state.at_zero = read.bit("at_zero");
    state.at_set = read.bit("at_set");
    state.tripped = read.bit("tripped");
    co_return state;
  }
};

class InProcessInsulationMeter final : public InProcess<InsulationMeter> {
 public:
  using InProcess::InProcess;
  Task<Answer<Done>> start(Permit const& permit, Voltage test_voltage) override {
    auto const watch = permit.watch();
    if (auto const fault = beyond(device_, test_voltage.in(volts), "V")) co_return *fault;
    TextValues values;
    values["test_voltage_set"] = number(test_voltage.in(volts));
    co_return co_await device_.run("start", std::move(values), watch);
  }
  Task<Answer<Sample>> read() override {
    auto const answer = co_await device_.sample();
    if (!answer.ok()) co_return answer.error();
    Sample sample;
    sample.test_voltage = answer.value().reading("test_voltage", volts);
    sample.resistance = answer.value().reading("resistance", ohms);
    co_return sample;
  }
  Task<Answer<Done>> stop_and_discharge() override { return order("stop"); }
};

template <class Model, class Role>
void place(std::unique_ptr<Role>& slot, InProcessInstruments& made, InProcessDevice device) {
  auto instrument = std::make_unique<Model>(std::move(device));
  made.all.push_back(instrument.get());
  if (!slot) slot = std::move(instrument);
}

}  // namespace

InProcessInstruments make_roles(Bench const& bench, SimBench& sim, Clock& clock) {
  InProcessInstruments made;
  for (auto const& declaration : bench.instruments) {
    auto const taken = [&](auto const& slot) { return slot != nullptr; };
    InProcessDevice device(declaration, bench, sim, clock);
    auto const& role = declaration.role;
    if (role == "ratio_meter" && !taken(made.ratio_meter)) {
      place<InProcessRatioMeter>(made.ratio_meter, made, std::move(device));
    } else if (role == "resistance_meter" && !taken(made.resistance_meter)) {
      place<InProcessResistanceMeter>(made.resistance_meter, made, std::move(device));
    } else if (role == "power_analyzer" && !taken(made.power_analyzer)) {
      place<InProcessPowerAnalyzer>(made.power_analyzer, made, std::move(device));
    } else if (role == "ac_source" && !taken(made.ac_source)) {
      place<InProcessAcSource>(made.ac_source, made, std::move(device));
    } else if (role == "thermometer_scanner" && !taken(made.thermometer_scanner)) {
      place<InProcessThermometerScanner>(made.thermometer_scanner, made, std::move(device));
    } else if (role == "dielectric_tester" && !taken(made.dielectric_tester)) {
      place<InProcessDielectricTester>(made.dielectric_tester, made, std::move(device));
    } else if (role == "insulation_meter" && !taken(made.insulation_meter)) {
      place<InProcessInsulationMeter>(made.insulation_meter, made, std::move(device));
    }
  }
  return made;
}

}  // namespace benchward::sim
