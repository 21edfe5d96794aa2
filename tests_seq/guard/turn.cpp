// SPDX-License-Identifier: MIT
#include "tests_seq/guard/guard.hpp"

namespace benchward::guard {
namespace {

constexpr Timer timer(std::uint32_t elapsed_ms, std::uint32_t duration_ms) {
  if (duration_ms == 0) return Timer::idle;
  return elapsed_ms >= duration_ms ? Timer::expired : Timer::running;
}

}  // namespace

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
