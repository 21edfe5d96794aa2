// SPDX-License-Identifier: MIT
// Procedures one by one: fake roles, the real guard, virtual time.
#include <catch2/catch.hpp>

#include <algorithm>
#include <cmath>

#include "rig.hpp"
#include "tests_seq/procedures/procedures.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

PlanStep step_of(Plan const& plan, std::string const& test, int which = 0) {
  for (auto const& step : plan.steps) {
    if (step.test == test && which-- == 0) return step;
  }
  throw std::runtime_error("no such step: " + test);
}

StopCause cause_of(std::function<void()> const& run, std::string* words = nullptr) {
  try {
    run();
  } catch (StepStopped const& stopped) {
    if (words != nullptr) *words = stopped.words;
    return stopped.cause;
  }
  FAIL("the step did not stop");
  return StopCause::device;
}

}  // namespace

TEST_CASE("ratio: exchanged leads are found at 1 V, and nothing is raised", "[procedures][ratio]") {
  Rig rig;
  rig.unit.leads_exchanged = true;
  auto const step = step_of(rig.plan(), "ratio");
  std::string words;
  auto const cause = cause_of(
      [&] {
        rig.run_step(
            step, [&](StepContext& at) -> Task<void> { co_await measure_ratio(at, std::get<RatioWork>(step.work)); });
      },
      &words);
  CHECK(cause == StopCause::wrong_unit);
  CHECK(words.find("exchanged") != std::string::npos);
  CHECK(rig.ratio.highest_asked_v <= 1.0);
}

TEST_CASE("ratio: every tap by the operator with the unit earthed, every pair, the rated tap last",
          "[procedures][ratio]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "ratio");
  RatioReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> {
    readings = co_await measure_ratio(at, std::get<RatioWork>(step.work));
  });
  CHECK(readings.points.size() == 15);
  CHECK(rig.block.energisations == 5);
  CHECK(rig.unit.tap == 3);
  CHECK_FALSE(rig.block.touched_live);
  CHECK(readings.points.back().tap == 3);
  CHECK(readings.points.front().applied.value.in(volts) == Approx(80.0));
}

TEST_CASE("polarity: additive reads above, and below with H1-X1 joined", "[procedures][polarity]") {
  Rig rig;
  auto const plan = rig.plan();
  for (int which : {0, 1}) {
    auto const step = step_of(plan, "polarity", which);
    PolarityReadings readings;
    rig.run_step(step, [&](StepContext& at) -> Task<void> {
      readings = co_await measure_polarity(at, std::get<PolarityWork>(step.work));
    });
    double const across = readings.across.value.in(volts), applied = readings.applied.value.in(volts);
    CHECK((which == 0 ? across > applied : across < applied));
  }
}

TEST_CASE(
    "winding resistance: settled before it is recorded, offset kept, at least four readings, at most 15 % of rated",
    "[procedures][resistance]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "winding_resistance");
  auto const& work = std::get<ResistanceWork>(step.work);
  for (auto const& pair : work.pairs) {
    CHECK(pair.current.in(amperes) <= 0.15 * rig.unit.unit.rated_line_current(rig.unit.unit.hv).in(amperes));
  }
  ResistanceReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_winding_resistance(at, work); });
  REQUIRE(readings.points.size() == 1);
  auto const& point = readings.points.front();
  CHECK(point.volts.size() >= 4);
  CHECK(point.volts.size() == point.current.size());
  CHECK(point.predicted_change_relative < 1e-3);
  CHECK(point.offset_before.value.in(volts) == Approx(2e-5));
  CHECK(point.offset_after.good());
  CHECK(point.offset_after.value.in(volts) == Approx(2e-5).margin(1e-4));
  // Exponential of 4 s from 50 % above: 0.1 % of change is left no sooner than after ln(500) time constants.
  CHECK(point.settling.in(seconds) > 20.0);
  double const ohm = (point.volts.front().value.in(volts)-2e-5) / point.current.front().value.in(amperes);
  CHECK(ohm == Approx(3.5).epsilon(0.003));
  CHECK_FALSE(rig.resistance.selected_under_current);
}

