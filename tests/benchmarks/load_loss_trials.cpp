// SPDX-License-Identifier: MIT
// A million Monte Carlo trials of a corrected load loss, on one and on two threads; monte_carlo_numpy.py is the same
// computation with NumPy's default generator.
#include <benchmark/benchmark.h>

#include <atomic>
#include <cstring>
#include <thread>

#include "limits/correct/load_loss.hpp"
#include "limits/uncertainty/monte_carlo.hpp"

using namespace benchward;

namespace {

/// Watts, volt-amperes, phase error, current, resistances and temperatures of both windings, winding temperature; the
/// phase error and the temperatures rectangular.
std::vector<InputDistribution> inputs() {
  using Kind = InputDistribution::Kind;
  return {{Kind::normal, 4200.0, 1.3, 0.0},  {Kind::normal, 25000.0, 8.0, 0.0},   {Kind::rectangular, 1e-3, 4e-4, 0.0},
          {Kind::normal, 23.15, 0.005, 0.0}, {Kind::normal, 9.0, 2e-3, 0.0},      {Kind::rectangular, 24.0, 0.5, 0.0},
          {Kind::normal, 2.4e-3, 1e-6, 0.0}, {Kind::rectangular, 24.0, 0.5, 0.0}, {Kind::rectangular, 25.0, 0.5, 0.0}};
}

double corrected_w(double const* draw) {
  thread_local LoadLossInput<double> in{0.0, 0.0,  23.15,
                                        0.0, 85.0, {{0.0, 0.0, 234.5, 13.37}, {0.0, 0.0, 225.0, 601.4}}};
  in.measured_w = correct_phase_error(draw[0], draw[1], draw[2]);
  in.test_current_a = draw[3];
  in.windings[0].total_resistance_ohm = draw[4];
  in.windings[0].measured_at_c = draw[5];
  in.windings[1].total_resistance_ohm = draw[6];
  in.windings[1].measured_at_c = draw[7];
  in.winding_c = draw[8];
  return correct_load_loss(in).corrected_w;
}

BlockExecutor on_threads(unsigned count) {
  return [count](std::size_t blocks, std::function<void(std::size_t)> const& block) {
    std::atomic<std::size_t> next{0};
    auto const work = [&] {
      for (std::size_t i = next++; i < blocks; i = next++) block(i);
    };
    std::vector<std::thread> helpers;
    for (unsigned i = 1; i < count; ++i) helpers.emplace_back(work);
    work();
    for (auto& helper : helpers) helper.join();
  };
}

MonteCarloResult million(unsigned threads) {
  MonteCarloPlan plan;
  plan.seed = 42;
  plan.trials = 1'000'000;
  return monte_carlo(inputs(), corrected_w, plan, on_threads(threads));
}

void load_loss_trials(benchmark::State& state) {
  auto const threads = static_cast<unsigned>(state.range(0));
  auto const alone = million(1);
  MonteCarloResult result;
  for (auto _ : state) result = million(threads);
  if (std::memcmp(&result, &alone, sizeof result) != 0) state.SkipWithError("not the same bits as on one thread");
  state.counters["mean_w"] = result.mean;
  state.counters["u_w"] = result.standard_uncertainty;
  state.counters["low_w"] = result.low;
  state.counters["high_w"] = result.high;
}
BENCHMARK(load_loss_trials)->Arg(1)->Arg(2)->Arg(3)->Arg(7)->UseRealTime()->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
