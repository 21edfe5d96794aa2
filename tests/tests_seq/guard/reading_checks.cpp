// SPDX-License-Identifier: MIT
#include "judge_subjects.hpp"

#include <fmt/format.h>

namespace benchward::guard::proof {
namespace {

using S = GuardState;

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
}  // namespace

std::vector<JudgeCheck> reading_checks() {
  return {
      {"contactors may close only on a fresh and complete image", ready_only_with_everything, 0},
      {"LOW is proven only by a channel that was seen to work, or by the relay", low_rule, 36},
      {"direct current is proven gone by its channel and the shorting contact", direct_rule, 29},
      {"what is stale is lost in every state", stale_rule, 23},
      {"contactors are read by their mirrors, and lateness is a weld", contactor_rule, 11},
  };
}

}  // namespace benchward::guard::proof