TEST_CASE("winding resistance: what never settles ends in its time and says how far it was",
          "[procedures][resistance]") {
  Rig rig;
  rig.resistance.never_settles = true;
  auto step = step_of(rig.plan(), "winding_resistance");
  auto work = std::get<ResistanceWork>(step.work);
  work.longest_wait = seconds(60);
  ResistanceReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_winding_resistance(at, work); });
  CHECK(readings.points.front().settling.in(seconds) < 70.0);
  CHECK(readings.points.front().predicted_change_relative > 1e-3);
}

TEST_CASE("no-load: rated volts by the average within 0.25 %", "[procedures][no_load]") {
  Rig rig;
  rig.analyzer.gain = 0.97;           // lead drop: the source's own volts are not the unit's
  rig.unit.average_over_rms = 0.985;  // a wave whose average is not its rms
  auto const step = step_of(rig.plan(), "no_load");
  NoLoadReadings readings;
  // The setting may be raised up to 2 % above the declared one; here it needs more, so two percents of lead drop are as
  // much as the plan allows.
  rig.analyzer.gain = 0.999;
  rig.run_step(step, [&](StepContext& at) -> Task<void> {
    readings = co_await measure_no_load(at, std::get<NoLoadWork>(step.work));
  });
  REQUIRE(readings.points.size() == 1);
  CHECK(readings.points.front().snapshots.size() >= 3);
  for (auto const& snapshot : readings.points.front().snapshots) {
    CHECK(std::abs(snapshot.volts_average.front().value.in(volts) / 240.0 - 1.0) <= 0.0025);
  }
  CHECK(rig.source.settings.front() == Approx(60.0));  // a quarter first
}

TEST_CASE("no-load: a source whose steps are too coarse gives two points that straddle rated volts",
          "[procedures][no_load]") {
  Rig rig;
  rig.source.step_v = 1.5;  // 0.6 % of 240 V
  rig.analyzer.gain = 0.9965;
  auto const step = step_of(rig.plan(), "no_load");
  NoLoadReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> {
    readings = co_await measure_no_load(at, std::get<NoLoadWork>(step.work));
  });
  bool below = false, above = false;
  for (auto const& snapshot : readings.points.front().snapshots) {
    double const average = snapshot.volts_average.front().value.in(volts);
    below = below || average < 240.0;
    above = above || average > 240.0;
    CHECK(std::abs(average / 240.0 - 1.0) < 0.02);
  }
  CHECK(below);
  CHECK(above);
}

TEST_CASE("load loss: rated current, no longer than the predicted heating allows", "[procedures][load_loss]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "load_loss");
  auto const& work = std::get<LoadLossWork>(step.work);
  LoadLossReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_load_loss(at, work); });
  REQUIRE_FALSE(readings.snapshots.empty());
  for (auto const& snapshot : readings.snapshots) {
    CHECK(snapshot.amperes.front().value / work.rated == Approx(1.0).margin(0.01));
  }
  // 0.5 K at 2.1 K a minute: 14.3 s (computation a.7), lowering and stop included within the next seconds.
  CHECK(work.on_time.in(seconds) == Approx(14.2857).epsilon(1e-3));
  CHECK(readings.on_time.in(seconds) < work.on_time.in(seconds) + 6.0);
  CHECK(rig.source.settings.front() < 0.25 * work.expected.in(volts));
}

TEST_CASE("load loss: a missing shorting bar is found at a fifth of the volts", "[procedures][load_loss]") {
  Rig rig;
  rig.unit.bar_missing = true;
  auto const step = step_of(rig.plan(), "load_loss");
  std::string words;
  auto const cause = cause_of(
      [&] {
        rig.run_step(step, [&](StepContext& at) -> Task<void> {
          co_await measure_load_loss(at, std::get<LoadLossWork>(step.work));
        });
      },
      &words);
  CHECK(cause == StopCause::cannot_measure);
  CHECK(words.find("shorting bar") != std::string::npos);
  CHECK(rig.source.settings.size() == 1);
}

