// SPDX-License-Identifier: MIT
#include "tests_seq/guard/guard.hpp"

namespace benchward::guard {
namespace {

constexpr Timer timer(std::uint32_t elapsed_ms, std::uint32_t duration_ms) {
  if (duration_ms == 0) return Timer::idle;
  return elapsed_ms >= duration_ms ? Timer::expired : Timer::running;
}

}  // namespace

std::uint32_t bound_of(Machine const& m, Declaration const& bench, StepLimits const& step, Watch const& watch) {
  auto const discharge = bench.discharge_ms + dwell_of(m, bench, step, watch);
  switch (m.at) {
    case GuardState::unknown:
      return discharge + bench.travel_ms + bench.discharge_ms / 4;
    case GuardState::safe_earthed:
      return 0;
    case GuardState::securing:
      return bench.search_ms;
    case GuardState::warning:
      return bench.warning_ms;
    case GuardState::armed:
      return m.stage == Stage::first ? bench.travel_ms : bench.armed_ms;
    case GuardState::closing:
      return bench.pick_up_ms;
    case GuardState::ramp_up:
      return 0;
    case GuardState::hold:
      return 0;
    case GuardState::ramp_down:
      if (m.stage == Stage::first) return bench.ramp_down_ms;
      return m.stage == Stage::fourth ? bench.discharge_ms : bench.drop_out_ms;
    case GuardState::discharge:
      return discharge;
    case GuardState::earthing:
      return bench.travel_ms;
    case GuardState::tripped:
      return discharge;
    case GuardState::lockout:
      return discharge;
  }
  return 0;
}

std::uint32_t dwell_of(Machine const& m, Declaration const& bench, StepLimits const& step, Watch const& watch) {
  // Rule 13: after a restart nothing is known of what was applied; the resistor gets its full time.
  if (m.at == GuardState::unknown) return bench.discharge_ms;
  // I31: four times the time for which the direct voltage was applied (it recharges).
  if (step.source == SourcePath::insulation) {
    auto const applied = watch.energised_ms > 900000u ? 900000u : watch.energised_ms;
    return 4u * applied > bench.dwell_ms ? 4u * applied : bench.dwell_ms;
  }
  return bench.dwell_ms;  // I30
}

BenchOutputs outputs_of(Orders const& orders, Declaration const& bench, StepLimits const& step, std::uint16_t heartbeat,
                        std::uint16_t challenge) {
  BenchOutputs out;
  auto const path = static_cast<int>(step.source);
  if (path > 0 && path < max_sources) {
    out.first[path] = orders.coils == Coils::first || orders.coils == Coils::both;
    out.second[path] = orders.coils == Coils::second || orders.coils == Coils::both;
  }
  out.open_earth = orders.earth_open;
  out.resistor = orders.resistor;
  out.lock_gate = orders.lock;
  out.red = orders.red;
  out.siren = orders.siren;
  out.ramp_permitted = orders.ramp;
  out.open_short = orders.consent && step.source == SourcePath::resistance;  // I29: closed in every other moment
  out.trip_breaker = orders.breaker;
  out.heartbeat = heartbeat;
  out.owner = bench.owner;
  out.watchdog_ms = bench.watchdog_ms;
  out.live_terminals = step.live_terminals;
  out.earthed_terminals = step.earthed_terminals;
  out.challenge = challenge;
  return out;
}

Running turn(Running const& before, BenchInputs const& in, Heard heard, Request request, std::uint16_t heartbeat,
             Declaration const& bench, StepLimits const& step) {
  Running now;
  now.watch = observe(before.watch, in, heard, before.machine, before.orders, heartbeat, bench, step);
  now.judgement = judge(in, now.watch, bench, step, before.machine, before.orders);
  Timers const timers{timer(now.watch.bound_ms, bound_of(before.machine, bench, step, now.watch)),
                      timer(now.watch.dwell_ms, dwell_of(before.machine, bench, step, now.watch))};
  auto const next = advance(before.machine, now.judgement.findings, request, timers);
  if (next.restart_bound) now.watch.bound_ms = 0;
  if (next.restart_dwell) now.watch.dwell_ms = 0;
  now.machine = next.machine;
  now.orders = next.orders;
  now.cause = next.cause;
  return now;
}

}  // namespace benchward::guard
