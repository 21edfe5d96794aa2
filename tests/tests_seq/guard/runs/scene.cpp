// SPDX-License-Identifier: MIT
#include "scene.hpp"

#include <algorithm>

#include "drivers/bench/bench_document.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward::guard::runs {
namespace {

Scene scene_of(PlanStep const& step, std::size_t unit) {
  Scene scene;
  scene.unit = unit;
  scene.step = step;
  auto const take = [&](AcWiring const& wiring, Frequency frequency) {
    scene.phases = wiring.phases;
    scene.hertz = frequency.in(hertz);
  };
  if (auto const* work = std::get_if<NoLoadWork>(&step.work)) take(work->wiring, work->frequency);
  if (auto const* work = std::get_if<LoadLossWork>(&step.work)) take(work->wiring, work->frequency);
  if (auto const* work = std::get_if<InducedWork>(&step.work)) take(work->wiring, work->frequency);
  if (auto const* work = std::get_if<DemagnetiseWork>(&step.work)) take(work->wiring, work->frequency);
  if (auto const* work = std::get_if<AppliedWork>(&step.work)) scene.hertz = work->frequency.in(hertz);
  return scene;
}

}  // namespace

Stock read_stock(std::string const& source_folder) {
  auto const demo = source_folder + "/sim/demo/";
  Stock stock;
  for (char const* name : {"benches/01-scaled.json", "benches/02-real.json"}) {
    stock.benches.push_back(read_bench(demo + name));
  }
  for (char const* name : {"units/single-phase-pad-50kva.json", "units/three-phase-pad-500kva-dyn1.json"}) {
    auto unit = read_unit(demo + name);
    auto const sheet = work_out(builtin_limit_set(unit.standard), unit);
    auto const plan = make_plan(unit, stages_of(unit).front(), sheet, stock.benches.front());
    for (auto const& step : plan.steps) {
      if (step.energy) stock.scenes.push_back(scene_of(step, stock.units.size()));
    }
    stock.units.push_back(std::move(unit));
  }
  return stock;
}

Bench vary(Bench bench, Chance& chance) {
  auto& guard = bench.guard;
  guard.warning = seconds(chance.between(3.0, 6.0));
  guard.low_dwell = seconds(chance.between(2.0, 3.0));
  guard.low_for = seconds(chance.between(1.0, 1.5));
  guard.armed = seconds(chance.between(4.0, 12.0));
  guard.search_window = seconds(chance.between(5.0, 15.0));
  guard.ramp_down = seconds(chance.between(6.0, 15.0));
  guard.earth_travel = seconds(chance.between(1.2, 3.0));
  guard.discharge = seconds(chance.between(10.0, 20.0));
  guard.discrepancy = seconds(chance.between(0.3, 0.5));
  guard.watchdog = seconds(chance.between(0.5, 1.0));
  if (chance.in(0.4)) {
    bench.io.inputs.erase("voltage_absent");  // no voltage relay: the channel alone, or the resistor's time
  }
  return bench;
}

}  // namespace benchward::guard::runs
