// SPDX-License-Identifier: MIT
#include "film.hpp"
#include "judge_subjects.hpp"

#include <fmt/format.h>

namespace benchward::guard::proof {
namespace {

using S = GuardState;

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
  film.in = healthy_image(S::hold, film.bench, film.step);
  film.in.output_mv = 1'000'000;
  film.show_for(500);
  for (int n = 0; n < 750; ++n) {  // to a quarter in 7.5 s: a ramp
    film.in.output_mv -= 1000;
    film.show(10);
    if ((film.judged().trips & bit(15)) != 0) return "a ramp down is taken for a flash-over";
  }
  film.in.output_mv = 1'000'000;
  film.show(10);
  auto& pair = film.in.source[static_cast<std::size_t>(SourcePath::dielectric)];
  film.in.output_mv = 0;
  pair.first_open = true;
  film.show(10);
  if ((film.judged().trips & bit(15)) != 0) return "volts that went with a contactor are taken for a flash-over";
  pair.first_open = false;
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
}  // namespace

std::vector<JudgeCheck> time_checks() {
  return {
      {"a two-channel discrepancy clears only through both open, then both closed", discrepancy_over_time, 4},
      {"the reset acts on release, after a press that began after the trip", reset_over_time, 0},
      {"the fourth reset in ten minutes locks out", fourth_reset, 37},
      {"a link that is lost, frozen or late is noticed at the stale limit", link_over_time, 23},
      {"a heartbeat that does not change is noticed", beat_over_time, 22},
      {"volts that rise in HOLD by more than one percent trip", hold_over_time, 14},
      {"a breakdown is told from a ramp", collapse_over_time, 15},
      {"over-current is noticed within its time, and not by a single reading", over_current_over_time, 15},
  };
}

}  // namespace benchward::guard::proof
