// SPDX-License-Identifier: MIT
// Results and uncertainties of the evaluations to the digit, by hand; found wanting by the mutation campaign.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

/// Instruments without any error, so that one source of uncertainty can be looked at alone.
void make_exact(Bench& bench) {
  for (auto& [name, calibration] : bench.calibration) {
    for (auto& one : calibration.channels) {
      one.relative_u = one.noise_u = one.noise_relative_u = one.offset_u = one.phase_u_rad = 0.0;
    }
  }
}

PowerSnapshot single(double v, double a, double w, double hz = 60.0) {
  PowerSnapshot out;
  out.volts_rms = {reading(volts(v), "analyser", "voltage.1")};
  out.amperes = {reading(amperes(a), "analyser", "current.1")};
  out.active = {reading(watts(w), "analyser", "power.1")};
  out.frequency = reading(hertz(hz), "analyser", "frequency");
  return out;
}

/// 25 kVA fed on H, 2 % impedance at rated current, 25 degC through and through.
LoadLossReadings loaded(std::vector<PowerSnapshot> snapshots) {
  LoadLossReadings out;
  out.fed = "H1-H2";
  out.snapshots = std::move(snapshots);
  out.temperature_before = out.temperature_after = liquid(25.0, 25.0);
  out.on_time = seconds(10.0);
  return out;
}
MeasuredResistances exact_resistances() {
  MeasuredResistances out;
  out.hv = {ohms(8.0), 0.0, celsius(25.0), true};
  out.lv = {ohms(0.0085), 0.0, celsius(25.0), true};
  return out;
}
constexpr double rated_a = 25000.0 / 7200.0, rated_w = 220.0;

ResistancePoint resistance(std::string terminals, double ohm, double set_a, double before_v, double after_v) {
  ResistancePoint out;
  out.terminals = std::move(terminals);
  out.set_current = amperes(set_a);
  out.offset_before = reading(volts(before_v), "ohm_meter", "voltage");
  out.offset_after = reading(volts(after_v), "ohm_meter", "voltage");
  for (int i = 0; i < 4; ++i) {
    out.volts.push_back(reading(volts(ohm * set_a + (before_v + after_v) / 2.0), "ohm_meter", "voltage"));
    out.current.push_back(reading(amperes(set_a), "ohm_meter", "current"));
  }
  out.settling = seconds(12.0);
  out.temperature = liquid(20.0, 20.0);
  return out;
}

RatioReadings off_by(Unit const& unit, double factor) {
  RatioReadings readings;
  for (auto const& plan : ratio_plan(unit)) {
    RatioPoint point;
    point.tap = plan.tap;
    point.hv_pair = plan.hv_pair;
    point.lv_pair = plan.lv_pair;
    point.applied = reading(volts(40.0), "ratio_meter", "applied");
    point.ratio = reading(Number(plan.turns_ratio.value_or(plan.expected_ratio) * factor), "ratio_meter", "ratio");
    point.phase = reading(degrees(0.0), "ratio_meter", "phase");
    point.exciting_current = reading(milliamperes(1.0), "ratio_meter", "current");
    readings.points.push_back(point);
  }
  return readings;
}

}  // namespace