TEST_CASE("load loss: an impedance far above the declared one is measured at less current, never above the ceiling",
          "[procedures][load_loss]") {
  Rig rig;
  rig.unit.impedance_percent = 3.5;
  auto const step = step_of(rig.plan(), "load_loss");
  auto const& work = std::get<LoadLossWork>(step.work);
  LoadLossReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_load_loss(at, work); });
  double const share = readings.snapshots.front().amperes.front().value / work.rated;
  CHECK(share > 0.5);
  CHECK(share < 0.9);
  for (double const set : rig.source.settings) CHECK(set < step.energy->ceiling.in(volts));
}

TEST_CASE("applied: the level, sixty seconds, the current through the hold, and what is left is shown",
          "[procedures][applied]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "applied", 1);
  auto const& work = std::get<AppliedWork>(step.work);
  REQUIRE(work.winding == "hv");
  // 2 pi f C V: 1.5 nF, 60 Hz, 34 kV (computation d).
  REQUIRE(work.expected);
  CHECK(work.expected->in(milliamperes) == Approx(2.0 * M_PI * 60.0 * 1.5e-9 * 34000.0 * 1000.0).epsilon(1e-9));
  AppliedReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_applied(at, work); });
  CHECK_FALSE(readings.broke_down);
  CHECK(readings.held.in(seconds) >= 60.0);
  CHECK(readings.held.in(seconds) < 63.0);
  CHECK(readings.level.size() > 40);
  CHECK(readings.level.back().value.in(kilovolts) == Approx(34.0).epsilon(0.01));
  REQUIRE_FALSE(rig.progress.holds.empty());
  CHECK(rig.progress.holds.front() == Approx(60.0).margin(1.0));
}

TEST_CASE("applied: without a design capacitance the operator confirms the current", "[procedures][applied]") {
  auto unit = demo_unit();
  unit.hv.capacitance_to_earth.reset();
  Rig rig(unit);
  auto const step = step_of(rig.plan(), "applied", 1);
  rig.person.answers["applied.current"] = "no";
  auto const cause = cause_of([&] {
    rig.run_step(
        step, [&](StepContext& at) -> Task<void> { co_await measure_applied(at, std::get<AppliedWork>(step.work)); });
  });
  CHECK(cause == StopCause::cannot_measure);
}

TEST_CASE("applied: a level that is not reached is a breakdown, kept with what was read", "[procedures][applied]") {
  Rig rig;
  rig.dielectric.breaks_at_kv = 25.0;
  auto const step = step_of(rig.plan(), "applied", 1);
  auto const cause = cause_of([&] {
    rig.run_step(
        step, [&](StepContext& at) -> Task<void> { co_await measure_applied(at, std::get<AppliedWork>(step.work)); });
  });
  CHECK(cause == StopCause::breakdown);
  auto const types = rig.event_types();
  CHECK(types.back() == "readings");
}

TEST_CASE("induced: frequency keeps the flux at rated, 7200 cycles are held", "[procedures][induced]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "induced");
  auto const& work = std::get<InducedWork>(step.work);
  CHECK(work.frequency.in(hertz) >= 120.0);
  CHECK(work.hold.in(seconds) == Approx(7200.0 / work.frequency.in(hertz)));
  InducedReadings readings;
  rig.run_step(step, [&](StepContext& at) -> Task<void> { readings = co_await measure_induced(at, work); });
  CHECK(readings.held.in(seconds)*readings.frequency.value.in(hertz) >= 7200.0);
  for (auto const& snapshot : readings.snapshots) {
    CHECK(snapshot.volts_rms.front().value.in(volts) == Approx(480.0).epsilon(0.01));
  }
  CHECK(rig.source.settings.front() <= 0.25 * 480.0 + 1e-9);
}

TEST_CASE("a source is never asked for anything once consent is withdrawn", "[procedures]") {
  Rig rig;
  auto const step = step_of(rig.plan(), "no_load");
  auto done = std::make_shared<bool>(false);
  rig.progress.on_reading = [&, done](std::string const& what) {
    if (*done || what != "average volts") return;
    *done = true;
    rig.block.stop_pressed = true;
  };
  auto const cause = cause_of([&] {
    rig.run_step(step,
                 [&](StepContext& at) -> Task<void> { co_await measure_no_load(at, std::get<NoLoadWork>(step.work)); });
  });
  CHECK(cause == StopCause::guard);
  CHECK(rig.source.settings.size() <= 2);
  CHECK_FALSE(rig.block.live());
}
