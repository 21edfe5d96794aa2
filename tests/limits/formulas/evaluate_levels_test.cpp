// SPDX-License-Identifier: MIT
// Bounds, remarks and stated steps of the evaluations of ratio, dielectric tests and temperatures. All by hand.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/evaluate/measured_values.hpp"
#include "limits/evaluate/ratio_points.hpp"
#include "tests/limits/formulas/evaluate_readings.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

Bench ratio_bench(Unit unit, double tolerance = 0.5) {
  Bench bench;
  bench.unit = std::move(unit);
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -tolerance, tolerance)};
  bench.calibration["ratio_meter"].channels[0].relative_u = 1e-5;
  return bench;
}

/// Ratios of one tap only, as if the tap changer stood at `percent`.
RatioReadings on_tap(Unit const& unit, int position, double percent) {
  RatioReadings out;
  auto const plan = ratio_plan(unit);
  auto const all = off_by(unit, 1.0);
  for (std::size_t i = 0; i < plan.size(); ++i) {
    if (plan[i].tap != position) continue;
    out.points.push_back(all.points[i]);
    out.points.back().ratio.value =
        Number(plan[i].expected_ratio * (1.0 + percent / 100.0) / (1.0 + plan[i].tap_percent / 100.0));
  }
  return out;
}

}  // namespace

// ---- ratio ----------------------------------------------------------------------------------------------------------

TEST_CASE("a turn is named from half a turn on, one of them in the singular", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  auto const remark = [&](double factor) {
    auto const bench = ratio_bench(unit);
    return evaluate_ratio(off_by(unit, factor), bench.context()).results.front().remark;
  };
  // x turns of 53 too many in the low-voltage winding make the ratio 53 / (53 + x).
  CHECK(says(remark(53.0 / 53.51), "by 0.5 turn too many of 53 in the low-voltage winding"));
  CHECK_FALSE(says(remark(53.0 / 53.49), "low-voltage winding"));
  CHECK(says(remark(53.0 / 52.49), "by 0.5 turn too few of 53 in the low-voltage winding"));
  CHECK_FALSE(says(remark(53.0 / 52.51), "low-voltage winding"));
  CHECK(says(remark(53.0 / 54.42), "by 1.4 turn too many"));
  CHECK(says(remark(53.0 / 54.56), "by 1.6 turns too many"));
  // And of 1590 in the high-voltage winding.
  CHECK(says(remark(1590.51 / 1590.0), "by 0.5 turn too many of 1590 in the high-voltage winding"));
  CHECK_FALSE(says(remark(1590.49 / 1590.0), "high-voltage winding"));
  CHECK(says(remark(1588.4 / 1590.0), "by 1.6 turns too few of 1590"));
}

TEST_CASE("many turns too few are counted on the turns that are left", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  unit.hv.turns.reset();
  unit.lv.turns = 12;
  auto const bench = ratio_bench(unit);
  auto readings = off_by(unit, 1.0);
  auto& one = readings.points.front().ratio;
  one.value = Number(one.value.value() * 12.0 / 18.0);  // one pair alone: six turns too many on it
  CHECK(says(evaluate_ratio(readings, bench.context()).results.front().remark, "6.0 turns too many of 12"));
}

TEST_CASE("past the last tap the step goes on as the one before it", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.turns.reset();
  unit.hv.taps = {{1, 6.0}, {2, 2.0}, {3, 0.0}, {4, -3.0}};
  auto const bench = ratio_bench(unit, 0.1);
  auto const question = [&](int position, double percent) {
    return evaluate_ratio(on_tap(unit, position, percent), bench.context()).question;
  };
  CHECK(says(question(1, 10.0), "one tap step higher"));  // 6 + (6 - 2)
  CHECK(says(question(2, 6.0), "one tap step higher"));
  CHECK(says(question(2, 0.0), "one tap step lower"));
  CHECK(says(question(4, 0.0), "one tap step higher"));
  CHECK(says(question(4, -6.0), "(tap 4)"));
  CHECK_FALSE(question(1, 9.0));
  CHECK_FALSE(question(4, -5.0));
  CHECK_FALSE(question(2, 2.0));
}

