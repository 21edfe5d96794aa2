// SPDX-License-Identifier: MIT
#include "drivers/instruments/role_drivers.hpp"

#include <stdexcept>

#include <fmt/format.h>

#include "drivers/roles/connection.hpp"

namespace benchward {
namespace {

/// A terminal, or tied terminals "H2+H3", for both kinds of device: as bits and as the word.
TextValue terminals(std::string const& words) {
  if (words.empty()) return {0.0, ""};
  return {static_cast<double>(terminal_bits({words})), words};
}

TextValue number(double value) { return {value, ""}; }

Number as_number(double value) { return Number(value); }

/// A set value above what the profile says the device gives.
std::optional<Fault> beyond(Device const& device, double value, char const* unit) {
  auto const highest = device.profile().highest;
  if (!highest || value <= *highest) return std::nullopt;
  return device.fault("device.range", "set",
                      fmt::format("{} {} asked, the device gives at most {} {}", value, unit, *highest, unit),
                      "this instrument is too small for the step");
}

ResistanceMeter::Sample resistance_of(DeviceSample const& read) {
  ResistanceMeter::Sample sample;
  sample.volts = read.reading("volts", volts);
  sample.current = read.reading("current", amperes);
  sample.in_compliance = !read.bit("no_compliance");
  return sample;
}

AcSource::State source_state_of(DeviceSample const& read) {
  AcSource::State state;
  state.voltage = read.reading("voltage", volts);
  state.frequency = read.reading("frequency", hertz);
  state.current = read.reading("current", amperes);
  state.at_zero = read.bit("at_zero");
  state.at_set = read.bit("at_set");
  state.tripped = read.bit("tripped");
  state.healthy = read.bit("healthy");
  return state;
}

ThermometerScanner::Sample temperatures_of(DeviceSample const& read) {
  ThermometerScanner::Sample sample;
  sample.top = read.reading("top", celsius);
  sample.bottom = read.reading("bottom", celsius);
  sample.ambient = read.reading("ambient", celsius);
  return sample;
}

DielectricTester::State tester_state_of(DeviceSample const& read) {
  DielectricTester::State state;
  state.level = read.reading("level", volts);
  state.current = read.reading("current", amperes);
  state.frequency = read.reading("frequency", hertz);
  state.at_zero = read.bit("at_zero");
  state.at_set = read.bit("at_set");
  state.tripped = read.bit("tripped");
  return state;
}

InsulationMeter::Sample insulation_of(DeviceSample const& read) {
  InsulationMeter::Sample sample;
  sample.test_voltage = read.reading("test_voltage", volts);
  sample.resistance = read.reading("resistance", ohms);
  return sample;
}

}  // namespace

Task<Answer<RatioMeter::Sample>> ProfiledRatioMeter::measure(Permit const& permit, Request request) {
  auto const watch = permit.watch();
  if (auto const fault = beyond(device_, request.applied.in(volts), "V")) co_return *fault;
  TextValues values;
  try {
    values["feed_from"] = terminals(request.feed_from);
    values["feed_to"] = terminals(request.feed_to);
    values["read_from"] = terminals(request.read_from);
    values["read_to"] = terminals(request.read_to);
    auto const shorted = request.shorted.value_or("");
    auto const dash = shorted.find('-');
    values["short_from"] = terminals(shorted.substr(0, dash));
    values["short_to"] = terminals(dash == std::string::npos ? std::string() : shorted.substr(dash + 1));
  } catch (std::invalid_argument const& error) {
    co_return device_.fault("device.terminal", "select terminals", error.what(), "check the unit's bushings");
  }
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

Task<Answer<Done>> ProfiledRatioMeter::output_off() {
  TextValues none;
  co_return co_await device_.run("output_off", std::move(none), nullptr);
}

Task<Answer<Done>> ProfiledResistanceMeter::select(std::string from, std::string to) {
  TextValues values;
  try {
    values["from"] = terminals(from);
    values["to"] = terminals(to);
  } catch (std::invalid_argument const& error) {
    co_return device_.fault("device.terminal", "select terminals", error.what(), "check the unit's bushings");
  }
  co_return co_await device_.run("select", std::move(values), nullptr);
}

Task<Answer<Done>> ProfiledResistanceMeter::set_current(Permit const& permit, Current current) {
  auto const watch = permit.watch();
  if (auto const fault = beyond(device_, current.in(amperes), "A")) co_return *fault;
  TextValues values;
  values["set_current"] = number(current.in(amperes));
  co_return co_await device_.run("set_current", std::move(values), watch);
}

Task<Answer<ResistanceMeter::Sample>> ProfiledResistanceMeter::read() { return device_.read_as(&resistance_of); }

Task<Answer<Done>> ProfiledResistanceMeter::current_off() {
  TextValues none;
  co_return co_await device_.run("current_off", std::move(none), nullptr);
}

Task<Answer<Done>> ProfiledPowerAnalyzer::set_up(Setup setup) {
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

Task<Answer<PowerSnapshot>> ProfiledPowerAnalyzer::read() {
  if (!setup_)
    co_return device_.fault("device.not-set-up", "read", "no range and wiring has been set",
                            "set the analyser up first");
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

Task<Answer<Done>> ProfiledAcSource::set(Permit const& permit, Setting setting) {
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

Task<Answer<Done>> ProfiledAcSource::to_zero(Duration ramp) {
  TextValues values;
  values["ramp_s"] = number(ramp.in(seconds));
  co_return co_await device_.run("to_zero", std::move(values), nullptr);
}

Task<Answer<AcSource::State>> ProfiledAcSource::read() { return device_.read_as(&source_state_of); }

Task<Answer<ThermometerScanner::Sample>> ProfiledThermometerScanner::read() {
  return device_.read_as(&temperatures_of);
}

Task<Answer<Done>> ProfiledDielectricTester::set(Permit const& permit, Setting setting) {
  auto const watch = permit.watch();
  if (auto const fault = beyond(device_, setting.level.in(volts), "V")) co_return *fault;
  TextValues values;
  values["level_set"] = number(setting.level.in(volts));
  values["frequency_set"] = number(setting.frequency.in(hertz));
  values["ramp_s"] = number(setting.ramp.in(seconds));
  values["trip_current"] = number(setting.trip_current.in(amperes));
  co_return co_await device_.run("set", std::move(values), watch);
}

Task<Answer<Done>> ProfiledDielectricTester::to_zero(Duration ramp) {
  TextValues values;
  values["ramp_s"] = number(ramp.in(seconds));
  co_return co_await device_.run("to_zero", std::move(values), nullptr);
}

Task<Answer<DielectricTester::State>> ProfiledDielectricTester::read() { return device_.read_as(&tester_state_of); }

Task<Answer<Done>> ProfiledInsulationMeter::start(Permit const& permit, Voltage test_voltage) {
  auto const watch = permit.watch();
  if (auto const fault = beyond(device_, test_voltage.in(volts), "V")) co_return *fault;
  TextValues values;
  values["test_voltage_set"] = number(test_voltage.in(volts));
  co_return co_await device_.run("start", std::move(values), watch);
}

Task<Answer<InsulationMeter::Sample>> ProfiledInsulationMeter::read() { return device_.read_as(&insulation_of); }

Task<Answer<Done>> ProfiledInsulationMeter::stop_and_discharge() {
  TextValues none;
  co_return co_await device_.run("stop", std::move(none), nullptr);
}

}  // namespace benchward
