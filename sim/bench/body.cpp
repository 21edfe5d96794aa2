// SPDX-License-Identifier: MIT
#include "sim/bench/body.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"
#include "sim/faults/fault_list.hpp"
#include "sim/faults/unit_defects.hpp"
#include "sim/unit/random.hpp"

namespace benchward::sim {
namespace {

constexpr int ac = static_cast<int>(SourcePath::ac_source);
constexpr int dielectric = static_cast<int>(SourcePath::dielectric);
constexpr double current_hold_s = 0.1;  // the transducer's averaging time: a spike stays visible for one

FaultSet faults_of(std::vector<FaultRequest> const& requests, Unit const& unit) {
  FaultSet faults;
  for (auto const& request : requests) {
    auto const why = faults.set(request.name, request.value);
    if (!why.empty()) throw DocumentError("fault.unknown", "--fault", "", why);
    auto const& fault = *find_fault(request.name);
    if (!applies_to(fault, unit)) {
      throw DocumentError("fault.not-of-this-unit", "--fault", "",
                          fmt::format("\"{}\" is a fault of units that are: {}; this one is not ({})", fault.name,
                                      fmt::join(fault.applies_to, ", "), unit.design));
    }
  }
  return faults;
}

Unit on_the_bench(Unit unit, FaultSet const& faults) {
  if (faults.on("other-unit-on-bench")) {
    double const share = faults.value_or("other-unit-on-bench", 100.0) / 100.0;
    unit.hv.rated = unit.hv.rated * share;
    if (unit.hv.dual) {
      unit.hv.dual->lower = unit.hv.dual->lower * share;
      unit.hv.dual->higher = unit.hv.dual->higher * share;
    }
    unit.hv.turns.reset();
  }
  return unit;
}

std::int32_t counts_of(double value, double least_count) {
  double const step = std::max(least_count, 1.0);
  double const rounded = std::floor(std::abs(value) / step + 0.5) * step;
  return static_cast<std::int32_t>(std::min(rounded, 2.0e9));
}

/// What is true of this bench and in no document: a bar is never clamped as it was when its figures were taken.
SimulationParameters drawn(SimulationParameters parameters, std::uint64_t seed) {
  constexpr double bar_sigma = 0.10;
  if (!parameters.true_bar_deviation) {
    parameters.true_bar_deviation = RandomStream(seed * 0xA24BAED4963EE407ull + 1).spread(0.0, bar_sigma);
  }
  return parameters;
}

}  // namespace

SimBench::Body::Body(Bench const& bench_document, Unit const& unit, Options const& options)
    : bench(bench_document),
      parameters(drawn(read_simulation_parameters(bench), options.seed)),
      faults(faults_of(options.faults, unit)),
      seed(options.seed),
      physics(bench, on_the_bench(unit, faults), parameters, faults, Manufacture{options.seed, options.as_declared}),
      hardware(bench, parameters, faults),
      danger(bench, parameters, faults),
      instruments(bench, parameters, faults, physics, options.seed),
      random_(options.seed * 0x2545F4914F6CDD1Dull + 7u) {
  transducer_v_gain_ = 1.0 + 0.002 * normal_(random_);
  transducer_a_gain_ = 1.0 + 0.003 * normal_(random_);
  apply_unit_faults();
  settle();
}

void SimBench::Body::apply_unit_faults() {
  auto const why = set_unit_defects(physics.model(), faults);
  if (!why.empty()) throw DocumentError("fault.not-of-this-unit", "--fault", "", why);
  if (auto const& breaker = physics.unit().breaker; breaker && faults.on("breaker-left-open")) {
    physics.model().set_accessory(breaker->name, "open");
  }
  physics.faults_changed();
}

void SimBench::Body::share() {
  for (int source = 1; source < max_sources; ++source) {
    hardware.regulator_at_zero[static_cast<std::size_t>(source)] = physics.at_zero(static_cast<SourcePath>(source));
  }
}

void SimBench::Body::settle() {
  share();
  hardware.settle(now_ns);
  std::array<bool, max_sources> on{};
  for (int source = 1; source < max_sources; ++source)
    on[static_cast<std::size_t>(source)] = hardware.source_on(source);
  CircuitSwitches switches;
  switches.earth_closed = hardware.earth_fully_closed();
  switches.resistor_on = hardware.resistor_on();
  switches.short_closed = hardware.short_closed();
  physics.set_switches(on, switches);
  physics.ramp_permitted(hardware.ramp_permitted());
  bool const high_power = on[ac] || on[dielectric];
  if (!high_power) {
    closed_since_ns_ = -1;
  } else if (closed_since_ns_ < 0) {
    closed_since_ns_ = now_ns;
  }
}

bool SimBench::Body::live_since_closing(double seconds) const {
  return closed_since_ns_ >= 0 && now_ns - closed_since_ns_ >= to_ns(seconds);
}

std::int64_t SimBench::Body::next_timed_event() const {
  if (closed_since_ns_ < 0) return never_ns;
  std::int64_t next = never_ns;
  for (char const* name : {"gate-opened", "estop-pressed", "supply-fails"}) {
    if (!faults.on(name)) continue;
    auto const at = closed_since_ns_ + to_ns(faults.value_or(name, 0.0));
    if (at > now_ns) next = std::min(next, at);
  }
  return next;
}

void SimBench::Body::timed_events() {
  if (!faults.on("gate-opened")) {
    gate_escape_done_ = false;
  } else if (!gate_escape_done_ && live_since_closing(faults.value_or("gate-opened", 0.0))) {
    gate_escape_done_ = true;
    hardware.set_gate(true, now_ns);
  }
  if (!faults.on("estop-pressed")) {
    stop_done_ = false;
  } else if (!stop_done_ && live_since_closing(faults.value_or("estop-pressed", 0.0))) {
    stop_done_ = true;
    hardware.press_stop(now_ns);
  }
  if (faults.on("supply-fails") && live_since_closing(faults.value_or("supply-fails", 0.0))) {
    physics.source().set_supply(false);
    physics.dielectric().set_supply(false);
  } else if (!faults.on("supply-fails")) {
    physics.source().set_supply(true);
    physics.dielectric().set_supply(true);
  }
}

void SimBench::Body::advance_to(std::int64_t target_ns) {
  while (now_ns < target_ns) {
    std::int64_t const next = std::min(
        {target_ns, std::max(now_ns + 1, hardware.next_event_ns()), physics.next_event_ns(), next_timed_event()});
    physics.advance(next);
    now_ns = next;
    share();
    hardware.advance(now_ns);
    timed_events();
    settle();
    if (physics.output_a() >= held_a_ || now_ns - held_ns_ > to_ns(current_hold_s)) {
      held_a_ = physics.output_a();
      held_ns_ = now_ns;
    }
    danger.watch(hardware, physics, now_ns);
  }
}

double SimBench::Body::noise(double sigma) { return sigma > 0.0 ? sigma * normal_(random_) : 0.0; }

BenchInputs SimBench::Body::inputs() {
  BenchInputs in{};
  hardware.fill(in, now_ns);
  auto const path = physics.path();
  in.regulator_at_zero = physics.at_zero(path);
  auto const& supply = path == SourcePath::dielectric ? physics.dielectric() : physics.source();
  in.source_healthy = supply.healthy();
  double const true_v = physics.output_v();
  in.voltage_absent = true_v < parameters.voltage_relay_v || faults.on("voltage-relay-stuck");
  for (int source = 1; source < max_sources; ++source) {
    bool left_on = source == static_cast<int>(SourcePath::ratio) && faults.on("meter-left-on-hv");
    bool const in_use = static_cast<SourcePath>(source) == path;
    in.source[source].isolated = !left_on && !in_use;
    in.source[source].store_discharged = source != ac || physics.store_discharged();
  }
  double const sigma = bench.io.output_noise_v + faults.value_or("voltage-channel-noisy", 0.0);
  double const volts = faults.on("voltage-channel-dead") ? 0.0 : true_v * transducer_v_gain_ + noise(sigma);
  double const amperes =
      faults.on("current-channel-dead") ? 0.0 : std::max(held_a_, physics.output_a()) * transducer_a_gain_;
  in.output_mv = counts_of(volts * 1e3, bench.io.output_least_count_v * 1e3);
  in.output_ma = counts_of(amperes * 1e3, 1.0);
  in.direct_ua = counts_of(physics.direct_a() * 1e6, 1.0);
  in.output_good = in.direct_good = true;
  in.seed_high = static_cast<std::uint16_t>((seed >> 16) & 0xFFFFu);
  in.seed_low = static_cast<std::uint16_t>(seed & 0xFFFFu);
  return in;
}

bool SimBench::Body::terminals_exist(Connection const& connection, std::string& why) const {
  auto const good = [&](std::string const& name) {
    if (name == "tank" || physics.model().has_terminal(name)) return true;
    why = fmt::format("the unit has no terminal {}", name);
    return false;
  };
  for (auto const* groups : {&connection.feed, &connection.measure, &connection.tie, &connection.short_bar}) {
    for (auto const& group : *groups) {
      if (!std::all_of(group.begin(), group.end(), good)) return false;
    }
  }
  return std::all_of(connection.earth.begin(), connection.earth.end(), good);
}

std::string SimBench::Body::lay(Connection connection) {
  std::string why;
  if (!terminals_exist(connection, why)) return why;
  danger.hands_moved(hardware, physics, "leads moved", now_ns);
  physics.set_wiring(std::move(connection), true);
  settle();
  return {};
}

}  // namespace benchward::sim