TEST_CASE("steps finer than the tolerance raise no question about the tap changer", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.turns.reset();
  unit.hv.taps = {{1, 0.4}, {2, 0.0}, {3, -0.4}};
  unit.hv.rated_tap = 2;
  auto const bench = ratio_bench(unit);
  CHECK_FALSE(evaluate_ratio(off_by(unit, 1.0), bench.context()).question);
}

TEST_CASE("another design is told by points that are off alike, and the mean of them is said",
          "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  auto const bench = ratio_bench(unit);
  auto const off = [&](double low, double high) {
    auto readings = off_by(unit, 1.0 + low / 100.0);
    readings.points.back().ratio.value =
        Number(readings.points.back().ratio.value.value() * (1.0 + high / 100.0) / (1.0 + low / 100.0));
    return evaluate_ratio(readings, bench.context()).invalid_reason;
  };
  CHECK(says(off(7.0, 7.49), "off by about 7.2 %"));
  CHECK_FALSE(off(7.0, 7.51));
  CHECK(says(off(-7.49, -7.0), "off by about -7.2 %"));
  CHECK_FALSE(off(-7.51, -7.0));
  CHECK_FALSE(off(7.0, -7.0));
}

TEST_CASE("the winder's line is said once a pair, with the farthest point of it", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.turns.reset();
  auto bench = ratio_bench(unit);
  auto factory = line("ratio", "ratio_error_percent", -0.03, 0.03);
  factory.limit.warns_only = true;
  bench.sheet.lines.push_back(factory);
  auto readings = off_by(unit, 1.0);
  auto const plan = ratio_plan(unit);
  for (std::size_t i = 0; i < plan.size(); ++i) {
    if (plan[i].lv_pair != "X1-X2") continue;
    double const percent = plan[i].tap == 4 ? -0.3 : 0.2;
    readings.points[i].ratio.value = Number(plan[i].expected_ratio * (1.0 + percent / 100.0));
  }
  auto const out = evaluate_ratio(readings, bench.context());
  REQUIRE(out.warnings.size() == 1);
  CHECK(says(out.warnings.front(), "pair H1-H2:X1-X2 is off by up to -0.3"));
  CHECK(says(out.warnings.front(), "on 5 point(s)"));
}

TEST_CASE("past the last tap nothing moves: all taps but that one stepped, it on its only neighbour, is one step off",
          "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.turns.reset();
  unit.hv.taps = {{1, 10.0}, {2, 4.0}, {3, 0.0}, {4, -3.0}, {5, -9.0}};
  auto const bench = ratio_bench(unit, 0.05);
  // Where the changer stood for each tap that was named, in percent of rated volts.
  auto const question = [&](std::vector<double> const& stood) {
    RatioReadings all;
    for (std::size_t i = 0; i < stood.size(); ++i) {
      auto const tap = on_tap(unit, unit.hv.taps[i].position, stood[i]);
      all.points.insert(all.points.end(), tap.points.begin(), tap.points.end());
    }
    return evaluate_ratio(all, bench.context()).question;
  };
  CHECK(says(question({4.0, 10.0, 4.0, 0.0, -3.0}), "one tap step higher"));
  CHECK(says(question({4.0, 0.0, -3.0, -9.0, -3.0}), "one tap step lower"));
  // Beside the neighbour by 0.0485 % of it, within the tolerance, and by 0.0515 %.
  CHECK(question({4.0 + 0.0485 * 1.04, 10.0, 4.0, 0.0, -3.0}));
  CHECK_FALSE(question({4.0 + 0.0515 * 1.04, 10.0, 4.0, 0.0, -3.0}));
  CHECK(question({4.0, 0.0, -3.0, -9.0, -3.0 + 0.0485 * 0.97}));
  CHECK_FALSE(question({4.0, 0.0, -3.0, -9.0, -3.0 + 0.0515 * 0.97}));
}

