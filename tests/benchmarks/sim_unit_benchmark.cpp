// SPDX-License-Identifier: MIT
/// Microseconds an evaluation of the unit model: what a simulated bench pays each 10 ms of its time.

#include <benchmark/benchmark.h>

#include "tests/sim/unit/example_units.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;

namespace {

Unit unit_of(int which) {
  switch (which) {
    case 0:
      return single_phase();
    case 1:
      return three_phase("Dyn1");
    case 2:
      return three_phase("YNyn0", CoreForm::five_limb);
    default:
      return three_phase("Yzn5");
  }
}
char const* name_of(int which) {
  char const* const names[] = {"Ii0", "Dyn1", "YNyn0 five-limb", "Yzn5"};
  return names[which];
}

/// The source wanders by 1e-4 as a regulated one does, time moves on by 10 ms.
void no_load_hold(benchmark::State& state) {
  int const which = static_cast<int>(state.range(0));
  UnitModel m(unit_of(which), {1, false});
  Network n = feed_lv(m, m.unit().lv.rated.in(volts), 1e-3, 1e-5);
  std::vector<NetworkEmf> const rated = n.emfs;
  int k = 0;
  for (auto _ : state) {
    double const factor = 1.0 + 1e-5 * (k++ % 11);
    for (std::size_t e = 0; e < rated.size(); ++e) n.emfs[e].volts = rated[e].volts * factor;
    benchmark::DoNotOptimize(m.solve_ac(n).emf_watts.data());
    m.advance(0.01);
  }
  state.SetLabel(name_of(which));
}
BENCHMARK(no_load_hold)->DenseRange(0, 3);

void no_load_ramp(benchmark::State& state) {
  int const which = static_cast<int>(state.range(0));
  UnitModel m(unit_of(which), {1, false});
  Network n = feed_lv(m, m.unit().lv.rated.in(volts), 1e-3, 1e-5);
  std::vector<NetworkEmf> const rated = n.emfs;
  int k = 0;
  for (auto _ : state) {
    double const factor = 0.001 * (++k % 1100);
    for (std::size_t e = 0; e < rated.size(); ++e) n.emfs[e].volts = rated[e].volts * factor;
    benchmark::DoNotOptimize(m.solve_ac(n).emf_watts.data());
    m.advance(0.01);
  }
  state.SetLabel(name_of(which));
}
BENCHMARK(no_load_ramp)->DenseRange(0, 3);

void load_loss_hold(benchmark::State& state) {
  int const which = static_cast<int>(state.range(0));
  UnitModel m(unit_of(which), {1, false});
  Network n = feed_hv(m, m.unit().hv.rated.in(volts)*0.04, 0.1, 1e-4);
  short_lv(m, n, 5e-5);
  for (auto _ : state) {
    benchmark::DoNotOptimize(m.solve_ac(n).emf_watts.data());
    m.advance(0.01);  // the windings warm: now and then the prepared circuit is built anew
  }
  state.SetLabel(name_of(which));
}
BENCHMARK(load_loss_hold)->DenseRange(0, 3);

void direct_current(benchmark::State& state) {
  int const which = static_cast<int>(state.range(0));
  UnitModel m(unit_of(which), {1, false});
  Network n = m.network();
  bool const one = m.unit().phases == 1;
  n.add(
      NetworkCurrentSource{m.terminal(one ? "H2" : "X0"), m.terminal(one ? "H1" : "X1"), one ? 0.4 : 10.0, 30.0, 1.0});
  n.tie(m.terminal(one ? "H2" : "X0"), earth);
  for (auto _ : state) benchmark::DoNotOptimize(m.step_dc(n, 0.01).node_volts.data());
  state.SetLabel(name_of(which));
}
BENCHMARK(direct_current)->DenseRange(0, 3);

/// A connection is changed: everything is prepared anew.
void new_connection(benchmark::State& state) {
  int const which = static_cast<int>(state.range(0));
  UnitModel m(unit_of(which), {1, false});
  double ohm = 1e-3;
  for (auto _ : state) {
    Network const n = feed_lv(m, m.unit().lv.rated.in(volts), ohm += 1e-9, 1e-5);
    benchmark::DoNotOptimize(m.solve_ac(n).emf_watts.data());
  }
  state.SetLabel(name_of(which));
}
BENCHMARK(new_connection)->DenseRange(0, 3);

void build_unit(benchmark::State& state) {
  Unit const unit = unit_of(1);
  std::uint64_t seed = 0;
  for (auto _ : state) benchmark::DoNotOptimize(UnitModel(unit, {++seed, false}).hv_turns());
}
BENCHMARK(build_unit);

}  // namespace

BENCHMARK_MAIN();
