// SPDX-License-Identifier: MIT
#pragma once

/// Images shown to `observe` one after the other, and what `judge` says to the last.

#include "judge_subjects.hpp"

namespace benchward::guard::proof {

struct Film {
  Judging judging;
  Declaration bench = full_bench();
  StepLimits step = full_step();
  Machine m;
  Orders orders;
  Watch w;
  BenchInputs in;
  std::uint16_t beat = 0;

  Film(Judging j, GuardState state) : judging(j) {
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

}  // namespace benchward::guard::proof
