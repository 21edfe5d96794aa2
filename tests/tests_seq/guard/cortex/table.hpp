// SPDX-License-Identifier: MIT
#pragma once

/// One table, made on the host and on a Cortex-M3 by the same words: what `advance` answers for every reachable state
/// with every finding, request and timer, and what whole turns (`observe`, `judge`, `advance`) come to on random
/// images. Kept as one number a line. Freestanding.

#include "tests_seq/guard/guard.hpp"

namespace benchward::guard::table {

constexpr std::uint32_t start = 2166136261u;
/// FNV-1a over words (public domain; from memory).
constexpr std::uint32_t mixed(std::uint32_t sum, std::uint32_t word) { return (sum ^ word) * 16777619u; }

constexpr std::uint32_t word_of(Machine const& m) {
  return static_cast<std::uint32_t>(m.at) | static_cast<std::uint32_t>(m.stage) << 4 |
         static_cast<std::uint32_t>(m.owed) << 6 | static_cast<std::uint32_t>(m.hold_area) << 8 |
         static_cast<std::uint32_t>(m.second_leads) << 9 | static_cast<std::uint32_t>(m.reset) << 10 |
         static_cast<std::uint32_t>(m.acknowledged) << 11;
}
constexpr Machine machine_of(std::uint32_t word) {
  Machine m;
  m.at = static_cast<GuardState>(word & 15);
  m.stage = static_cast<Stage>(word >> 4 & 3);
  m.owed = static_cast<Owed>(word >> 6 & 3);
  m.hold_area = (word >> 8 & 1) != 0;
  m.second_leads = (word >> 9 & 1) != 0;
  m.reset = (word >> 10 & 1) != 0;
  m.acknowledged = (word >> 11 & 1) != 0;
  return m;
}
constexpr std::uint32_t word_of(Orders const& o) {
  return static_cast<std::uint32_t>(o.coils) | static_cast<std::uint32_t>(o.earth_open) << 2 |
         static_cast<std::uint32_t>(o.resistor) << 3 | static_cast<std::uint32_t>(o.lock) << 4 |
         static_cast<std::uint32_t>(o.red) << 5 | static_cast<std::uint32_t>(o.siren) << 6 |
         static_cast<std::uint32_t>(o.ramp) << 7 | static_cast<std::uint32_t>(o.consent) << 8 |
         static_cast<std::uint32_t>(o.breaker) << 9;
}
constexpr std::uint32_t word_of(Findings const& f) {
  return static_cast<std::uint32_t>(f.hazard) | static_cast<std::uint32_t>(f.permissives) << 2 |
         static_cast<std::uint32_t>(f.contactors) << 4 | static_cast<std::uint32_t>(f.earth) << 7 |
         static_cast<std::uint32_t>(f.low) << 9 | static_cast<std::uint32_t>(f.level) << 11 |
         static_cast<std::uint32_t>(f.direct_done) << 13 | static_cast<std::uint32_t>(f.resistor_on) << 14 |
         static_cast<std::uint32_t>(f.store_empty) << 15 | static_cast<std::uint32_t>(f.reset_edge) << 16;
}

constexpr int finding_words = 4 * 4 * 6 * 4 * 3 * 3 * 16;
/// The n-th of all findings.
constexpr Findings finding(std::uint32_t n) {
  Findings f;
  auto const take = [&n](std::uint32_t count) {
    auto const part = n % count;
    n /= count;
    return part;
  };
  f.hazard = static_cast<Hazard>(take(4));
  f.permissives = static_cast<Permissives>(take(4));
  f.contactors = static_cast<Contactors>(take(6));
  f.earth = static_cast<Earth>(take(4));
  f.low = static_cast<Low>(take(3));
  f.level = static_cast<Level>(take(3));
  f.direct_done = take(2) != 0;
  f.resistor_on = take(2) != 0;
  f.store_empty = take(2) != 0;
  f.reset_edge = take(2) != 0;
  return f;
}

/// Everything that `advance` answers from one machine: findings, requests, both timers idle, running, expired.
inline std::uint32_t line_of(Machine const& machine) {
  auto sum = start;
  for (std::uint32_t n = 0; n < finding_words; ++n) {
    auto const f = finding(n);
    for (int timers = 0; timers < 9; ++timers) {
      Timers const t{static_cast<Timer>(timers % 3), static_cast<Timer>(timers / 3)};
      for (int request = 0; request < request_count; ++request) {
        auto const next = advance(machine, f, static_cast<Request>(request), t);
        sum = mixed(sum, word_of(next.machine) | static_cast<std::uint32_t>(next.cause) << 16 |
                             static_cast<std::uint32_t>(next.restart_bound) << 30 |
                             static_cast<std::uint32_t>(next.restart_dwell) << 31);
        sum = mixed(sum, word_of(next.orders));
      }
    }
  }
  return sum;
}

/// Numerical Recipes' quick generator (from memory); the high half is used.
struct Draw {
  std::uint32_t state;
  std::uint32_t below(std::uint32_t count) {
    state = state * 1664525u + 1013904223u;
    return (state >> 12) % count;
  }
  bool rarely(std::uint32_t one_in) { return below(one_in) == 0; }
};

/// A bench that mostly follows its orders, with a flaw now and then, seen by whole turns.
struct Bench {
  Declaration declaration;
  StepLimits step;
  BenchInputs in;
  Running running;
  std::uint16_t beat = 0;
};

inline void follow(Bench& b, Draw& draw) {
  auto const out = outputs_of(b.running.orders, b.declaration, b.step, b.beat, 0);
  auto& in = b.in;
  in.stop_a = in.stop_b = in.gate_a[0] = in.gate_b[0] = in.chain_closed = in.red_ok = in.siren_ok = true;
  in.source_healthy = in.hooks_home = in.covers_closed = in.ground_ok = in.two_hand = in.area_searched = true;
  in.keys_home = in.crane_clear = in.output_good = in.direct_good = in.breaker_closed = true;
  in.person_inside = in.green_lit = false;
  in.gate_locked[0] = out.lock_gate;
  in.red_lit = out.red;
  in.earth_closed = !out.open_earth;
  in.earth_open = out.open_earth;
  in.resistor_on = out.resistor;
  in.short_closed = !out.open_short;
  bool on = false;
  for (int path = 1; path < max_sources; ++path) {
    auto& source = in.source[path];
    source.first_open = !out.first[path];
    source.second_open = !out.second[path];
    source.isolated = path != static_cast<int>(b.step.source);
    source.store_discharged = true;
    on = on || (out.first[path] && out.second[path]);
  }
  auto const target = on && out.ramp_permitted ? b.step.set_mv : 0;
  in.output_mv += (target - in.output_mv) / 4;
  if (!on || (target == 0 && in.output_mv < b.step.zero_mv)) in.output_mv = 0;
  in.output_ma = in.output_mv / 2000;
  in.direct_ua = on && out.open_short ? b.step.set_ua : 0;
  in.regulator_at_zero = in.output_mv == 0;
  in.voltage_absent = in.output_mv == 0;
  in.watchdog_ms = out.watchdog_ms;
  in.heartbeat_echo = out.heartbeat;
  in.owner_echo = out.owner;
  ++in.scan;
  in.reset_pressed = draw.rarely(6);
  if (!draw.rarely(12)) return;
  bool* const flags[] = {&in.stop_a,
                         &in.stop_b,
                         &in.gate_a[0],
                         &in.gate_b[0],
                         &in.chain_closed,
                         &in.red_ok,
                         &in.siren_ok,
                         &in.red_lit,
                         &in.green_lit,
                         &in.source_healthy,
                         &in.hooks_home,
                         &in.covers_closed,
                         &in.ground_ok,
                         &in.area_searched,
                         &in.keys_home,
                         &in.output_good,
                         &in.direct_good,
                         &in.breaker_closed,
                         &in.person_inside,
                         &in.gate_locked[0],
                         &in.earth_closed,
                         &in.earth_open,
                         &in.resistor_on,
                         &in.short_closed,
                         &in.source[1].first_open,
                         &in.source[1].second_open,
                         &in.source[2].isolated,
                         &in.source[3].store_discharged,
                         &in.regulator_at_zero,
                         &in.voltage_absent};
  constexpr std::uint32_t count = sizeof(flags) / sizeof(flags[0]);
  auto& flag = *flags[draw.below(count)];
  flag = !flag;
  if (draw.rarely(4)) in.output_mv = static_cast<std::int32_t>(draw.below(2000000)) - 20000;
  if (draw.rarely(8)) in.output_ma = static_cast<std::int32_t>(draw.below(40000));
  if (draw.rarely(20)) in.owner_echo = 99;
  if (draw.rarely(20)) in.watchdog_ms = 0;
}

constexpr std::uint32_t sum_of(std::uint32_t sum, Running const& r) {
  sum = mixed(sum, word_of(r.machine));
  sum = mixed(sum, word_of(r.orders) | static_cast<std::uint32_t>(r.cause) << 16);
  sum = mixed(sum, word_of(r.judgement.findings) | static_cast<std::uint32_t>(r.judgement.first) << 20);
  Mask const masks[] = {r.judgement.trips, r.judgement.lockouts, r.judgement.missing};
  for (auto const mask : masks) {
    sum = mixed(mixed(sum, static_cast<std::uint32_t>(mask)), static_cast<std::uint32_t>(mask >> 32));
  }
  auto const& w = r.watch;
  std::uint32_t const times[] = {w.state_ms,    w.bound_ms, w.dwell_ms,     w.age_ms,    w.low_ms,
                                 w.driven_ms,   w.over_ms,  w.energised_ms, w.search_ms, w.earth_wrong_ms,
                                 w.not_open_ms, w.reset_ms, w.gate_openings};
  for (auto const word : times) sum = mixed(sum, word);
  std::int32_t const marks[] = {w.hold_mv, w.down_mv, w.follow_mv, w.rise_mv};
  for (auto const word : marks) sum = mixed(sum, static_cast<std::uint32_t>(word));
  return mixed(sum, static_cast<std::uint32_t>(w.seen_voltage) | static_cast<std::uint32_t>(w.collapsed) << 1 |
                        static_cast<std::uint32_t>(w.apart) << 8);
}

/// `turns` whole turns by this draw. Marks the states that were met in `met`.
inline std::uint32_t turns_of(std::uint32_t seed, std::uint32_t turns, std::uint32_t& met) {
  Draw draw{seed};
  Bench b;
  auto& d = b.declaration;
  d.sources = 0b111110;
  d.owner = 7;
  d.has_relay = draw.rarely(2);
  d.has_chain = d.has_breaker = d.has_red = d.has_green = true;
  d.walk_in = draw.rarely(4);
  d.warning_ms = 300;
  d.dwell_ms = d.low_for_ms = 100;
  d.discharge_ms = 600;
  d.armed_ms = 1500;
  d.highest_mv = 1500000;
  d.highest_ma = 100000;
  auto& s = b.step;
  s.source = static_cast<SourcePath>(1 + draw.below(5));
  bool const direct = s.source == SourcePath::resistance;
  s.stop = direct ? StopWay::direct_current : draw.rarely(2) ? StopWay::dielectric : StopWay::plain;
  s.resolves_low = true;
  s.set_mv = 1000000;
  s.ceiling_mv = 1100000;
  s.low_mv = 1700;
  s.zero_mv = 20000;
  s.quarter_mv = 250000;
  s.seen_mv = 1700;
  s.rise_mv_per_s = draw.rarely(2) ? 8000000 : 0;
  s.trip_ma = 20000;
  s.set_ua = direct ? 1000000 : 0;
  s.longest_ms = 1u << 20;
  auto sum = start;
  for (std::uint32_t turn_number = 0; turn_number < turns; ++turn_number) {
    ++b.beat;
    follow(b, draw);
    auto request = Request::none;
    auto const at = b.running.machine.at;
    met |= 1u << static_cast<int>(at);
    if (at == GuardState::safe_earthed) request = Request::prepare;
    if (at == GuardState::armed) request = b.running.machine.stage == Stage::third ? Request::prepare : Request::close;
    if (at == GuardState::ramp_up && draw.rarely(8)) request = Request::reached;
    if (at == GuardState::hold && draw.rarely(20)) request = draw.rarely(2) ? Request::stop_hold : Request::stop;
    if (at == GuardState::tripped) request = Request::acknowledge;
    if (at == GuardState::lockout && draw.rarely(4)) request = Request::release;
    if (draw.rarely(40)) request = static_cast<Request>(draw.below(request_count));
    Heard const heard{!draw.rarely(50), draw.below(20), draw.rarely(200) ? 700 : 20 + draw.below(60)};
    b.running = turn(b.running, b.in, heard, request, b.beat, d, s);
    sum = sum_of(sum, b.running);
  }
  return sum;
}

}  // namespace benchward::guard::table
