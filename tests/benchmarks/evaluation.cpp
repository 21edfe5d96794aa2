// SPDX-License-Identifier: MIT
// Full evaluation of a unit's routine tests with uncertainties, and how its cost grows with taps and readings. Invented
// unit and readings of the tests of limits/.
#include <benchmark/benchmark.h>

#include <cmath>

#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

/// 500 kVA, 12470 to 480Y/277 V, Dyn1, with `taps` positions.
Unit tapped(int taps) {
  auto unit = pad_three_phase();
  unit.hv.has_tap_changer = true;
  unit.hv.taps.clear();
  for (int i = 0; i < taps; ++i) unit.hv.taps.push_back({i + 1, 5.0 - 10.0 * i / std::max(1, taps - 1)});
  unit.hv.rated_tap = (taps + 1) / 2;
  return unit;
}

PowerSnapshot three(double v, double a, double w, double average = 0.0) {
  PowerSnapshot out;
  for (int k = 1; k <= 3; ++k) {
    auto const number = std::to_string(k);
    out.volts_rms.push_back(reading(volts(v), "analyser", "voltage." + number));
    if (average > 0.0) out.volts_average.push_back(reading(volts(average), "analyser", "average." + number));
    out.amperes.push_back(reading(amperes(a), "analyser", "current." + number));
    out.active.push_back(reading(watts(w), "analyser", "power." + number));
  }
  out.frequency = reading(hertz(60.0), "analyser", "frequency");
  return out;
}

RatioReadings ratios(Unit const& unit) {
  RatioReadings out;
  for (auto const& plan : ratio_plan(unit)) {
    RatioPoint point;
    point.tap = plan.tap;
    point.hv_pair = plan.hv_pair;
    point.lv_pair = plan.lv_pair;
    point.applied = reading(volts(40.0), "ratio_meter", "applied");
    point.ratio = reading(Number(plan.expected_ratio * 1.0005), "ratio_meter", "ratio");
    point.phase = reading(degrees(0.0), "ratio_meter", "phase");
    point.exciting_current = reading(milliamperes(1.0), "ratio_meter", "current");
    out.points.push_back(point);
  }
  return out;
}

ResistancePoint resistance(std::string terminals, double ohm, double set_a, int count) {
  ResistancePoint out;
  out.terminals = std::move(terminals);
  out.set_current = amperes(set_a);
  out.offset_before = out.offset_after = reading(volts(2e-6), "ohm_meter", "voltage");
  for (int i = 0; i < count; ++i) {
    double const wobble = 1.0 + 1e-5 * (i % 5 - 2);
    out.volts.push_back(reading(volts(ohm * set_a * wobble + 2e-6), "ohm_meter", "voltage"));
    out.current.push_back(reading(amperes(set_a), "ohm_meter", "current"));
  }
  out.settling = seconds(12.0);
  out.temperature = liquid(25.0, 25.0);
  return out;
}

ResistanceReadings resistances(int count) {
  return {{resistance("H1-H2", 1.78, 10.0, count), resistance("H2-H3", 1.78, 10.0, count),
           resistance("H3-H1", 1.78, 10.0, count), resistance("X1-X0", 0.8e-3, 40.0, count),
           resistance("X2-X0", 0.8e-3, 40.0, count), resistance("X3-X0", 0.8e-3, 40.0, count)}};
}

struct Readings {
  RatioReadings ratio;
  ResistanceReadings resistance;
  NoLoadReadings no_load;
  LoadLossReadings load_loss;
  AppliedReadings applied;
  InducedReadings induced;
};

Readings all_readings(Unit const& unit, int count, double load_v, double load_w) {
  Readings out{ratios(unit), resistances(count), {}, {}, {}, {}};
  NoLoadPoint point;
  point.fed = "X1,X2,X3";
  double const line_a = 500000.0 / (std::sqrt(3.0) * 12470.0);
  for (int i = 0; i < count; ++i) {
    point.snapshots.push_back(three(277.13, 2.0, 220.0 + 0.01 * (i % 5), 277.13));
    out.load_loss.snapshots.push_back(three(load_v, line_a, load_w / 3.0 + 0.01 * (i % 5)));
    out.applied.level.push_back(reading(volts(34000.0), "hipot", "level"));
    out.applied.current.push_back(reading(milliamperes(64.0), "hipot", "current"));
    out.induced.snapshots.push_back(three(554.26, 3.0, 60.0));
  }
  out.no_load.points.push_back(point);
  out.no_load.temperature = out.load_loss.temperature_before = out.load_loss.temperature_after = liquid(25.0, 25.0);
  out.load_loss.fed = "H1,H2,H3";
  out.load_loss.line_to_line_volts = true;
  out.load_loss.on_time = seconds(10.0);
  out.applied.winding = "hv";
  out.applied.frequency = reading(hertz(60.0), "hipot", "frequency");
  out.applied.held = out.induced.held = seconds(60.0);
  out.induced.fed = "X1,X2,X3";
  for (auto& snapshot : out.induced.snapshots) snapshot.frequency = reading(hertz(180.0), "analyser", "frequency");
  out.induced.frequency = reading(hertz(180.0), "analyser", "frequency");
  out.induced.expected_current = amperes(3.0);
  return out;
}

