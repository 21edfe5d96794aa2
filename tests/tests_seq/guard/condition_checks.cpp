// SPDX-License-Identifier: MIT
#include "judge_subjects.hpp"

#include <fmt/format.h>

namespace benchward::guard::proof {
namespace {

using S = GuardState;

/// All that `judge` looks at.
struct World {
  BenchInputs in;
  Watch watch;
  Declaration bench = full_bench();
  StepLimits step = full_step();
  Machine machine;
  Orders orders;
};

World any_world(Random& random, S state) {
  World w;
  auto const path = static_cast<SourcePath>(1 + number(random, 2));  // the two regulated sources
  w.step = full_step(path);
  w.machine.at = state;
  w.machine.stage = state == S::tripped ? Stage::third : static_cast<Stage>(number(random, 2));
  w.orders = orders_in(state);
  w.in = healthy_image(state, w.bench, w.step);
  auto& in = w.in;
  for (bool* flag : {&in.stop_a,
                     &in.stop_b,
                     &in.gate_a[0],
                     &in.gate_b[1],
                     &in.gate_locked[0],
                     &in.chain_closed,
                     &in.reset_pressed,
                     &in.resistor_on,
                     &in.red_ok,
                     &in.siren_ok,
                     &in.regulator_at_zero,
                     &in.source_healthy,
                     &in.voltage_absent,
                     &in.short_closed,
                     &in.hooks_home,
                     &in.keys_home,
                     &in.covers_closed,
                     &in.area_searched,
                     &in.person_inside,
                     &in.two_hand,
                     &in.ground_ok,
                     &in.output_good,
                     &in.direct_good,
                     &in.source[3].isolated,
                     &in.source[4].store_discharged,
                     &in.source[5].first_open}) {
    if (number(random, 4) == 0) *flag = coin(random);
  }
  in.output_mv = number(random, 1'200'000);
  in.output_ma = number(random, 20'000);
  w.watch.ever = true;
  w.watch.fresh = coin(random);
  w.watch.owner_seen = true;
  w.watch.state_ms = static_cast<std::uint32_t>(number(random, 5000));
  w.watch.low_ms = static_cast<std::uint32_t>(number(random, 3000));
  w.watch.seen_voltage = coin(random);
  w.watch.energised_ms = static_cast<std::uint32_t>(number(random, 4000));
  return w;
}

enum class Level3 { none, lock, opening, closing };

struct Row {
  int condition;
  Level3 needed;         ///< permissive for what
  std::vector<S> trips;  ///< states in which it trips
  bool locks;
  void (*spoil)(World&, Random&);
  void (*mend)(World&);
};

std::vector<S> const live{S::armed, S::closing, S::ramp_up, S::hold, S::ramp_down, S::discharge, S::earthing};
std::vector<S> const live_and_tripped{S::armed,     S::closing,   S::ramp_up,  S::hold,
                                      S::ramp_down, S::discharge, S::earthing, S::tripped};
std::vector<S> const on{S::closing, S::ramp_up, S::hold, S::ramp_down};
std::vector<S> const on_and_tripped{S::closing, S::ramp_up, S::hold, S::ramp_down, S::tripped};
std::vector<S> const no_states{};

void all_gates(World& w, bool closed) {
  for (int gate = 0; gate < 2; ++gate) w.in.gate_a[gate] = w.in.gate_b[gate] = closed;
}

std::vector<Row> const& rows() {
  static std::vector<Row> const list{
      {1, Level3::lock, live_and_tripped, false,
       [](World& w, Random& r) { (coin(r) ? w.in.stop_a : w.in.stop_b) = false; },
       [](World& w) { w.in.stop_a = w.in.stop_b = true; }},
      {2, Level3::lock, live_and_tripped, false,
       [](World& w, Random& r) {
         auto const g = number(r, 2);
         (coin(r) ? w.in.gate_a : w.in.gate_b)[g] = false;
       },
       [](World& w) { all_gates(w, true); }},
      {3, Level3::opening, live_and_tripped, false, [](World& w, Random& r) { w.in.gate_locked[number(r, 2)] = false; },
       [](World& w) { w.in.gate_locked[0] = w.in.gate_locked[1] = true; }},
      {4, Level3::lock, no_states, true,
       [](World& w, Random& r) { w.watch.apart = static_cast<std::uint8_t>(1 + number(r, 7)); },
       [](World& w) { w.watch.apart = 0; }},
      {5, Level3::lock, live_and_tripped, false,
       [](World& w, Random& r) {
         if (coin(r))
           w.in.person_inside = true;
         else
           w.in.keys_home = false;
       },
       [](World& w) {
         w.in.person_inside = false;
         w.in.keys_home = w.in.area_searched = true;
         w.watch.search_ms = 0;
       }},
      {6, Level3::opening, on, false,
       [](World& w, Random& r) {
         w.watch.red_ms = 501;
         if (coin(r))
           w.in.red_ok = false;
         else
           w.in.green_lit = true;
       },
       [](World& w) { w.watch.red_ms = w.watch.siren_ms = 0; }},
      {9, Level3::lock, on, false, [](World& w, Random&) { w.in.hooks_home = false; },
       [](World& w) { w.in.hooks_home = true; }},
      {10, Level3::closing, no_states, false,
       [](World& w, Random& r) {
         auto& s = w.in.source[3 + number(r, 3)];
         (coin(r) ? s.first_open : s.second_open) = false;
       },
       [](World& w) {
         for (auto& s : w.in.source) s.first_open = s.second_open = true;
       }},
      {11, Level3::none, on, false, [](World& w, Random&) { w.watch.not_closed_ms = 301; },
       [](World& w) {
         w.watch.not_closed_ms = 300;
         w.watch.not_open_ms = 0;
       }},
      {13, Level3::closing, no_states, false,
       [](World& w, Random& r) {
         if (coin(r))
           w.in.regulator_at_zero = false;
         else
           w.in.output_mv = w.step.zero_mv + 1;
       },
       [](World& w) {
         w.in.regulator_at_zero = w.in.output_good = true;
         w.in.output_mv = 0;
       }},
      {14,
       Level3::none,
       {S::ramp_up, S::hold, S::ramp_down},
       false,
       [](World& w, Random& r) { (coin(r) ? w.watch.no_volts_ms : w.watch.down_ms) = 2001; },
       [](World& w) {
         w.watch.no_volts_ms = w.watch.down_ms = 0;
         w.watch.hold_mv = w.watch.down_mv = 2'000'000;
       }},
      {15, Level3::none, on, false,
       [](World& w, Random& r) {
         if (coin(r))
           w.watch.over_ms = 101;
         else
           w.watch.collapsed = true;
       },
       [](World& w) {
         w.watch.over_ms = 0;
         w.watch.collapsed = false;
       }},
      {16, Level3::none, on, false,
       [](World& w, Random& r) {
         w.in.output_good = true;
         w.in.output_mv = w.step.ceiling_mv + 1 + number(r, 1000);
       },
       [](World& w) { w.in.output_mv = w.step.ceiling_mv; }},
      {17,
       Level3::none,
       {S::ramp_up, S::hold, S::ramp_down},
       false,
       [](World& w, Random&) {
         w.step.rise_mv_per_s = 100'000;
         w.in.output_good = true;
         w.in.output_mv = 500'000;
         w.watch.rise_mv = 400'000;
       },
       [](World& w) { w.watch.rise_mv = w.in.output_mv; }},
      {18, Level3::lock, on, false, [](World& w, Random&) { w.watch.short_wrong_ms = 501; },
       [](World& w) { w.watch.short_wrong_ms = 0; }},
      {19, Level3::lock, on_and_tripped, false, [](World& w, Random&) { w.in.ground_ok = false; },
       [](World& w) { w.in.ground_ok = true; }},
      {20, Level3::lock, on_and_tripped, false, [](World& w, Random&) { w.in.covers_closed = false; },
       [](World& w) { w.in.covers_closed = true; }},
      {21,
       Level3::closing,
       {S::closing, S::ramp_up, S::hold},
       false,
       [](World& w, Random&) { w.in.two_hand = false; },
       [](World& w) { w.in.two_hand = true; }},
      {22, Level3::lock, live_and_tripped, false,
       [](World& w, Random& r) {
         switch (number(r, 3)) {
           case 0:
             w.in.watchdog_ms = 0;
             break;
           case 1:
             w.watch.beat_ms = 1001;
             break;
           default:
             w.in.owner_echo = 0;
             break;
         }
       },
       [](World& w) {
         w.in.watchdog_ms = 1000;
         w.watch.beat_ms = 0;
         w.in.owner_echo = w.bench.owner;
       }},
      {24, Level3::none, on, false,
       [](World& w, Random& r) {
         switch (number(r, 3)) {
           case 0:
             w.in.output_good = false;
             break;
           case 1:
             w.in.output_mv = -10 * w.bench.noise_mv - 1;
             break;
           default:
             w.in.output_ma = w.bench.highest_ma + 1;
             break;
         }
       },
       [](World& w) {
         w.in.output_good = true;
         w.in.output_mv = 100;
         w.in.output_ma = 10;
       }},
      {26, Level3::lock, on_and_tripped, false,
       [](World& w, Random& r) { (coin(r) ? w.in.source_healthy : w.in.breaker_closed) = false; },
       [](World& w) { w.in.source_healthy = w.in.breaker_closed = true; }},
      {33, Level3::none, on, false, [](World& w, Random&) { w.watch.energised_ms = w.step.longest_ms + 1; },
       [](World& w) { w.watch.energised_ms = w.step.longest_ms; }},
      {34, Level3::lock, on, false, [](World& w, Random& r) { w.in.source[3 + number(r, 3)].isolated = false; },
       [](World& w) {
         for (auto& s : w.in.source) s.isolated = s.first_open = s.second_open = true;
       }},
      {35, Level3::closing, no_states, false,
       [](World& w, Random& r) { w.in.source[1 + number(r, 5)].store_discharged = false; },
       [](World& w) {
         for (auto& s : w.in.source) s.store_discharged = true;
       }},
      {chain_open,
       Level3::opening,
       {S::armed, S::closing, S::ramp_up, S::hold, S::ramp_down, S::discharge},
       false,
       [](World& w, Random&) { w.in.chain_closed = false; },
       [](World& w) { w.in.chain_closed = true; }},
      {8, Level3::none, no_states, true,
       [](World& w, Random& r) {
         if (coin(r))
           w.in.earth_closed = w.in.earth_open = true;
         else
           w.watch.earth_wrong_ms = 2001;
       },
       [](World& w) {
         w.in.earth_closed = true;
         w.in.earth_open = false;
         w.watch.earth_wrong_ms = 2000;
       }},
      {12, Level3::none, no_states, true, [](World& w, Random&) { w.watch.driven_ms = 1001; },
       [](World& w) { w.watch.driven_ms = 1000; }},
      {foreign_owner, Level3::none, no_states, true,
       [](World& w, Random&) {
         w.in.owner_echo = 4711;
         w.watch.foreign_ms = 10;
       },
       [](World& w) {
         w.in.owner_echo = w.bench.owner;
         w.watch.foreign_ms = 0;
       }},
  };
  return list;
}

bool contains(std::vector<S> const& states, S state) {
  for (auto const entry : states) {
    if (entry == state) return true;
  }
  return false;
}

std::string condition_counts(Judging judging, int condition) {
  Random random(static_cast<std::uint64_t>(condition) * 7919 + 1);
  for (auto const& row : rows()) {
    if (row.condition != condition) continue;
    for (int trial = 0; trial < 4000; ++trial) {
      auto const state = static_cast<S>(trial % guard_state_count);
      auto world = any_world(random, state);
      auto broken = world;
      row.spoil(broken, random);
      auto const worse =
          judging.judge(broken.in, broken.watch, broken.bench, broken.step, broken.machine, broken.orders);
      auto const where = fmt::format("in state {} (trial {})", static_cast<int>(state), trial);
      bool const flagged = ((worse.trips | worse.lockouts) & bit(condition)) != 0;
      if (contains(row.trips, state) && !(flagged && worse.findings.hazard >= Hazard::trip))
        return "does not trip " + where;
      if (row.locks && !(flagged && worse.findings.hazard == Hazard::lockout)) return "does not lock out " + where;
      if (!row.locks && !contains(row.trips, state) && (worse.trips & bit(condition)) != 0) return "trips " + where;
      auto const permitted = worse.findings.permissives;
      if (row.needed == Level3::lock && permitted != Permissives::missing)
        return "does not keep the gate unlocked " + where;
      if (row.needed == Level3::opening && permitted > Permissives::lockable) return "lets the earth open " + where;
      if (row.needed == Level3::closing && permitted > Permissives::secured) return "lets a contactor close " + where;
      row.mend(world);
      auto const better = judging.judge(world.in, world.watch, world.bench, world.step, world.machine, world.orders);
      if (((better.trips | better.lockouts) & bit(condition)) != 0) return "is blamed without cause " + where;
      // Declared absent with a reason, it never counts; what the guard cannot do without is not declarable.
      broken.bench.absent |= bit(condition);
      auto const absent =
          judging.judge(broken.in, broken.watch, broken.bench, broken.step, broken.machine, broken.orders);
      if ((absent.trips & bit(condition)) != 0) return "counts though declared absent " + where;
      if (row.locks && (absent.lockouts & bit(condition)) == 0) return "can be declared away " + where;
    }
    return "";
  }
  return "no such row";
}
}  // namespace

std::vector<JudgeCheck> condition_checks() {
  std::vector<JudgeCheck> checks;
  for (auto const& row : rows()) {
    checks.push_back({fmt::format("condition I{:02d} counts where it must and nowhere else", row.condition),
                      condition_counts, row.condition});
  }
  return checks;
}

}  // namespace benchward::guard::proof
