// SPDX-License-Identifier: MIT
#include "judge_checks.hpp"

#include <array>
#include <random>

#include <fmt/format.h>

namespace benchward::guard::proof {
namespace {

using S = GuardState;
using Random = std::mt19937_64;

/// All that `judge` looks at.
struct World {
  BenchInputs in;
  Watch watch;
  Declaration bench = full_bench();
  StepLimits step = full_step();
  Machine machine;
  Orders orders;
};

bool coin(Random& random) { return (random() & 1) != 0; }
std::int32_t number(Random& random, std::int32_t below) {
  return static_cast<std::int32_t>(random() % static_cast<std::uint64_t>(below));
}

Orders orders_in(S state) {
  Orders o;
  if (state == S::ramp_up || state == S::hold) o.coils = Coils::both;
  o.earth_open = state >= S::armed && state <= S::discharge;
  o.lock = o.red = state != S::safe_earthed;
  return o;
}

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
           w.watch.green_ms = 501;
       },
       [](World& w) { w.watch.red_ms = w.watch.green_ms = w.watch.siren_ms = 0; }},
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

std::string ready_only_with_everything(Judging judging, int) {
  auto const bench = full_bench();
  auto const step = full_step();
  Machine armed;
  armed.at = S::armed;
  armed.stage = Stage::second;
  Watch watch;
  watch.ever = watch.fresh = watch.owner_seen = true;
  auto const image = healthy_image(S::armed, bench, step);
  auto const orders = orders_in(S::armed);
  if (judging.judge(image, watch, bench, step, armed, orders).findings.permissives != Permissives::ready) {
    return "a healthy bench is not ready";
  }
  auto old = watch;
  old.fresh = false;
  if (judging.judge(image, old, bench, step, armed, orders).findings.permissives == Permissives::ready) {
    return "an image of an earlier turn is good enough to close a contactor";
  }
  return "";
}

std::string low_rule(Judging judging, int) {
  auto const bench = full_bench();
  Machine m;
  m.at = S::discharge;
  Random random(36);
  for (int trial = 0; trial < 4000; ++trial) {
    auto step = full_step();
    auto image = healthy_image(S::discharge, bench, step);
    Watch w;
    w.ever = w.fresh = true;
    step.resolves_low = coin(random);
    image.voltage_absent = coin(random);
    image.output_good = coin(random);
    image.output_mv = coin(random) ? step.low_mv + number(random, 3) - 1 : 0;
    w.seen_voltage = coin(random);
    w.low_ms = coin(random) ? 1000 : 999;
    auto const low = judging.judge(image, w, bench, step, m, orders_in(m.at)).findings.low;
    bool const high = image.output_good && image.output_mv > step.low_mv;
    bool const proven = !high && image.output_good && w.low_ms >= 1000 &&
                        ((step.resolves_low && w.seen_voltage) || image.voltage_absent);
    if (low != (high ? Low::high : proven ? Low::proven : Low::unproven))
      return fmt::format("wrong in trial {}", trial);
  }
  return "";
}

std::string direct_rule(Judging judging, int) {
  auto const bench = full_bench();
  auto const step = full_step(SourcePath::resistance);
  Machine m;
  m.at = S::ramp_down;
  auto image = healthy_image(S::ramp_down, bench, step);
  Watch w;
  w.ever = w.fresh = w.seen_current = true;
  w.direct_ms = bench.dwell_ms - 1;
  auto early = judging.judge(image, w, bench, step, m, orders_in(m.at)).findings;
  if (early.direct_done || early.level != Level::up || early.low == Low::proven) return "discharged before its time";
  w.direct_ms = bench.dwell_ms;
  auto done = judging.judge(image, w, bench, step, m, orders_in(m.at)).findings;
  if (!done.direct_done || done.level != Level::zero || done.low != Low::proven) return "not discharged after its time";
  w.seen_current = false;
  image.voltage_absent = false;
  if (judging.judge(image, w, bench, step, m, orders_in(m.at)).findings.low == Low::proven) {
    return "a current channel that never read a current proves its absence";
  }
  return "";
}

