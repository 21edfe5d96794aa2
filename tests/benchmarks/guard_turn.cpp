// SPDX-License-Identifier: MIT
// Turns of the guard's pure part on one core: `judge` and `advance`, and the whole turn with its memory.
#include <benchmark/benchmark.h>

#include <array>

#include "tests/tests_seq/guard/judge_checks.hpp"
#include "tests_seq/guard/guard.hpp"

using namespace benchward;
using namespace benchward::guard;

namespace {

/// Images of a unit under voltage, no two neighbours alike.
std::array<BenchInputs, 64> images(Declaration const& bench, StepLimits const& step) {
  std::array<BenchInputs, 64> list;
  for (std::size_t n = 0; n < list.size(); ++n) {
    list[n] = proof::healthy_image(GuardState::hold, bench, step);
    list[n].output_mv = 1'000'000 + static_cast<std::int32_t>(n % 7) * 100;
    list[n].output_ma = 500 + static_cast<std::int32_t>(n % 5);
  }
  return list;
}

void judge_and_advance(benchmark::State& state) {
  auto const bench = proof::full_bench();
  auto const step = proof::full_step();
  auto const list = images(bench, step);
  Watch watch;
  watch.ever = watch.fresh = watch.owner_seen = true;
  watch.hold_mv = 1'000'000;
  Machine machine;
  machine.at = GuardState::hold;
  machine.owed = Owed::proof;
  Orders orders;
  orders.coils = Coils::both;
  std::size_t n = 0;
  for (auto _ : state) {
    auto const judged = judge(list[n++ & 63], watch, bench, step, machine, orders);
    auto const next = advance(machine, judged.findings, Request::none, {Timer::idle, Timer::running});
    machine = next.machine;
    orders = next.orders;
    benchmark::DoNotOptimize(machine.at);
  }
  if (machine.at != GuardState::hold) state.SkipWithError("the guard left HOLD: not the path that is meant");
  state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations()));
}
BENCHMARK(judge_and_advance);

void whole_turn(benchmark::State& state) {
  auto const bench = proof::full_bench();
  auto step = proof::full_step();
  step.longest_ms = ~0u - 1;
  auto list = images(bench, step);
  Running running;
  running.machine.at = GuardState::hold;
  running.machine.owed = Owed::proof;
  running.orders.coils = Coils::both;
  running.orders.earth_open = running.orders.consent = true;
  running.watch.was = GuardState::hold;
  std::uint16_t beat = 0;
  std::size_t n = 0;
  for (auto _ : state) {
    auto& image = list[n++ & 63];
    ++beat;
    image.heartbeat_echo = beat;
    image.scan = beat;
    running = turn(running, image, {true, 0, 1}, Request::none, beat, bench, step);
    benchmark::DoNotOptimize(running.machine.at);
  }
  if (running.machine.at != GuardState::hold) state.SkipWithError("the guard left HOLD: not the path that is meant");
  state.SetItemsProcessed(static_cast<std::int64_t>(state.iterations()));
}
BENCHMARK(whole_turn);

}  // namespace

BENCHMARK_MAIN();
