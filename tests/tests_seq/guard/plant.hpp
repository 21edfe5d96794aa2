// SPDX-License-Identifier: MIT
#pragma once

/// A small bench in memory for the guard's tests: contactors, earth and regulator with their delays, faults by hand.
/// Moves by the time of the exchange; nothing sleeps. It is the tests' own; the simulator's bench is another.

#include <algorithm>
#include <cstdint>

#include "drivers/bench/bench_io.hpp"
#include "judge_checks.hpp"

namespace benchward::guard::proof {

struct Plant final : BenchLink {
  // what a person and the faults do
  bool stop_pressed = false, gate_open = false, reset_pressed = false, person_inside = false, searched = true;
  bool relay = false;  ///< the voltage relay works
  bool weld_first = false, weld_second = false, earth_stuck = false, channel_dead = false, current_dead = false,
       channel_bad = false;
  bool dead_link = false, regulator_stuck = false, resistor_broken = false, short_stuck_open = false;
  bool store_charged = false, chain_cut = false;
  std::uint16_t foreign = 0;
  std::int32_t target_mv = 1'000'000;  ///< of the source while it may ramp
  std::int32_t target_ua = 1'000'000;
  std::int32_t load_ma = 500;
  double ramp_per_ms = 1'000'000 / 500.0;  ///< full volts in half a second

  // what is there
  double volts_mv = 0, current_ua = 0;
  int closing_ms[6][2] = {}, opening_ms[6][2] = {};
  bool closed[6][2] = {};
  int earth_ms = 0;  ///< 0 closed, 500 open
  int resistor_ms = 0;
  std::int64_t last_ms = 0;
  std::uint16_t scan = 0;
  BenchOutputs out;
  bool earth_on_live = false, open_under_volts = false, unlocked_live = false;  ///< dangerous moments
  int exchanges = 0;
  int answer_late_ms = 0;
  Declaration declaration = full_bench();
  int path = 1;

  bool live() const {
    for (auto const& pair : closed) {
      if (pair[0] && pair[1]) return true;
    }
    return false;
  }

  /// The hard-wired chain: drops contactors, lets earth and short close, whatever is ordered.
  bool chain() const { return !stop_pressed && !gate_open && !chain_cut; }

  void move(int ms) {
    if (!chain()) {
      for (int p = 1; p < 6; ++p) out.first[p] = out.second[p] = false;
      out.open_short = false;
      if (!live()) out.open_earth = false;  // cross-interlock with closed contactors
    }
    for (int p = 1; p < 6; ++p) {
      bool const ordered[2] = {out.first[p], out.second[p]};
      for (int k = 0; k < 2; ++k) {
        bool const weld = p == path && (k == 0 ? weld_first : weld_second);
        closing_ms[p][k] = ordered[k] ? closing_ms[p][k] + ms : 0;
        opening_ms[p][k] = ordered[k] ? 0 : opening_ms[p][k] + ms;
        if (closing_ms[p][k] >= 60) closed[p][k] = true;
        if (opening_ms[p][k] >= 50 && !weld) closed[p][k] = false;
        if (ordered[k]) path = p;
      }
    }
    bool const was_open = earth_ms >= 500;
    if (!earth_stuck) earth_ms = std::clamp(earth_ms + (out.open_earth ? ms : -ms), 0, 500);
    if (was_open && earth_ms < 500 && live()) earth_on_live = true;
    resistor_ms = out.resistor && !resistor_broken ? resistor_ms + ms : 0;
    double const goal = out.ramp_permitted ? target_mv : 0;
    if (!regulator_stuck) {
      double const step = ramp_per_ms * ms;
      volts_mv = volts_mv < goal ? std::min(goal, volts_mv + step) : std::max(goal, volts_mv - step);
    }
    bool const short_closed = !out.open_short && !short_stuck_open;
    if (path == 3) {
      double const direct = live() && !short_closed && out.ramp_permitted ? target_ua : 0;
      current_ua += (direct - current_ua) * std::min(1.0, ms / 300.0);
    }
    if (!out.lock_gate && (live() || earth_ms > 0)) unlocked_live = true;
  }

  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override {
    auto const now_ms = now_ns / 1'000'000;
    Exchange answer;
    ++exchanges;
    if (dead_link) {
      move(static_cast<int>(now_ms - last_ms));  // the block holds what it had until its own watchdog
      last_ms = now_ms;
      answer.ok = false;
      return answer;
    }
    move(static_cast<int>(now_ms - last_ms));
    last_ms = now_ms;
    out = outputs;
    answer.ok = true;
    answer.took_ns = answer_late_ms * std::int64_t{1'000'000};
    auto& in = answer.inputs;
    in = healthy_image(GuardState::safe_earthed, declaration, full_step());
    in.stop_a = in.stop_b = !stop_pressed;
    in.gate_a[0] = in.gate_b[0] = !gate_open;
    in.gate_locked[0] = out.lock_gate && !gate_open;
    in.gate_locked[1] = out.lock_gate;
    in.chain_closed = chain();
    in.reset_pressed = reset_pressed;
    in.person_inside = person_inside;
    in.area_searched = searched;
    in.earth_closed = earth_ms == 0;
    in.earth_open = earth_ms == 500;
    in.resistor_on = resistor_ms >= 50;
    in.red_lit = out.red;
    for (int p = 1; p < 6; ++p) {
      in.source[p].first_open = !closed[p][0];
      in.source[p].second_open = !closed[p][1];
    }
    in.source[1].store_discharged = !store_charged;
    in.regulator_at_zero = volts_mv <= 0.5;
    bool const on = path != 3 && live();
    double const there = on ? volts_mv : 0;
    in.voltage_absent = relay && there < 100;
    in.output_mv = channel_dead ? 0 : static_cast<std::int32_t>(there);
    in.output_ma = on && !current_dead ? static_cast<std::int32_t>(load_ma * volts_mv / 1e6) : 0;
    in.output_good = !channel_bad;
    in.direct_ua = static_cast<std::int32_t>(current_ua);
    in.short_closed = !out.open_short && !short_stuck_open;
    in.breaker_closed = !out.trip_breaker;
    in.watchdog_ms = out.watchdog_ms;
    in.heartbeat_echo = out.heartbeat;
    in.owner_echo = foreign != 0 ? foreign : out.owner;
    in.scan = ++scan;
    in.challenge_answer = simulated_answer(out.challenge);
    return answer;
  }
};

}  // namespace benchward::guard::proof