std::string stale_rule(Judging judging, int) {
  auto const bench = full_bench();
  auto const step = full_step();
  for (int which = 0; which < 4; ++which) {
    Watch w;
    w.ever = w.fresh = true;
    if (which == 0) w.age_ms = 1001;
    if (which == 1) w.scan_ms = 1001;
    if (which == 2) w.late_ms = 1001;
    if (which == 3) w.ever = false;
    for (int state = 0; state < guard_state_count; ++state) {
      Machine m;
      m.at = static_cast<S>(state);
      auto const image = healthy_image(m.at, bench, step);
      auto const f = judging.judge(image, w, bench, step, m, orders_in(m.at)).findings;
      if (f.hazard != Hazard::lost || f.permissives != Permissives::missing)
        return fmt::format("case {} state {}", which, state);
    }
  }
  return "";
}

std::string contactor_rule(Judging judging, int) {
  auto const bench = full_bench();
  auto const step = full_step();
  Machine m;
  m.at = S::ramp_down;
  auto image = healthy_image(S::discharge, bench, step);
  Watch w;
  w.ever = true;
  auto const seen = [&] { return judging.judge(image, w, bench, step, m, Orders{}).findings.contactors; };
  if (seen() != Contactors::open) return "open";
  image.source[1].first_open = false;
  if (seen() != Contactors::first) return "first, in time";
  image.source[1].second_open = false;
  if (seen() != Contactors::both) return "both, in time";
  w.not_open_ms = 201;
  if (seen() != Contactors::fused) return "both too late are fused";
  image.breaker_closed = false;
  if (seen() != Contactors::stuck) return "the breaker cuts a fused pair";
  image.breaker_closed = image.source[1].first_open = true;
  if (seen() != Contactors::stuck) return "one too late is stuck";
  w.not_open_ms = 0;
  image.source[1].second_open = true;
  image.source[4].first_open = false;
  if (seen() != Contactors::stuck) return "another source's contactor is never in order";
  return "";
}

// ---- observe: rules over time
// -----------------------------------------------------------------------------------------

struct Film {
  Judging judging;
  Declaration bench = full_bench();
  StepLimits step = full_step();
  Machine m;
  Orders orders;
  Watch w;
  BenchInputs in;
  std::uint16_t beat = 0;

  Film(Judging j, S state) : judging(j) {
    m.at = state;
    orders = orders_in(state);
    in = healthy_image(state, bench, step);
    show(10);
  }
  void show(std::uint32_t ms, bool ok = true) {
    ++in.scan;
    in.heartbeat_echo = ++beat;
    w = judging.observe(w, in, {ok, 0, ms}, m, orders, beat, bench, step);
  }
  void show_for(std::uint32_t ms) {
    for (std::uint32_t t = 0; t < ms; t += 10) show(10);
  }
  Judgement judged() const { return judging.judge(in, w, bench, step, m, orders); }
};

std::string discrepancy_over_time(Judging judging, int) {
  Film film(judging, S::safe_earthed);
  film.in.gate_a[1] = false;
  film.show_for(500);
  if (film.judged().lockouts != 0) return "before its time";
  film.show(10);
  if ((film.judged().lockouts & bit(4)) == 0) return "not after its time";
  film.in.gate_a[1] = true;
  film.show_for(1000);
  if ((film.judged().lockouts & bit(4)) == 0) return "cleared without both channels having been open";
  film.in.gate_a[1] = film.in.gate_b[1] = false;
  film.show(10);
  film.in.gate_a[1] = true;
  film.show(10);
  if ((film.judged().lockouts & bit(4)) == 0) return "cleared before both were closed";
  film.in.gate_b[1] = true;
  film.show(10);
  return film.judged().lockouts == 0 ? "" : "not cleared by both open, then both closed";
}

