// SPDX-License-Identifier: MIT
// No-load loss and exciting current (10 CFR 431 subpart K appendix A 4.4): rated frequency, rated volts set by the
// average-sensing voltmeter at the unit's terminals within 0.25 %, or two points that straddle it; what belongs
// together is read in one request.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/procedures/ac_supply.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

constexpr double first_look = 0.05;         ///< of rated volts
constexpr double unbalance_at_most = 0.02;  ///< highest minus lowest phase over their mean (common practice, no source)
constexpr double aimed_within = 0.0002;     ///< 0.05 % of the loss: set finer as long as the source's steps allow it
constexpr double set_within = 0.0015;       ///< good enough, so that drift leaves the readings within ...
constexpr double read_within = 0.0025;      ///< ... what the evaluation takes as set
constexpr double straddle = 0.006;          ///< either side of the wanted volts
constexpr double far_beyond_design = 5.0;   ///< times the exciting current at rated volts: beyond the analyser's range
constexpr int settings_at_most = 5;
constexpr int snapshots_of_a_point = 3;
constexpr Duration settle = seconds(2);
constexpr Duration between_snapshots = seconds(1);

struct NoLoadRun {
  StepContext& at;
  NoLoadWork const& work;
  PowerAnalyzer& analyzer;
  Permit const& permit;
  double set_v = 0.0;      ///< the source's present setting, line volts
  double gain = 1.0;       ///< average volts at the unit over the setting
  double highest_v = 0.0;  ///< the declared set value
};

Task<void> set_source(NoLoadRun& run, double line_volts) {
  AcSource::Setting setting;
  run.set_v = std::min(line_volts, run.highest_v * 1.02);
  setting.voltage = volts(run.set_v);
  setting.frequency = run.work.frequency;
  setting.phases = run.work.wiring.phases;
  setting.ramp = seconds(3);
  setting.current_limit = run.at.plan_step.energy->trip_current;
  std::string hint;
  co_await raise_to(run.at, run.permit, std::move(setting), Shortfall::of_the_unit, std::move(hint));
  co_await wait_energised(run.at, run.permit, settle);
}

Task<PowerSnapshot> read_snapshot(NoLoadRun& run) {
  auto const snapshot = co_await need(run.analyzer.read());
  require_live(run.at, run.permit);
  co_return snapshot;
}

/// The analyser gives no GOOD volts: an exciting current far beyond the design's throws it out of its range, and that
/// says something of the unit; anything else is the bench's. The source's own ammeter tells.
Task<void> explain_bad_volts(NoLoadRun& run) {
  AcSource& source = in_role(run.at.world.roles.ac_source, "ac_source");
  auto const state = co_await need(source.read());
  double const expected_a = run.work.expected.in(amperes);
  bool const far_beyond = state.current.good() && state.current.value.in(amperes) > far_beyond_design * expected_a;
  if (state.tripped || far_beyond) {
    throw StepStopped::broken_down(
        breakdown_at(run.at,
                     fmt::format("exciting current {:.3g} A where the design draws {:.3g} A at rated volts",
                                 state.current.value.in(amperes), expected_a),
                     state.voltage.value, state.current.value));
  }
  throw StepStopped(StopCause::cannot_measure, "no_load: the analyser's average volts are not GOOD: check its leads");
}

/// At a twentieth of the volts, where nothing much can flow: phases that differ there differ at the source, not in the
/// unit, and would drive large currents through a closed delta at full volts.
Task<void> require_balanced_supply(NoLoadRun& run) {
  co_await set_source(run, first_look * run.work.rated.in(volts));
  auto const snapshot = co_await read_snapshot(run);
  double lowest = 0.0, highest = 0.0, sum = 0.0;
  for (auto const& reading : snapshot.volts_rms) {
    if (!reading.good()) co_return;  // the next look explains it
    double const v = reading.value.in(volts);
    lowest = &reading == &snapshot.volts_rms.front() ? v : std::min(lowest, v);
    highest = std::max(highest, v);
    sum += v;
  }
  double const mean = sum / static_cast<double>(std::max<std::size_t>(1, snapshot.volts_rms.size()));
  if (mean > 0.0 && (highest - lowest) / mean > unbalance_at_most) {
    throw StepStopped(
        StopCause::cannot_measure,
        fmt::format("no_load: the supply's phases differ by {:.2g} % of their mean at {:.3g} V ({:.4g} to "
                    "{:.4g} V), at most {:.2g} %: look at the source's phases, fuses and leads",
                    100.0 * (highest - lowest) / mean, mean, lowest, highest, 100.0 * unbalance_at_most));
  }
}

Task<double> read_average(NoLoadRun& run) {
  auto const snapshot = co_await read_snapshot(run);
  auto const average = average_line_volts(snapshot, run.work.wiring);
  if (!average) co_await explain_bad_volts(run);
  run.at.world.progress.reading("average volts", *average, "V");
  if (run.set_v > 0.0 && *average > 0.0) run.gain = *average / run.set_v;
  co_return *average;
}

