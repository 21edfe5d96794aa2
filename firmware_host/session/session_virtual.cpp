// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <boost/asio/io_context.hpp>
#include <charconv>

#include "drivers/time/virtual_clock.hpp"
#include "firmware_host/session/session.hpp"
#include "limits/documents/readings_json.hpp"
#include "sim/bench/in_process_link.hpp"
#include "sim/instruments/roles_in_process.hpp"
#include "sim/wires/control_lines.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/runner.hpp"

namespace benchward {
namespace {

constexpr char const* default_start = "2030-01-01T00:00:00Z";

std::int64_t start_instant(std::string const& text) {
  auto whole = text.empty() ? std::string(default_start) : text;
  // The records' form has microseconds; a person need not type them.
  if (whole.find('.') == std::string::npos && !whole.empty() && whole.back() == 'Z')
    whole.insert(whole.size() - 1, ".000000");
  try {
    return utc_from_text(whole);
  } catch (std::invalid_argument const&) {
    throw SessionError(ExitCode::bad_input,
                       fmt::format("--start: \"{}\" is no UTC instant such as {}", text, default_start));
  }
}

sim::FaultRequest fault_request(std::string const& text) {
  sim::FaultRequest request;
  auto const equals = text.find('=');
  request.name = text.substr(0, equals);
  if (equals != std::string::npos) {
    auto const value = std::string_view(text).substr(equals + 1);
    double number = 0.0;
    auto const read = std::from_chars(value.data(), value.data() + value.size(), number);
    if (read.ec != std::errc() || read.ptr != value.data() + value.size()) {
      throw SessionError(ExitCode::bad_input, fmt::format("--fault {}: \"{}\" is no number", request.name, value));
    }
    request.value = number;
  }
  return request;
}

sim::SimBench::Options simulator_options(VirtualOptions const& options) {
  sim::SimBench::Options simulator;
  simulator.seed = options.seed;
  simulator.as_declared = options.as_declared;
  for (auto const& text : options.faults) simulator.faults.push_back(fault_request(text));
  return simulator;
}

class VirtualSession final : public BenchSession {
 public:
  VirtualSession(Bench const& bench, Unit const& unit, VirtualOptions const& options)
      : seed_(options.seed),
        clock_(start_instant(options.start)),
        simulator_(bench, unit, simulator_options(options)),
        instruments_(sim::make_roles(bench, simulator_, clock_)),
        link_(simulator_),
        // Owner and challenge come from the seed, so that a run repeats to the byte.
        core_(guard_declaration(bench, static_cast<std::uint16_t>((options.seed * 2654435761u) | 1u)), link_,
              static_cast<std::uint16_t>(options.seed * 40503u + 77u)),
        guard_(core_, clock_, bench.guard.period),
        hands_(hands_in_process(simulator_)) {
    roles_.ratio_meter = instruments_.ratio_meter.get();
    roles_.resistance_meter = instruments_.resistance_meter.get();
    roles_.power_analyzer = instruments_.power_analyzer.get();
    roles_.ac_source = instruments_.ac_source.get();
    roles_.thermometer_scanner = instruments_.thermometer_scanner.get();
    roles_.dielectric_tester = instruments_.dielectric_tester.get();
    roles_.insulation_meter = instruments_.insulation_meter.get();
  }

  boost::asio::io_context& io() override { return io_; }
  Clock& clock() override { return clock_; }
  TestRoles const& roles() override { return roles_; }
  CoreDesk& guard() override { return guard_; }
  Hands* hands() override { return hands_.get(); }
  bool virtual_time() const override { return true; }
  std::uint64_t seed() const override { return seed_; }
  std::string boot() const override { return "virtual"; }
  std::string truth() const override {
    return "{\"truth\":" + sim::truth_json(simulator_.truth()) +
           ",\"true_values\":" + sim::true_values_json(simulator_.true_values()) + "}";
  }
  std::vector<std::string> remarks() const override { return {}; }
  std::vector<std::string> dangerous_moments() const override {
    std::vector<std::string> lines;
    for (auto const& moment : simulator_.truth().dangerous_moments)
      lines.push_back(fmt::format("{:.2f} s: {}", moment.at_s, moment.what));
    return lines;
  }
  bool run(std::function<bool()> const& done) override { return clock_.run(io_, done); }

 private:
  std::uint64_t seed_;
  boost::asio::io_context io_{1};
  VirtualClock clock_;  // destroyed before the io_context: waiters are dropped with their coroutines
  sim::SimBench simulator_;
  sim::InProcessInstruments instruments_;
  sim::InProcessLink link_;
  GuardCore core_;
  VirtualGuard guard_;
  std::unique_ptr<Hands> hands_;
  TestRoles roles_;
};

}  // namespace

std::unique_ptr<BenchSession> session_virtual(Bench const& bench, Unit const& unit, VirtualOptions const& options) {
  if (!bench.simulated) {
    throw SessionError(
        ExitCode::bad_input,
        fmt::format("{}: --virtual builds the simulator, and this bench is not marked simulated", bench.file));
  }
  return std::make_unique<VirtualSession>(bench, unit, options);
}

}  // namespace benchward