TEST_CASE("a step is told at the edge of the tolerance, from the tap named and from its neighbour",
          "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.turns.reset();
  unit.hv.taps = {{1, 10.0}, {2, 0.0}, {3, -10.0}};
  unit.hv.rated_tap = 2;
  // A tolerance of 9.9 %: the step of 10 % from the named tap to its neighbour is just outside.
  auto const question = [&](double percent, double tolerance) {
    return evaluate_ratio(on_tap(unit, 2, percent), ratio_bench(unit, tolerance).context()).question;
  };
  CHECK(question(9.99, 9.9));
  CHECK_FALSE(question(9.85, 9.9));
  // Beside the neighbour by 1.98 % of it, and by 2.02 %.
  CHECK(question(10.0 + 0.0198 * 110.0, 2.0));
  CHECK_FALSE(question(10.0 + 0.0202 * 110.0, 2.0));
}

TEST_CASE("a single-phase unit with one low-voltage turn more or less is not taken for another design",
          "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  unit.hv.turns.reset();
  unit.lv.turns = 12;  // one of twelve is 8 to 9 %
  auto const bench = ratio_bench(unit);
  // `turns` more in the low-voltage winding, every pair alike.
  auto const off = [&](double turns) {
    return evaluate_ratio(off_by(unit, 12.0 / (12.0 + turns)), bench.context()).invalid_reason;
  };
  CHECK_FALSE(off(1.0));
  CHECK_FALSE(off(-1.0));
  CHECK_FALSE(off(1.095));
  CHECK_FALSE(off(0.905));
  CHECK_FALSE(off(-0.905));
  CHECK_FALSE(off(-1.095));
  CHECK(says(off(1.105), "another design's ratios"));
  CHECK(says(off(0.895), "another design's ratios"));
  CHECK(says(off(-0.895), "another design's ratios"));
  CHECK(says(off(-1.105), "another design's ratios"));
  CHECK(off(2.0));
}

TEST_CASE("a pair without volts is one finding, and a meter that applies and reads nothing says its milliamperes",
          "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  auto const bench = ratio_bench(unit);
  auto readings = off_by(unit, 1.0);
  for (auto& point : readings.points) {
    if (point.lv_pair == "X1-X3") point.ratio.quality = point.phase.quality = Quality::bad;
  }
  auto const opposed = evaluate_ratio(readings, bench.context());
  REQUIRE(find(opposed, "pair_without_volts") != nullptr);
  CHECK(find(opposed, "pair_without_volts")->value == 1.0);
  readings = off_by(unit, 1.0);
  for (auto& point : readings.points) {
    point.ratio.quality = point.phase.quality = Quality::bad;
    point.exciting_current = reading(milliamperes(2.5), "ratio_meter", "current");
  }
  CHECK(says(evaluate_ratio(readings, bench.context()).invalid_reason, "applies 40 V, 2.5 mA flow"));
}

TEST_CASE("without a line of its own the ratio is looked at with half a percent", "[limits][evaluate][ratio]") {
  auto bench = ratio_bench(small_single_phase());
  CHECK(ratio_tolerance_percent(bench.context()) == 0.5);
  bench.sheet.lines.front().limit.upper = 0.2;
  CHECK(ratio_tolerance_percent(bench.context()) == 0.2);
  bench.sheet.lines.clear();
  CHECK(ratio_tolerance_percent(bench.context()) == 0.5);
}

TEST_CASE("a pair fits its vector group within ten percent and below a right angle", "[limits][evaluate][phase]") {
  auto unit = pad_three_phase();
  auto const bench = ratio_bench(unit);
  auto const as_ordered = [&](double factor, double degrees_off) {
    auto readings = off_by(unit, factor);
    readings.points.front().phase = reading(degrees(degrees_off), "ratio_meter", "phase");
    auto const out = evaluate_phase_relation(readings, bench.context());
    return find(out, "phase_relation_as_ordered")->value;
  };
  CHECK(as_ordered(1.0, 0.0) == 1.0);
  CHECK(as_ordered(1.099, 0.0) == 1.0);
  CHECK(as_ordered(1.101, 0.0) == 0.0);
  CHECK(as_ordered(0.901, 0.0) == 1.0);
  CHECK(as_ordered(0.899, 0.0) == 0.0);
  CHECK(as_ordered(1.0, 89.9) == 1.0);
  CHECK(as_ordered(1.0, 90.1) == 0.0);
  CHECK(as_ordered(1.0, -90.1) == 0.0);
}