/// Whether the average volts came near enough. A remaining deviation is no chance: on one source every unit of a design
/// would be off to the same side. So it is set again while that still helps.
Task<bool> set_average(NoLoadRun& run, double wanted_v) {
  double deviation = 1.0;
  for (int i = 0; i < settings_at_most; ++i) {
    co_await set_source(run, wanted_v / run.gain);
    double const average = co_await read_average(run);
    if (!(average > 0.0)) {
      throw StepStopped(StopCause::cannot_measure,
                        "no_load: the source is up, the analyser reads no volts: sense leads off");
    }
    double const before = deviation;
    deviation = std::abs(average / wanted_v - 1.0);
    if (deviation <= aimed_within || (deviation <= set_within && deviation > 0.5 * before)) co_return true;
  }
  co_return deviation <= set_within;
}

Task<void> take_snapshots(NoLoadRun& run, NoLoadPoint& point) {
  run.at.world.guard.reached();
  for (int i = 0; i < snapshots_of_a_point; ++i) {
    auto snapshot = co_await read_snapshot(run);
    double sum = 0.0;
    for (auto const& watt : snapshot.active) sum += watt.value.in(watts);
    run.at.world.progress.reading("no-load loss", sum, "W");
    point.snapshots.push_back(std::move(snapshot));
    co_await wait_energised(run.at, run.permit, between_snapshots);
  }
  std::string hint;
  co_await require_not_tripped(run.at, Shortfall::of_the_unit, std::move(hint));
}

bool all_near(NoLoadPoint const& point, AcWiring const& wiring, double wanted_v) {
  return std::all_of(point.snapshots.begin(), point.snapshots.end(), [&](PowerSnapshot const& snapshot) {
    auto const average = average_line_volts(snapshot, wiring);
    return average && std::abs(*average / wanted_v - 1.0) <= read_within;
  });
}

Task<NoLoadPoint> measure_point(NoLoadRun& run, double percent) {
  NoLoadPoint point;
  point.percent = percent;
  point.fed = run.work.wiring.fed;
  point.line_to_line_volts = run.work.wiring.line_to_line_volts;
  double const wanted_v = run.work.rated.in(volts)*percent / 100.0;
  bool const set = co_await set_average(run, wanted_v);
  if (set) {
    co_await take_snapshots(run, point);
    if (all_near(point, run.work.wiring, wanted_v)) co_return point;
    point.snapshots.clear();
  }
  // The source's steps are too coarse or it wanders: a point on either side, interpolated, never extrapolated.
  run.at.world.progress.act(fmt::format("{:.4g} %: two points that straddle the wanted volts", percent));
  std::array<double, 2> const shares{1.0 - straddle, 1.0 + straddle};
  for (double const share : shares) {
    double const aim = wanted_v * share;
    co_await set_source(run, aim / run.gain);
    co_await take_snapshots(run, point);
  }
  co_return point;
}

Task<void> measure_points(NoLoadRun& run, NoLoadReadings& readings) {
  std::vector<double> percents = run.work.percents;
  std::sort(percents.begin(), percents.end());
  if (run.work.wiring.phases == 3) co_await require_balanced_supply(run);
  // A quarter first: leads and reading are looked at where little can happen.
  co_await set_source(run, 0.25 * run.work.rated.in(volts));
  co_await read_average(run);
  for (double const percent : percents) {
    auto point = co_await measure_point(run, percent);
    readings.points.push_back(std::move(point));
  }
}

}  // namespace

Task<NoLoadReadings> measure_no_load(StepContext& at, NoLoadWork const& work) {
  PowerAnalyzer& analyzer = in_role(at.world.roles.power_analyzer, "power_analyzer");
  NoLoadReadings readings;
  readings.temperature = co_await read_temperatures(at);
  PowerAnalyzer::Setup setup;
  setup.wiring = work.wiring.wiring;
  setup.expected_voltage = at.plan_step.energy->set;
  setup.expected_current = work.expected * far_beyond_design;
  setup.frequency = work.frequency;
  co_await need(analyzer.set_up(std::move(setup)));

  Permit const permit = co_await energise(at, *at.plan_step.energy);
  NoLoadRun run{at, work, analyzer, permit};
  run.highest_v = at.plan_step.energy->set.in(volts);
  co_await measure_points(run, readings);
  co_await lower_and_stop(at, seconds(5), at.plan_step.keeps_area);
  co_await keep_readings(at, "no_load", readings_text(readings));
  co_return readings;
}

Task<void> demagnetise(StepContext& at, DemagnetiseWork const& work) {
  AcSource::Setting setting;
  setting.voltage = work.rated;
  setting.frequency = work.frequency;
  setting.phases = work.wiring.phases;
  setting.ramp = work.ramp;
  setting.current_limit = at.plan_step.energy->trip_current;
  Permit const permit = co_await energise(at, *at.plan_step.energy);
  std::string hint;
  co_await raise_to(at, permit, std::move(setting), Shortfall::of_the_unit, std::move(hint));
  at.world.guard.reached();
  co_await wait_energised(at, permit, seconds(1));
  // The way down is what demagnetises: slow and without a step.
  co_await lower_and_stop(at, work.ramp, at.plan_step.keeps_area);
}

}  // namespace benchward