std::string reset_over_time(Judging judging, int) {
  Film taped(judging, S::ramp_up);
  taped.in.reset_pressed = true;
  taped.show_for(500);
  taped.m.at = S::tripped;
  taped.show_for(500);
  taped.in.reset_pressed = false;
  taped.show(10);
  if (taped.w.reset_edge) return "a button that was pressed before the trip counts";
  for (auto const& [ms, counts] : {std::pair{50u, false}, {100u, true}, {3000u, true}, {3010u, false}}) {
    Film film(judging, S::tripped);
    film.show(10);
    film.in.reset_pressed = true;
    film.show_for(ms);
    if (film.w.reset_edge) return "acts on pressing";
    film.in.reset_pressed = false;
    film.show(10);
    if (film.w.reset_edge != counts) return fmt::format("a press of {} ms", ms);
    film.show(10);
    if (film.w.reset_edge) return "lasts longer than one turn";
  }
  return "";
}

std::string fourth_reset(Judging judging, int) {
  Film film(judging, S::tripped);
  film.m.stage = Stage::third;
  for (int round = 0; round < 4; ++round) {
    film.m.at = S::tripped;
    film.show(10);
    film.in.reset_pressed = true;
    film.show_for(200);
    film.in.reset_pressed = false;
    film.show(10);
    bool const locked = (film.judged().lockouts & bit(too_many_resets)) != 0;
    if (locked != (round == 3)) return fmt::format("reset {}", round + 1);
    film.m.at = S::safe_earthed;
    film.show(10);
    film.show_for(60'000);
  }
  return "";
}

std::string link_over_time(Judging judging, int) {
  Film film(judging, S::hold);
  film.orders.coils = Coils::both;
  film.in.source[1].first_open = film.in.source[1].second_open = false;
  for (int n = 0; n < 100; ++n) film.show(10, false);
  if (film.judged().findings.hazard == Hazard::lost) return "before the stale limit";
  film.show(10, false);
  if (film.judged().findings.hazard != Hazard::lost) return "not after the stale limit";
  Film frozen(judging, S::hold);
  for (int n = 0; n < 101; ++n) {
    --frozen.in.scan;
    frozen.show(10);
  }
  if (frozen.judged().findings.hazard != Hazard::lost) return "a block whose scan stands still is not stale";
  Film late(judging, S::hold);
  late.show(1001);
  return late.judged().findings.hazard == Hazard::lost ? "" : "a turn that comes too late is not stale";
}

std::string beat_over_time(Judging judging, int) {
  Film film(judging, S::hold);
  for (int n = 0; n < 101; ++n) {
    film.in.heartbeat_echo = 77;
    ++film.in.scan;
    ++film.beat;
    film.w =
        film.judging.observe(film.w, film.in, {true, 0, 10}, film.m, film.orders, film.beat, film.bench, film.step);
  }
  return (film.judged().trips & bit(22)) != 0 ? "" : "an echo that stands still is not noticed";
}

std::string hold_over_time(Judging judging, int) {
  Film film(judging, S::hold);
  film.orders.coils = Coils::both;
  film.in.output_mv = 1'000'000;
  film.show_for(600);
  film.in.output_mv = 1'010'000;
  film.show(10);
  if ((film.judged().trips & bit(14)) != 0) return "1 % is allowed";
  film.in.output_mv = 1'010'100;
  film.show(10);
  return (film.judged().trips & bit(14)) != 0 ? "" : "a rise of more than 1 % in HOLD is not a trip";
}

std::string collapse_over_time(Judging judging, int) {
  Film film(judging, S::hold);
  film.step = full_step(SourcePath::dielectric);
  film.step.stop = StopWay::dielectric;
  film.in.output_mv = 1'000'000;
  film.show_for(500);
  for (int n = 0; n < 750; ++n) {  // to a quarter in 7.5 s: a ramp
    film.in.output_mv -= 1000;
    film.show(10);
    if ((film.judged().trips & bit(15)) != 0) return "a ramp down is taken for a flash-over";
  }
  film.in.output_mv = 1'000'000;
  film.show(10);
  film.in.output_mv = 300'000;
  film.show(10);
  return (film.judged().trips & bit(15)) != 0 ? "" : "volts that break down are not noticed";
}

std::string over_current_over_time(Judging judging, int) {
  Film film(judging, S::ramp_up);
  film.in.output_ma = film.step.trip_ma + 1;
  for (std::uint32_t ms = 10; ms <= film.bench.over_current_ms; ms += 10) {
    film.show(10);
    if ((film.judged().trips & bit(15)) != 0) return ms >= 100 ? "" : "one reading is enough";
  }
  return "not within its time";
}

std::vector<JudgeCheck> list() {
  std::vector<JudgeCheck> checks;
  for (auto const& row : rows()) {
    checks.push_back({fmt::format("condition I{:02d} counts where it must and nowhere else", row.condition),
                      condition_counts, row.condition});
  }
  checks.push_back({"contactors may close only on a fresh and complete image", ready_only_with_everything, 0});
  checks.push_back({"LOW is proven only by a channel that was seen to work, or by the relay", low_rule, 36});
  checks.push_back({"direct current is proven gone by its channel and the shorting contact", direct_rule, 29});
  checks.push_back({"what is stale is lost in every state", stale_rule, 23});
  checks.push_back({"contactors are read by their mirrors, and lateness is a weld", contactor_rule, 11});
  checks.push_back(
      {"a two-channel discrepancy clears only through both open, then both closed", discrepancy_over_time, 4});
  checks.push_back({"the reset acts on release, after a press that began after the trip", reset_over_time, 0});
  checks.push_back({"the fourth reset in ten minutes locks out", fourth_reset, 37});
  checks.push_back({"a link that is lost, frozen or late is noticed at the stale limit", link_over_time, 23});
  checks.push_back({"a heartbeat that does not change is noticed", beat_over_time, 22});
  checks.push_back({"volts that rise in HOLD by more than one percent trip", hold_over_time, 14});
  checks.push_back({"a breakdown is told from a ramp", collapse_over_time, 15});
  checks.push_back(
      {"over-current is noticed within its time, and not by a single reading", over_current_over_time, 15});
  return checks;
}

}  // namespace