TEST_CASE("regulation is stated at power factor 1 and 0.8, impedance with what the bar adds", "[limits][evaluate]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  auto const out =
      evaluate_load_loss(loaded({single(144.0, rated_a, rated_w)}), exact_resistances(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  double const r = find(out, "corrected_load_loss_w")->value / 250.0, x = std::sqrt(4.0 - 0.88 * 0.88);
  double const in_phase = 1.0 + (0.8 * r + 0.6 * x) / 100.0, across = (0.8 * x - 0.6 * r) / 100.0;
  CHECK(find(out, "regulation_percent", "power factor 0.8 lagging")->value ==
        Approx(100.0 * (std::hypot(in_phase, across) - 1.0)).epsilon(1e-9));
  auto const& impedance = *find(out, "impedance_percent");
  REQUIRE(impedance.uncertainty);
  // Nothing else is uncertain: 0.15 % of 2 %.
  CHECK(impedance.uncertainty->standard == Approx(0.0015 * 2.0).epsilon(1e-6));
}

TEST_CASE("snapshots at different currents do not scatter if the loss goes with the square", "[limits][evaluate]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  std::vector<PowerSnapshot> snapshots;
  for (double const part : {0.98, 1.0, 1.01}) {
    snapshots.push_back(single(144.0 * part, rated_a * part, rated_w * part * part));
  }
  auto const out = evaluate_load_loss(loaded(snapshots), exact_resistances(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  CHECK(find(out, "corrected_load_loss_w")->uncertainty->standard < 1e-6 * rated_w);
}

TEST_CASE("the zero-current volts are subtracted, and their change is an uncertainty",
          "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  // 10 A through 8 ohm, and through 1 milliohm with a thermal voltage nearly as large as the drop.
  ResistanceReadings const readings{
      {resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 1e-3, 10.0, -8.0e-3, -8.004e-3)}};
  auto const out = evaluate_winding_resistance(readings, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  auto const totals = measured_resistances(readings, bench.context());
  CHECK(totals.lv.total.in(ohms) == Approx(1e-3).epsilon(1e-9));
  // Rectangular between before and after: half of 4 uV over sqrt(3), over 10 A, of 1 milliohm.
  CHECK(totals.lv.relative_u == Approx(4e-6 / 2.0 / std::sqrt(3.0) / 10.0 / 1e-3).epsilon(1e-6));
}

TEST_CASE("a meter certified in ohms has the certificate's uncertainty and the mean of its readings",
          "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  bench.calibration["ohm_meter"].channels.push_back(channel("resistance", 3e-4));
  bench.calibration["ohm_meter"].channels.back().gain_correction = 1e-3;  // reads 0.1 % too much
  ResistanceReadings const readings{
      {resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
  auto const totals = measured_resistances(readings, bench.context());
  REQUIRE(totals.hv.known);
  CHECK(totals.hv.total.in(ohms) == Approx(8.0 * 0.999).epsilon(1e-9));
  CHECK(totals.lv.total.in(ohms) == Approx(8.5e-3 * 0.999).epsilon(1e-9));
  CHECK(totals.hv.relative_u == Approx(3e-4).epsilon(1e-6));
}

TEST_CASE("ratios all off alike by 5 % are another design's, by less they are this unit's",
          "[limits][evaluate][ratio]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.taps.clear();
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5)};
  for (double const sign : {1.0, -1.0}) {
    auto const near = evaluate_ratio(off_by(bench.unit, 1.0 + sign * 0.049), bench.context());
    CHECK_FALSE(near.invalid_reason);
    CHECK(judge_attempt({near}, bench.sheet, false).outcome == Outcome::fail);
    auto const far = evaluate_ratio(off_by(bench.unit, 1.0 + sign * 0.051), bench.context());
    REQUIRE(far.invalid_reason);
    CHECK(far.invalid_reason->find(sign > 0.0 ? "about 5.1 %" : "about -5.1 %") != std::string::npos);
  }
}

TEST_CASE("an error is counted in high-voltage turns of the tap that was read", "[limits][evaluate][ratio]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5)};
  bench.calibration["ratio_meter"].channels[0].relative_u = 1e-5;
  auto const out = evaluate_ratio(off_by(bench.unit, 1.002), bench.context());
  // 0.2 % of 1590 turns is 3.18, on the tap at +5 % 1670 (3.34; whole turns of the plan are 1670 for 1669.5).
  auto const& rated = *find(out, "ratio_error_percent", "tap 3, H1-H2:X1-X3");
  CHECK(step(rated, "error in high-voltage turns") == Approx(3.18).epsilon(1e-6));
  CHECK(rated.remark.find("by 3.2 turns too many of 1590") != std::string::npos);
  auto const& high = *find(out, "ratio_error_percent", "tap 1, H1-H2:X1-X3");
  CHECK(step(high, "error in high-voltage turns") == Approx(high.value / 100.0 * 1590.0 * 1.05).epsilon(1e-9));
  CHECK(high.remark.find("of 1670 in the high-voltage winding") != std::string::npos);
}

TEST_CASE("one tap step lower is seen as well as one higher", "[limits][evaluate][ratio]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5)};
  for (double const percent : {2.5, -2.5}) {
    RatioReadings readings;
    auto const plan = ratio_plan(bench.unit);
    auto all = off_by(bench.unit, 1.0);
    for (std::size_t i = 0; i < plan.size(); ++i) {
      auto const here = 1.0 + plan[i].tap_percent / 100.0;
      all.points[i].ratio.value = Number(plan[i].expected_ratio * (here + percent / 100.0) / here);
    }
    auto const out = evaluate_ratio(all, bench.context());
    REQUIRE(out.question);
    CHECK(out.question->find(percent > 0.0 ? "one tap step higher" : "one tap step lower") != std::string::npos);
  }
}

TEST_CASE("the current of an induced test is stated in percent of rated, the lowest frequency with its margin",
          "[limits][evaluate][induced]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto const held = [](double hz) {
    InducedReadings out;
    out.fed = "X1-X3";
    for (int i = 0; i < 4; ++i) out.snapshots.push_back(single(480.0, 0.5, 20.0, hz));
    out.frequency = reading(hertz(hz), "analyser", "frequency");
    out.held = seconds(60.0);
    out.expected_current = amperes(0.5);
    return out;
  };
  auto const out = evaluate_induced(held(240.0), bench.context());
  CHECK(find(out, "exciting_current_percent")->value == Approx(100.0 * 0.5 / (25000.0 / 240.0)).epsilon(1e-9));
  CHECK(find(out, "exciting_current_ratio")->value == Approx(1.0).epsilon(1e-9));
  CHECK(step(*find(out, "frequency_hz"), "lowest, flux at rated") == Approx(120.0));
  CHECK_FALSE(evaluate_induced(held(119.5), bench.context()).invalid_reason);  // 0.42 % above rated flux
  auto const saturated = evaluate_induced(held(119.3), bench.context());       // 0.58 %
  REQUIRE(saturated.invalid_reason);
  CHECK(saturated.invalid_reason->find("above rated flux") != std::string::npos);
}

TEST_CASE("steps of an applied test are stated in kilovolts", "[limits][evaluate][applied]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.capacitance_to_earth = nanofarads(1.0);
  AppliedReadings readings;
  readings.winding = "hv";
  for (double const kv : {34.2, 34.0, 34.1}) {
    readings.level.push_back(reading(volts(1000.0 * kv), "hipot", "level"));
    readings.current.push_back(reading(milliamperes(12.9), "hipot", "current"));
  }
  readings.frequency = reading(hertz(60.0), "hipot", "frequency");
  readings.held = seconds(60.0);
  auto const out = evaluate_applied(readings, bench.context());
  auto const& level = *find(out, "level_kv");
  CHECK(step(level, "lowest in the hold") == Approx(34.0).epsilon(1e-9));
  CHECK(step(level, "highest in the hold") == Approx(34.2).epsilon(1e-9));
  CHECK(step(level, "mean") == Approx(34.1).epsilon(1e-9));
  CHECK(*level.measured == Approx(34.0).epsilon(1e-9));
}

TEST_CASE("drift since the calibration counts by the year, rectangular", "[limits][evaluate]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.taps.clear();
  make_exact(bench);
  auto& meter = bench.calibration["ratio_meter"];
  meter.calibrated_on = "2028-01-01";  // two years of 365.25 days and half a day before 2030-01-01
  meter.channels[0].drift_relative_per_year = 1e-4;
  auto const out = evaluate_ratio(off_by(bench.unit, 1.0), bench.context());
  REQUIRE(out.results.front().uncertainty);
  CHECK(out.results.front().uncertainty->standard ==
        Approx(100.0 * 1e-4 * (731.0 / 365.25) / std::sqrt(3.0)).epsilon(1e-6));
}