TEST_CASE("swapped leads are told from a ratio near one", "[limits][evaluate][ratio]") {
  auto unit = small_single_phase();
  unit.hv.taps.clear();
  unit.hv.turns.reset();
  unit.lv_form = LowVoltageForm::plain;
  auto const reason = [&](double lv_volts, double read) {
    unit.lv.rated = volts(lv_volts);
    auto const bench = ratio_bench(unit);
    auto readings = off_by(unit, 1.0);
    readings.points[0].ratio.value = Number(read);
    return evaluate_ratio(readings, bench.context()).invalid_reason;
  };
  CHECK(says(reason(7200.0 / 1.51, 0.99), "leads are swapped"));
  CHECK_FALSE(says(reason(7200.0 / 1.51, 1.01), "swapped"));
  CHECK_FALSE(says(reason(7200.0 / 1.49, 0.99), "swapped"));
}

TEST_CASE("of a three-phase line pair twice the base impedance carries the meter's current, of one to neutral once",
          "[limits][evaluate][ratio]") {
  auto unit = pad_three_phase();
  unit.guarantees.impedance_percent = 5.0;
  auto const most = [](Unit const& of) {
    auto const bench = ratio_bench(of);
    auto readings = off_by(of, 1.0);
    for (auto& point : readings.points) point.exciting_current = reading(milliamperes(0.2), "ratio_meter", "current");
    auto const out = evaluate_ratio(readings, bench.context());
    INFO(out.invalid_reason.value_or(""));
    REQUIRE_FALSE(out.invalid_reason);
    return step(out.results.front(), "drop in the fed winding, at most");
  };
  double const base = 12470.0 * 12470.0 / 500000.0;
  CHECK(most(unit) == Approx(100.0 * 0.2e-3 * 0.5 * 0.05 * 2.0 * base / 40.0).epsilon(1e-9));
  unit.vector_group = "YNyn0";
  unit.hv_neutral = NeutralKind::own_bushing;
  CHECK(most(unit) == Approx(100.0 * 0.2e-3 * 0.5 * 0.05 * base / 40.0).epsilon(1e-9));
}

// ---- applied and induced --------------------------------------------------------------------------------------------

TEST_CASE("the hold current proves the test from 0.87 to 1.5 of the computed one", "[limits][evaluate][applied]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.capacitance_to_earth = nanofarads(1.0);
  double const computed = 2.0 * 3.14159265358979323846 * 60.0 * 1e-9 * 34000.0;
  auto const at = [&](double share) {
    AppliedReadings readings;
    readings.winding = "hv";
    for (int i = 0; i < 3; ++i) {
      readings.level.push_back(reading(volts(34000.0), "hipot", "level"));
      readings.current.push_back(reading(amperes(share * computed + 1e-3), "hipot", "current"));
    }
    readings.stray_current = amperes(1e-3);
    readings.frequency = reading(hertz(60.0), "hipot", "frequency");
    readings.held = seconds(60.0);
    return evaluate_applied(readings, bench.context());
  };
  CHECK_FALSE(at(0.875).invalid_reason);
  CHECK_FALSE(at(1.495).invalid_reason);
  CHECK(says(at(0.862).invalid_reason, "is 0.86 of the computed"));
  CHECK(says(at(1.505).invalid_reason, "expected 0.87 to 1.5"));
  auto const good = at(1.0);
  CHECK(find(good, "hold_current_ratio")->value == Approx(1.0).epsilon(1e-9));
  CHECK(find(good, "hold_current_a")->value == Approx(computed).epsilon(1e-9));
  CHECK(step(*find(good, "hold_current_ratio"), "computed capacitive current") == Approx(computed).epsilon(1e-9));
  CHECK(step(*find(good, "hold_current_ratio"), "capacitance") == Approx(1.0).epsilon(1e-9));
  CHECK(*find(good, "hold_current_ratio")->limit->lower == 0.87);
}