Bench bench_of(int taps, bool phase_error) {
  Bench bench;
  bench.unit = tapped(taps);
  bench.unit.hv.capacitance_to_earth = nanofarads(5.0);
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5),
                       line("winding_resistance", "unbalance_percent", {}, 2.0, "hv"),
                       line("no_load", "corrected_no_load_loss_w", {}, 750.0),
                       line("load_loss", "corrected_load_loss_w", {}, 5500.0),
                       line("load_loss", "impedance_percent", 4.2, 4.8),
                       line("load_loss", "efficiency_percent", 99.0, {}),
                       line("applied", "level_kv", 33.0, 35.0, "hv")};
  for (auto& one : bench.sheet.lines) one.decision.name = "guard_band";
  if (phase_error) {
    bench.calibration["analyser"].channels[2].phase_error_rad = 1e-4;
    bench.calibration["analyser"].channels[2].phase_u_rad = 5e-5;
  }
  return bench;
}

/// Every test once, and the verdict. Returns the number of results with an uncertainty.
std::size_t evaluate_all(Readings const& in, Bench const& bench, std::string& invalid) {
  auto const context = bench.context();
  std::vector<Evaluation> all{evaluate_ratio(in.ratio, context), evaluate_phase_relation(in.ratio, context),
                              evaluate_winding_resistance(in.resistance, context),
                              evaluate_no_load(in.no_load, context)};
  auto const known = measured_resistances(in.resistance, context);
  all.push_back(evaluate_load_loss(in.load_loss, known, {660.0, 1.0}, context));
  all.push_back(evaluate_applied(in.applied, context));
  all.push_back(evaluate_induced(in.induced, context));
  benchmark::DoNotOptimize(judge_attempt(all, bench.sheet, false));
  std::size_t uncertain = 0;
  for (auto const& one : all) {
    if (one.invalid_reason) invalid = one.test + ": " + *one.invalid_reason;
    for (auto const& result : one.results) uncertain += result.uncertainty ? 1 : 0;
  }
  return uncertain;
}

void run(benchmark::State& state, int taps, int count, double load_v, double load_w, bool phase_error) {
  auto const bench = bench_of(taps, phase_error);
  auto const in = all_readings(bench.unit, count, load_v, load_w);
  std::string invalid;
  std::size_t results = 0;
  for (auto _ : state) results = evaluate_all(in, bench, invalid);
  if (!invalid.empty()) state.SkipWithError(invalid.c_str());
  state.counters["results_with_u"] = static_cast<double>(results);
  state.counters["units_per_s"] = benchmark::Counter(1.0, benchmark::Counter::kIsIterationInvariantRate);
}

/// Five taps, four readings of each; power factor of the load-loss test 0.18: linear uncertainty.
void five_tap_unit(benchmark::State& state) { run(state, 5, 4, 561.0, 4100.0, false); }
/// The same at power factor 0.09 with a phase error known: 20 000 trials each for two load losses.
void five_tap_unit_with_trials(benchmark::State& state) { run(state, 5, 4, 690.0, 2500.0, true); }
void taps(benchmark::State& state) {
  auto const bench = bench_of(static_cast<int>(state.range(0)), false);
  auto const in = ratios(bench.unit);
  for (auto _ : state) benchmark::DoNotOptimize(evaluate_ratio(in, bench.context()));
}
void readings(benchmark::State& state) {
  auto const bench = bench_of(5, false);
  auto const in = resistances(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(evaluate_winding_resistance(in, bench.context()));
}

BENCHMARK(five_tap_unit)->Unit(benchmark::kMicrosecond);
BENCHMARK(five_tap_unit)->Threads(2)->UseRealTime()->Unit(benchmark::kMicrosecond);
BENCHMARK(five_tap_unit_with_trials)->Unit(benchmark::kMicrosecond);
BENCHMARK(taps)->Arg(5)->Arg(10)->Arg(20)->Arg(40)->Unit(benchmark::kMicrosecond);
BENCHMARK(readings)->Arg(100)->Arg(200)->Arg(400)->Arg(800)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
