// SPDX-License-Identifier: MIT
#include <limits>

#include <fmt/format.h>

#include "film.hpp"
#include "judge_subjects.hpp"

namespace benchward::guard::proof {
namespace {

using S = GuardState;

/// One image of a healthy bench in a state, to be spoilt.
struct Still {
  Judging judging;
  Declaration bench = full_bench();
  StepLimits step = full_step();
  Machine m;
  Watch w;
  BenchInputs in;
  Orders orders;

  Still(Judging j, S state) : judging(j) {
    m.at = state;
    m.stage = state == S::armed ? Stage::second : Stage::first;
    orders = orders_in(state);
    in = healthy_image(state, bench, step);
    w.ever = w.fresh = w.owner_seen = true;
  }
  Judgement judged() const { return judging.judge(in, w, bench, step, m, orders); }
  Findings found() const { return judged().findings; }
  bool trips(int condition) const { return (judged().trips & bit(condition)) != 0; }
};

std::string unwired(Judging judging, int) {
  Still still(judging, S::hold);
  auto& b = still.bench;
  b.has_breaker = b.has_chain = b.has_red = b.has_green = b.has_crane = b.has_relay = false;
  still.in.breaker_closed = still.in.chain_closed = still.in.red_lit = still.in.crane_clear = false;
  still.in.green_lit = true;
  still.w.red_ms = 10'000;
  if (still.judged().trips != 0) return fmt::format("an idle signal trips: {:x}", still.judged().trips);
  if (still.found().permissives == Permissives::missing) return "an idle signal is waited for";

  Film green(judging, S::warning);
  green.in.green_lit = true;
  green.show_for(490);
  if (green.judged().findings.permissives < Permissives::secured) return "a lamp has no time to change";
  green.show(10);
  green.in.green_lit = false;
  green.show_for(4000);
  if (green.judged().findings.permissives < Permissives::secured) return "a healthy warning is refused";
  green.in.green_lit = true;
  green.show(10);
  if (green.judged().findings.permissives >= Permissives::secured)
    return "green at the end of the warning meets an earth that opens";
  green.bench.has_green = false;
  if (green.judged().findings.permissives < Permissives::secured) return "a green lamp that is not wired is blamed";

  // Without a relay an idle "no voltage" proves nothing; without a breaker nothing cuts a pair that is fused.
  Still low(judging, S::discharge);
  low.bench.has_relay = false;
  low.w.low_ms = 5000;
  if (low.found().low != Low::unproven) return "a relay that is not wired proves LOW";
  Still fused(judging, S::ramp_down);
  fused.bench.has_breaker = false;
  fused.in.breaker_closed = false;
  fused.in.source[1].first_open = fused.in.source[1].second_open = false;
  fused.w.not_open_ms = 201;
  return fused.found().contactors == Contactors::fused ? "" : "a breaker that is not wired cuts a fused pair";
}

std::string reach_in(Judging judging, int) {
  Still still(judging, S::hold);
  still.in.keys_home = still.in.area_searched = false;
  still.w.search_ms = 1'000'000;
  if (!still.trips(5)) return "a key that is out of its home does not trip in a walk-in area";
  still.bench.walk_in = false;
  if (still.judged().trips != 0) return "a reach-in area asks for keys or a search";
  if (still.found().permissives != Permissives::secured && still.found().permissives != Permissives::ready)
    return "a reach-in area waits for a search";
  still.in.person_inside = true;
  if (!still.trips(5)) return "a person seen inside a reach-in area does not trip";

  Still searched(judging, S::securing);
  if (searched.found().permissives != Permissives::ready) return "a searched area is not secured";
  searched.w.search_ms = searched.bench.search_ms + 1;
  if (searched.found().permissives != Permissives::missing) return "a search that is too old counts";
  searched.w.search_ms = 0;
  searched.bench.has_crane = true;
  searched.in.crane_clear = false;
  if (searched.found().permissives != Permissives::missing)
    return "a crane over the area does not keep the gate unlocked";
  searched.in.crane_clear = true;
  if (searched.found().permissives != Permissives::ready) return "a crane that is clear is in the way";
  searched.in.area_searched = false;
  return searched.found().permissives == Permissives::missing ? "" : "an area that was not searched is secured";
}

std::string declared_absent(Judging judging, int) {
  Still resistor(judging, S::discharge);
  resistor.in.resistor_on = false;
  if (resistor.found().resistor_on || (resistor.judged().missing & bit(30)) == 0)
    return "a resistor that is off passes for one that is on";
  resistor.bench.absent = bit(30);
  if (!resistor.found().resistor_on || (resistor.judged().missing & bit(30)) != 0)
    return "a bench without a resistor waits for it";

  Still zero(judging, S::ramp_down);
  zero.in.regulator_at_zero = false;
  if (zero.found().level != Level::up) return "a regulator that is not at zero reads zero";
  zero.bench.absent = bit(13);
  if (zero.found().level != Level::zero) return "a bench without a zero switch never comes to zero";
  zero.step.resolves_zero = false;
  return zero.found().level == Level::up ? "" : "a channel that cannot resolve zero proves it";
}

std::string direct_path(Judging judging, int) {
  Still still(judging, S::unknown);
  still.step = StepLimits{};
  if (still.found().direct_done) return "after a start a direct-current path is not asked for its proof";
  if (still.found().level != Level::zero) return "without a step something is up";
  still.w.direct_ms = still.bench.dwell_ms;
  if (!still.found().direct_done) return "a proof of its whole time does not count";
  still.w.direct_ms = 0;
  auto const sources = still.bench.sources;
  still.bench.sources = 0b110;
  if (!still.found().direct_done) return "a bench without a direct-current path waits for its proof";
  still.bench.sources = sources;
  still.bench.absent = bit(29);
  return still.found().direct_done ? "" : "a bench that declares I29 absent waits for its proof";
}

std::string readings(Judging judging, int) {
  Still still(judging, S::hold);
  still.in.output_mv = 1'000'000;
  still.w.hold_mv = 1'000'000;
  if (still.judged().trips != 0) return "a healthy image trips";
  auto const spoilt = still;
  still.in.output_ma = -still.bench.highest_ma / 100 - 1;
  if (!still.trips(24)) return "a negative effective current is possible";
  still = spoilt;
  still.in.output_mv = still.bench.highest_mv + 1;
  if (!still.trips(24)) return "volts beyond the channel are possible";
  still = spoilt;
  still.w.no_current_ms = still.bench.regulator_ms + 1;
  if (!still.trips(24)) return "volts without any current are possible";
  still = spoilt;
  still.in.watchdog_ms = static_cast<std::uint16_t>(still.bench.watchdog_ms + 1);
  if (!still.trips(22)) return "a watchdog longer than the one written is good enough";
  still = spoilt;
  still.w.energised_ms = 1u << 30;
  if (!still.trips(33)) return "the longest time has no end";
  still.step.longest_ms = 0;
  return still.trips(33) ? "without a step there is a longest time" : "";
}

std::string direct_over(Judging judging, int) {
  Film film(judging, S::hold);
  film.step = full_step(SourcePath::resistance);
  film.in.direct_ua = film.step.set_ua + film.step.set_ua / 10 + 1;
  film.show_for(110);
  if ((film.judged().trips & bit(15)) == 0) return "direct current above the set value by a tenth is not noticed";
  film.in.direct_ua = film.step.set_ua + film.step.set_ua / 10;
  film.show(10);
  if ((film.judged().trips & bit(15)) != 0) return "a tenth is allowed";
  Film milliamperes(judging, S::hold);
  milliamperes.step = full_step(SourcePath::ratio);
  milliamperes.step.trip_ma = 0;
  milliamperes.in.output_ma = 50;
  milliamperes.show_for(1000);
  return (milliamperes.judged().trips & bit(15)) == 0 ? "" : "a step without an over-current limit trips on it";
}

std::string first_image(Judging judging, int) {
  auto const bench = full_bench();
  auto const step = full_step();
  Machine const m;
  auto in = healthy_image(S::unknown, bench, step);
  Watch w;
  in.scan = w.last_scan;  // by chance the number that memory begins with
  w = judging.observe(w, in, {true, 0, 10}, m, Orders{}, 1, bench, step);
  if (w.scan_ms != 0 || !w.ever) return "the first image is taken for a frozen block";
  w = judging.observe(w, in, {true, 0, 10}, m, Orders{}, 2, bench, step);
  return w.scan_ms == 10 ? "" : "a scan that stands still is not counted";
}

std::string owners(Judging judging, int) {
  Film film(judging, S::safe_earthed);
  film.in.owner_echo = 0;
  film.show_for(5000);
  if (film.w.foreign_ms != 0 || (film.judged().lockouts & bit(foreign_owner)) != 0)
    return "a block that nobody owns is taken for a foreign one";
  // Before ours was seen, another's word may be what the block still holds of the run before: for the watchdog's time.
  Film fresh(judging, S::unknown);
  fresh.w = Watch{};
  fresh.in.owner_echo = 4711;
  fresh.show_for(1000);
  if ((fresh.judged().lockouts & bit(foreign_owner)) != 0) return "what the last run left in the block locks out";
  fresh.show(10);
  if ((fresh.judged().lockouts & bit(foreign_owner)) == 0) return "another owner is put up with";
  Film taken(judging, S::hold);
  taken.in.owner_echo = 4711;
  taken.show(10);
  return (taken.judged().lockouts & bit(foreign_owner)) != 0 ? "" : "an owner that changes under way is put up with";
}

std::string beyond_the_domain(Judging judging, int) {
  // A declaration never has more gates than the image; memory that went wrong must not make it read beyond.
  Still still(judging, S::hold);
  still.bench.gates = 200;
  if (still.judged().trips != 0) return "gates beyond the image are read";
  Film film(judging, S::hold);
  film.bench.gates = 200;
  film.show(10);
  if (film.w.apart != 0) return "gates beyond the image are watched";

  // Saturation: a mark at the end of its range stands there.
  Film high(judging, S::ramp_up);
  high.step.rise_mv_per_s = std::numeric_limits<std::int32_t>::max();
  high.w.rise_mv = std::numeric_limits<std::int32_t>::max() - 1;
  high.in.output_mv = std::numeric_limits<std::int32_t>::max();
  high.show(1000);
  if (high.w.rise_mv != std::numeric_limits<std::int32_t>::max()) return "the mark of the rise wraps";
  // A step without a voltage to be seen at: the channel is never "seen to work" (I36).
  Film unseen(judging, S::ramp_up);
  unseen.step.seen_mv = 0;
  unseen.orders.coils = Coils::both;
  unseen.in.output_mv = 1'000'000;
  unseen.show(10);
  if (unseen.w.seen_voltage) return "a channel is seen to work by any reading";

  // No step, or a byte that is no source path: whatever is ordered, no coil of any source.
  Orders on;
  on.coils = Coils::both;
  for (auto const path : {SourcePath::none, static_cast<SourcePath>(max_sources), static_cast<SourcePath>(255)}) {
    auto step = full_step();
    step.source = path;
    auto const out = outputs_of(on, full_bench(), step, 1, 0);
    for (int source = 0; source < max_sources; ++source) {
      if (out.first[source] || out.second[source]) return fmt::format("source {} closes without a step", source);
    }
  }
  return "";
}

}  // namespace

std::vector<JudgeCheck> wiring_checks() {
  return {
      {"a signal that the bench does not wire neither trips nor proves", unwired, 0},
      {"walk-in areas ask for keys, search and crane; reach-in areas for nobody inside", reach_in, 5},
      {"what a bench declares absent is not waited for", declared_absent, 0},
      {"a direct-current path is asked for its proof only where there is one", direct_path, 29},
      {"a reading that cannot be is noticed", readings, 24},
      {"direct current above its set value is noticed", direct_over, 15},
      {"the first image is fresh whatever its number", first_image, 23},
      {"another owner in the block locks out, an empty block does not", owners, foreign_owner},
      {"bytes beyond the domain read and order nothing", beyond_the_domain, 0},
  };
}

}  // namespace benchward::guard::proof