TEST_CASE("the level of a three-phase induced test is in line volts, whatever is read, and the lowest counts",
          "[limits][evaluate][induced]") {
  Bench bench;
  bench.unit = pad_three_phase();
  make_exact(bench);
  for (bool const line_to_line : {true, false}) {
    double const basis = line_to_line ? 1.0 : std::sqrt(3.0);
    InducedReadings readings;
    readings.fed = "X1,X2,X3";
    readings.line_to_line_volts = line_to_line;
    for (double const v : {962.0, 958.0, 960.0}) {
      PowerSnapshot one;
      for (int k = 1; k <= 3; ++k) {
        auto const number = std::to_string(k);
        // Mean of the three: v.
        one.volts_rms.push_back(reading(volts((v + 2.0 * (k - 2)) / basis), "analyser", "voltage." + number));
        one.amperes.push_back(reading(amperes(3.0), "analyser", "current." + number));
        one.active.push_back(reading(watts(100.0), "analyser", "power." + number));
      }
      one.frequency = reading(hertz(180.0), "analyser", "frequency");
      readings.snapshots.push_back(one);
    }
    readings.frequency = reading(hertz(180.0), "analyser", "frequency");
    readings.held = seconds(40.0);
    auto const out = evaluate_induced(readings, bench.context());
    INFO(out.invalid_reason.value_or(""));
    REQUIRE_FALSE(out.invalid_reason);
    auto const& level = *find(out, "level_v");
    CHECK(level.value == Approx(958.0).epsilon(1e-12));
    CHECK(*level.measured == Approx(958.0).epsilon(1e-12));
    CHECK(step(level, "lowest in the hold") == Approx(958.0).epsilon(1e-12));
    CHECK(step(level, "highest in the hold") == Approx(962.0).epsilon(1e-12));
    CHECK(step(level, "mean") == Approx(960.0).epsilon(1e-12));
    CHECK(step(level, "times rated volts") == Approx(958.0 / 480.0).epsilon(1e-12));
    CHECK(step(*find(out, "frequency_hz"), "lowest, flux at rated") == Approx(120.0).epsilon(1e-12));
    CHECK(find(out, "exciting_current_percent")->value ==
          Approx(100.0 * 3.0 / (500000.0 / (std::sqrt(3.0) * 480.0))).epsilon(1e-12));
    REQUIRE(out.warnings.size() == 1);
    CHECK(says(out.warnings.front(), "confirm that 3 A"));
  }
}

TEST_CASE("turns that give way in an induced test are told by the current, in the hold or on the way up",
          "[limits][evaluate][induced]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  auto const hold = [](std::vector<double> const& currents, std::optional<double> at_quarter, double hz = 180.0) {
    InducedReadings readings;
    readings.fed = "X1-X3";
    for (double const a : currents) readings.snapshots.push_back(single(480.0, a, 20.0, hz));
    if (at_quarter) readings.at_quarter = single(120.0, *at_quarter, 2.0, hz);
    readings.frequency = reading(hertz(hz), "analyser", "frequency");
    readings.held = seconds(40.0);
    return readings;
  };
  auto const breakdown = [&](InducedReadings const& readings) -> std::string {
    auto const out = evaluate_induced(readings, bench.context());
    REQUIRE_FALSE(out.invalid_reason);
    for (auto const& result : out.results) {
      if (result.verdict == Verdict::fail) return result.remark + (result.limit ? result.limit->origin : "");
    }
    return "";
  };
  CHECK(breakdown(hold({1.0, 1.0, 1.0}, 0.2)).empty());
  CHECK(breakdown(hold({1.49, 1.0, 1.2}, 0.2)).empty());  // highest over lowest 1.5
  CHECK(says(breakdown(hold({1.0, 1.51, 1.2}, 0.2)), "element 1 moved between 1 and 1.51 A within the hold"));
  CHECK(says(breakdown(hold({1.51, 1.0}, {})), "within the hold"));
  CHECK(breakdown(hold({2.0, 2.0}, 0.1005)).empty());  // 19.9 times the current at a quarter of the volts
  CHECK(says(breakdown(hold({2.0, 2.0}, 0.0995)), "element 1 is 2 A, 20.1 times that at a quarter of the volts"));
}

