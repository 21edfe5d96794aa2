// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

AppliedReadings applied(double kv, double milliampere, double held_s = 60.0) {
  AppliedReadings out;
  out.winding = "hv";
  for (int i = 0; i < 6; ++i) {
    out.level.push_back(reading(kilovolts(kv + 0.05 * i), "hipot", "level"));
    out.current.push_back(reading(milliamperes(milliampere), "hipot", "current"));
  }
  out.frequency = reading(hertz(60.0), "hipot", "frequency");
  out.held = seconds(held_s);
  return out;
}

Bench applied_bench() {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.capacitance_to_earth = nanofarads(1.0);
  bench.sheet.lines = {line("applied", "level_kv", 34.0 * 0.97, 34.0 * 1.03, "hv"),
                       line("applied", "duration_s", 60.0, {})};
  return bench;
}

InducedReadings induced(double v, double amperes_read, double hz, double held_s) {
  InducedReadings out;
  out.fed = "X1-X3";
  for (int i = 0; i < 4; ++i) {
    PowerSnapshot one;
    one.volts_rms = {reading(volts(v), "analyser", "voltage.1")};
    one.amperes = {reading(amperes(amperes_read), "analyser", "current.1")};
    one.active = {reading(watts(20.0), "analyser", "power.1")};
    one.frequency = reading(hertz(hz), "analyser", "frequency");
    out.snapshots.push_back(one);
  }
  out.frequency = reading(hertz(hz), "analyser", "frequency");
  out.held = seconds(held_s);
  return out;
}

Bench induced_bench() {
  Bench bench;
  bench.unit = small_single_phase();
  auto duration = line("induced", "duration_s", 60.0, {});
  duration.per_frequency = SheetLine::PerFrequency{7200.0, 0.0, 60.0};
  bench.sheet.lines = {line("induced", "level_v", 480.0 * 0.97, 480.0 * 1.03), duration,
                       line("induced", "exciting_current_ratio", 0.5, 2.0)};
  return bench;
}

}  // namespace

TEST_CASE("an applied test passes with its level held, its time, and the current that proves it",
          "[limits][evaluate][applied]") {
  auto const bench = applied_bench();
  // 1 nF, 34 kV, 60 Hz: 12.8 mA.
  auto const out = evaluate_applied(applied(34.0, 13.0), bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK(find(out, "level_kv")->verdict == Verdict::pass);
  CHECK(find(out, "level_kv")->value == Approx(34.0));  // the lowest of the hold
  CHECK(find(out, "hold_current_ratio")->value == Approx(13.0 / 12.866).epsilon(0.01));
  CHECK(judge_attempt({out}, bench.sheet, false).outcome == Outcome::pass);
  CHECK(find(evaluate_applied(applied(32.9, 13.0), bench.context()), "level_kv")->verdict == Verdict::fail);
  CHECK(find(evaluate_applied(applied(34.0, 13.0, 59.0), bench.context()), "duration_s")->verdict == Verdict::fail);
}

TEST_CASE("with the lead off, or the other winding not earthed, an applied test is invalid and not a pass",
          "[limits][evaluate][applied]") {
  auto const bench = applied_bench();
  for (double const milliampere : {0.0, 0.02, 4.0, 25.0}) {
    INFO(milliampere);
    auto const out = evaluate_applied(applied(34.0, milliampere), bench.context());
    REQUIRE(out.invalid_reason);
    CHECK(judge_attempt({out}, bench.sheet, false).outcome == Outcome::invalid);
  }
  auto stray = applied(34.0, 25.0);
  stray.stray_current = milliamperes(12.0);  // of leads and cage: deducted
  CHECK_FALSE(evaluate_applied(stray, bench.context()).invalid_reason);
  auto unknown = applied_bench();
  unknown.unit.hv.capacitance_to_earth.reset();
  auto const out = evaluate_applied(applied(34.0, 13.0), unknown.context());
  CHECK_FALSE(out.invalid_reason);
  REQUIRE_FALSE(out.warnings.empty());
  CHECK(out.warnings.front().find("operator must confirm") != std::string::npos);
}

TEST_CASE("a breakdown fails with a clean bench, and only holds the unit otherwise", "[limits][evaluate][breakdown]") {
  auto const bench = applied_bench();
  auto broken = applied(34.0, 13.0);
  broken.broke_down = true;
  broken.what_happened = "voltage collapse at 31 kV";
  CHECK(judge_attempt({evaluate_applied(broken, bench.context())}, bench.sheet, false).outcome == Outcome::fail);
  BreakdownReading reading_of{"induced", "source over-current", volts(430.0), amperes(12.0), seconds(9.0), true};
  auto judgement = judge_attempt({evaluate_breakdown(reading_of, bench.context())}, bench.sheet, true);
  CHECK(judgement.outcome == Outcome::fail);
  CHECK(judgement.disposition == Disposition::hold);
  CHECK(judgement.reason.find("430 V") != std::string::npos);
  reading_of.bench_proven_clean = false;
  judgement = judge_attempt({evaluate_breakdown(reading_of, bench.context())}, bench.sheet, true);
  CHECK(judgement.outcome == Outcome::invalid);
  CHECK(judgement.disposition == Disposition::hold);  // overstressed
}

TEST_CASE("an induced test needs its level, its time at that frequency, flux at rated and a current",
          "[limits][evaluate][induced]") {
  auto const bench = induced_bench();
  auto good = induced(480.0, 0.4, 240.0, 30.0);
  good.expected_current = amperes(0.35);
  auto const out = evaluate_induced(good, bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK(find(out, "level_v")->verdict == Verdict::pass);
  CHECK(find(out, "duration_s")->verdict == Verdict::pass);  // 7200 cycles at 240 Hz are 30 s
  CHECK(find(evaluate_induced(induced(480.0, 0.4, 240.0, 29.0), bench.context()), "duration_s")->verdict ==
        Verdict::fail);
  CHECK(find(evaluate_induced(induced(460.0, 0.4, 240.0, 30.0), bench.context()), "level_v")->verdict == Verdict::fail);
  CHECK(evaluate_induced(induced(480.0, 0.4, 100.0, 60.0), bench.context()).invalid_reason);  // saturated
  CHECK(evaluate_induced(induced(480.0, 0.0, 240.0, 30.0), bench.context()).invalid_reason);  // leads off
  auto wrong_pair = good;
  wrong_pair.expected_current = amperes(0.05);
  CHECK(evaluate_induced(wrong_pair, bench.context()).invalid_reason);
}

TEST_CASE("insulation resistance is shown in megohms, with its ratios where they were taken",
          "[limits][evaluate][insulation]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.sheet.lines = {line("insulation_resistance", "resistance_megohm", 100.0, {})};
  InsulationReadings readings;
  readings.between = "H to X+tank";
  readings.test_voltage = reading(volts(1000.0), "hipot", "voltage");
  readings.at_15_s = reading(megohms(4000.0), "hipot", "resistance");
  readings.at_60_s = reading(megohms(5000.0), "hipot", "resistance");
  auto const out = evaluate_insulation_resistance(readings, bench.context());
  CHECK(find(out, "resistance_megohm")->value == Approx(5000.0));
  CHECK(find(out, "resistance_megohm")->verdict == Verdict::pass);
  CHECK(find(out, "absorption_ratio")->value == Approx(1.25));
  readings.at_60_s.reset();
  CHECK(evaluate_insulation_resistance(readings, bench.context()).invalid_reason);
}
