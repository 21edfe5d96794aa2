// SPDX-License-Identifier: MIT
// Time of one load-loss correction with uncertainty; the same computation stands in uncertainty_benchmark.py.
#include <benchmark/benchmark.h>

#include "limits/correct/load_loss.hpp"
#include "limits/uncertainty/uncertain.hpp"

using namespace benchward;

namespace {

/// Twenty-one inputs: three elements of volts, amperes, watts with noise of their own and shared gains, phase error,
/// resistances and temperatures of both windings.
double corrected_u() {
  UncertaintyInputs inputs;
  auto const shared_v = inputs.input("gain v", 1.0, 2e-4), shared_a = inputs.input("gain a", 1.0, 2e-4);
  auto const shared_w = inputs.input("gain w", 1.0, 3e-4), phase = inputs.input("phase", 1e-3, 2e-4);
  Uncertain watts_sum(0.0), amperes_sum(0.0);
  for (int k = 0; k < 3; ++k) {
    auto const number = std::to_string(k);
    auto const v = shared_v * inputs.input("v" + number, 360.0, 0.02);
    auto const a = shared_a * inputs.input("a" + number, 23.15, 0.001);
    auto const w = shared_w * inputs.input("w" + number, 1400.0, 0.1);
    watts_sum += correct_phase_error(w, v * a, phase);
    amperes_sum += a;
  }
  LoadLossInput<Uncertain> in;
  in.measured_w = watts_sum;
  in.test_current_a = amperes_sum / 3.0;
  in.rated_current_a = 23.15;
  in.winding_c = inputs.input("t_lm", 25.0, 0.3);
  in.windings = {{inputs.input("r hv", 9.0, 2e-3), inputs.input("t hv", 24.0, 0.3), 234.5, 13.37},
                 {inputs.input("r lv", 2.4e-3, 1e-6), inputs.input("t lv", 24.0, 0.3), 225.0, 601.4}};
  return inputs.of(correct_load_loss(in).corrected_w).standard;
}

void load_loss_with_uncertainty(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(corrected_u());
  state.counters["u_w"] = corrected_u();
}
BENCHMARK(load_loss_with_uncertainty);

}  // namespace

BENCHMARK_MAIN();
