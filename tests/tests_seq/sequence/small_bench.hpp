// SPDX-License-Identifier: MIT
#pragma once

/// A small bench in memory for the tests of procedures and sequencer: contactors, earth and one output, with their
/// delays and a few faults by hand; under the real guard. The tests' own: the simulator's bench is another.

#include <algorithm>
#include <cstdint>

#include "drivers/bench/bench_io.hpp"

namespace benchward::testing {

struct SmallBench final : BenchLink {
  // By hand.
  bool stop_pressed = false, gate_open = false, supply_lost = false, dead_link = false;
  bool bypass_key = false;
  bool stuck_mirror = false;  ///< a contactor's mirror contact stays open
  std::int32_t load_ma = 0;   ///< what the guard's own transducer sees; 0: what a sound unit draws

  // Set by the instruments.
  double target_mv = 0, ramp_mv_per_ms = 1e6;
  double target_ua = 0;
  bool source_relay = false;  ///< the source's own over-current relay has acted: supply not healthy

  double volts_mv = 0, current_ua = 0;
  bool closed[max_sources][2] = {};
  int acting_ms[max_sources][2] = {};
  int earth_ms = 0, resistor_ms = 0, path = 1;
  std::int64_t last_ms = 0;
  std::uint16_t scan = 0;
  BenchOutputs out;
  int energisations = 0;
  bool touched_live = false;  ///< gate open while anything was energised or unearthed

  std::int32_t drawn_ma() const { return load_ma != 0 ? load_ma : path == 2 ? 10 : 500; }

  bool live() const {
    return std::any_of(std::begin(closed), std::end(closed), [](auto const& pair) { return pair[0] && pair[1]; });
  }

  void move(int ms) {
    bool const was_live = live();
    for (int p = 1; p < max_sources; ++p) {
      bool const ordered[2] = {out.first[p], out.second[p]};
      for (int k = 0; k < 2; ++k) {
        acting_ms[p][k] = ordered[k] == closed[p][k] ? 0 : acting_ms[p][k] + ms;
        if (acting_ms[p][k] >= 60) closed[p][k] = ordered[k];
        if (ordered[k]) path = p;
      }
    }
    if (live() && !was_live) ++energisations;
    earth_ms = std::clamp(earth_ms + (out.open_earth ? ms : -ms), 0, 500);
    resistor_ms = out.resistor ? resistor_ms + ms : 0;
    bool const may = out.ramp_permitted && live() && !source_relay;
    double const goal = may ? target_mv : 0.0;
    double const step = (may ? ramp_mv_per_ms : std::max(ramp_mv_per_ms, volts_mv / 2000.0 + 1.0)) * ms;
    volts_mv = volts_mv < goal ? std::min(goal, volts_mv + step) : std::max(goal, volts_mv - step);
    double const direct = path == 3 && live() && out.open_short && out.ramp_permitted ? target_ua : 0.0;
    current_ua += (direct - current_ua) * std::min(1.0, ms / 300.0);
    if (gate_open && (live() || earth_ms > 0)) touched_live = true;
  }

  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override {
    auto const now_ms = now_ns / 1'000'000;
    move(static_cast<int>(now_ms - last_ms));
    last_ms = now_ms;
    Exchange answer;
    if (dead_link) {
      // The block's own watchdog cuts.
      out = BenchOutputs();
      return answer;
    }
    out = outputs;
    answer.ok = true;
    auto& in = answer.inputs;
    in.bypass_key = bypass_key;
    in.stop_a = in.stop_b = !stop_pressed;
    for (int gate = 0; gate < max_gates; ++gate) {
      in.gate_a[gate] = in.gate_b[gate] = !gate_open;
      in.gate_locked[gate] = out.lock_gate && !gate_open;
    }
    in.chain_closed = !stop_pressed && !gate_open;
    in.earth_closed = earth_ms == 0;
    in.earth_open = earth_ms == 500;
    in.resistor_on = resistor_ms >= 50;
    in.red_ok = in.siren_ok = true;
    in.red_lit = out.red;
    in.green_lit = !out.red && earth_ms == 0 && !live();
    in.regulator_at_zero = volts_mv <= 0.5;
    in.source_healthy = !supply_lost && !source_relay;
    in.hooks_home = in.keys_home = in.covers_closed = in.area_searched = true;
    in.two_hand = in.ground_ok = in.crane_clear = true;
    in.breaker_closed = !out.trip_breaker;
    for (int p = 1; p < max_sources; ++p) {
      auto& source = in.source[p];
      source.first_open = !closed[p][0];
      source.second_open = !closed[p][1] && !(stuck_mirror && p == path && live());
      if (stuck_mirror && p == path && live()) source.second_open = true;
      source.isolated = source.store_discharged = true;
    }
    bool const on = path != 3 && live();
    double const there = on ? volts_mv : 0.0;
    in.voltage_absent = there < 40.0;
    in.output_mv = static_cast<std::int32_t>(there);
    in.output_ma = on ? drawn_ma() : 0;
    in.direct_ua = static_cast<std::int32_t>(current_ua);
    in.output_good = in.direct_good = true;
    in.short_closed = !out.open_short;
    in.watchdog_ms = out.watchdog_ms;
    in.heartbeat_echo = out.heartbeat;
    in.owner_echo = out.owner;
    in.scan = ++scan;
    in.challenge_answer = simulated_answer(out.challenge);
    return answer;
  }
};

}  // namespace benchward::testing