TEST_CASE("half a percent above rated flux is let pass in an induced test, more is a saturated core",
          "[limits][evaluate][induced]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  auto const reason = [&](double hz) {
    InducedReadings readings;
    readings.fed = "X1-X3";
    readings.snapshots = {single(480.0, 1.0, 20.0, hz), single(480.0, 1.0, 20.0, hz)};
    readings.frequency = reading(hertz(hz), "analyser", "frequency");
    readings.held = seconds(60.0);
    return evaluate_induced(readings, bench.context()).invalid_reason;
  };
  // Twice rated volts of a 60 Hz unit: 120 Hz, less half a percent.
  CHECK_FALSE(reason(119.401));
  CHECK(says(reason(119.399), "above rated flux"));
}

// ---- temperatures and dates -----------------------------------------------------------------------------------------

TEST_CASE("the winding lies somewhere between top and bottom, half of the difference wide", "[limits][evaluate]") {
  Bench bench;
  make_exact(bench);
  auto const context = bench.context();
  MeasuredValues values(context);
  auto const winding = liquid_temperature(values, liquid(23.0, 20.0));
  CHECK(winding.value() == Approx(21.5).epsilon(1e-12));
  CHECK(values.inputs().of(winding).standard == Approx(1.5 / std::sqrt(3.0)).epsilon(1e-9));
}

TEST_CASE("isothermal is four hours of rest, or 2 degC an hour with 5 degC between top and bottom",
          "[limits][evaluate][temperatures]") {
  Bench bench;
  auto const reason = [&](double rest_h, std::optional<double> change_k, double gradient_k) {
    auto readings = liquid(20.0 + gradient_k, 20.0);
    readings.rest = hours(rest_h);
    if (change_k) readings.top_change_in_one_hour = kelvins(*change_k);
    return evaluate_temperatures(readings, bench.context()).invalid_reason;
  };
  CHECK_FALSE(reason(4.0, {}, 4.9));
  CHECK(says(reason(3.9, {}, 4.9), "not isothermal"));
  CHECK_FALSE(reason(1.0, 1.9, 4.9));
  CHECK_FALSE(reason(1.0, -1.9, -4.9));
  CHECK(reason(1.0, 2.1, 1.0));
  CHECK(reason(1.0, -2.1, 1.0));
  CHECK(reason(1.0, 1.9, 5.1));
  CHECK(says(reason(8.0, {}, 5.1), "differ by 5.1 K"));
  CHECK(says(reason(8.0, {}, -5.1), "differ by -5.1 K"));
}

TEST_CASE("a day that does not exist is no date", "[limits][dates]") {
  for (char const* none : {"2030-02-29", "2030-13-01", "2030-00-10", "2030-04-31", "2030-01-00", "-123-01-01",
                           "2030-1-01", "2030/01/01", "20a0-01-01", "2030-01-", ""}) {
    INFO(none);
    CHECK_FALSE(days_between(none, "2030-06-01"));
    CHECK_FALSE(days_between("2030-06-01", none));
  }
  CHECK(days_between("2028-02-29", "2028-03-01T10:00:00Z") == 1);
}

TEST_CASE("insulation resistance is stated in megohms", "[limits][evaluate][insulation]") {
  Bench bench;
  InsulationReadings readings;
  readings.between = "H to X+tank";
  readings.test_voltage = reading(volts(2500.0), "hipot", "voltage");
  readings.at_15_s = reading(ohms(2.0e9), "hipot", "resistance");
  readings.at_60_s = reading(ohms(3.0e9), "hipot", "resistance");
  readings.at_10_min = reading(ohms(4.5e9), "hipot", "resistance");
  auto const out = evaluate_insulation_resistance(readings, bench.context());
  CHECK(find(out, "resistance_megohm")->value == Approx(3000.0).epsilon(1e-12));
  CHECK(find(out, "absorption_ratio")->value == Approx(1.5).epsilon(1e-12));
  CHECK(find(out, "polarization_index")->value == Approx(1.5).epsilon(1e-12));
}