Declaration full_bench() {
  Declaration d;
  d.owner = 1234;
  d.sources = 0b111110;
  d.gates = 2;
  d.walk_in = true;
  d.has_relay = d.has_chain = d.has_breaker = d.has_red = d.has_green = true;
  d.highest_mv = 60'000'000;
  d.highest_ma = 100'000;
  return d;
}

StepLimits full_step(SourcePath source) {
  StepLimits s;
  s.source = source;
  s.resolves_low = true;
  s.set_mv = 1'000'000;
  s.ceiling_mv = 1'100'000;
  s.low_mv = 1'666;
  s.zero_mv = 20'000;
  s.quarter_mv = 250'000;
  s.seen_mv = 1'666;
  s.trip_ma = 10'000;
  s.longest_ms = 60'000;
  if (source == SourcePath::resistance) {
    s.stop = StopWay::direct_current;
    s.set_ua = 1'000'000;
    s.direct_limit_ua = 10'000;
    s.set_mv = s.trip_ma = 0;
  }
  return s;
}

BenchInputs healthy_image(GuardState state, Declaration const& bench, StepLimits const& step) {
  BenchInputs in;
  in.stop_a = in.stop_b = true;
  for (int gate = 0; gate < 2; ++gate) in.gate_a[gate] = in.gate_b[gate] = in.gate_locked[gate] = true;
  in.chain_closed = in.red_ok = in.siren_ok = true;
  bool const earth_open = state >= S::armed && state <= S::discharge;
  in.earth_open = earth_open;
  in.earth_closed = !earth_open;
  in.red_lit = state != S::safe_earthed;
  in.regulator_at_zero = in.source_healthy = in.voltage_absent = in.short_closed = true;
  in.hooks_home = in.keys_home = in.covers_closed = in.area_searched = true;
  in.two_hand = in.ground_ok = in.breaker_closed = in.crane_clear = true;
  for (auto& source : in.source)
    source.first_open = source.second_open = source.isolated = source.store_discharged = true;
  if (state == S::ramp_up || state == S::hold) {
    auto& source = in.source[static_cast<std::size_t>(step.source)];
    source.first_open = source.second_open = false;
  }
  in.output_good = in.direct_good = true;
  in.watchdog_ms = bench.watchdog_ms;
  in.owner_echo = bench.owner;
  return in;
}

std::vector<JudgeCheck> const& judge_checks() {
  static auto const checks = list();
  return checks;
}

}  // namespace benchward::guard::proof
