// SPDX-License-Identifier: MIT
// Results and uncertainties of the evaluations to the digit, by hand; found wanting by the mutation campaign.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/evaluate/measured_values.hpp"
#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/evaluate_readings.hpp"

using namespace benchward;
using namespace benchward::testing;

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
  // Uncertain are 0.15 % of 2 %, and by the share of r in z what the loss is.
  double const of_loss = find(out, "corrected_load_loss_w")->uncertainty->standard / 250.0 * r / std::hypot(r, x);
  CHECK(impedance.uncertainty->standard == Approx(std::hypot(0.0015 * 2.0, of_loss)).epsilon(1e-6));
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
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(loss.uncertainty->standard ==
        Approx(u_of_stray_law(step(loss, "stray at reference (4-9)"), 229.0, 25.0, 85.0)).epsilon(1e-6));
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
  // A thermal voltage that moved by 40 uV at 10 A: its half over sqrt(3), over the current, of 8.5 milliohm.
  ResistanceReadings const moved{
      {resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 4e-5)}};
  auto const with_offset = measured_resistances(moved, bench.context());
  CHECK(with_offset.lv.relative_u == Approx(std::hypot(3e-4, 2e-5 / std::sqrt(3.0) / 10.0 / 8.5e-3)).epsilon(0.01));
}

TEST_CASE("of a three-phase short two bars are deducted: each lies between neighbouring terminals",
          "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = pad_three_phase();
  double const i = 500000.0 / (std::sqrt(3.0) * 12470.0), il = 500000.0 / (std::sqrt(3.0) * 480.0), bar = 2e-5;
  PowerSnapshot one;
  for (int k = 1; k <= 3; ++k) {
    auto const number = std::to_string(k);
    one.volts_rms.push_back(reading(volts(0.045 * 12470.0), "analyser", "voltage." + number));
    one.amperes.push_back(reading(amperes(i), "analyser", "current." + number));
    one.active.push_back(reading(watts(1400.0), "analyser", "power." + number));
  }
  one.frequency = reading(hertz(60.0), "analyser", "frequency");
  auto readings = loaded({one});
  readings.fed = "H1,H2,H3";
  readings.line_to_line_volts = true;
  readings.shorting_bar = ohms(bar);
  MeasuredResistances known;
  known.hv = {ohms(8.0), 0.0, celsius(25.0), true};
  known.lv = {ohms(2.4e-3), 0.0, celsius(25.0), true};
  auto const out = evaluate_load_loss(readings, known, {}, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "shorting bar, deducted") == Approx(2.0 * il * il * bar).epsilon(1e-9));
  CHECK(step(loss, "at rated current") == Approx(4200.0 - 2.0 * il * il * bar).epsilon(1e-9));
  // Ohmic: the winding's own current, line over root three in the delta, and the totals by 3.4.1.
  CHECK(find(out, "stray_loss_w")->value ==
        Approx(4200.0 - 2.0 * il * il * bar - i * i / 3.0 * 8.0 - il * il * 2.4e-3).epsilon(1e-9));
}

TEST_CASE("resistance and reactance of the bar are taken out of the impedance", "[limits][evaluate][load-loss]") {
  // By phasors, apart from the code: the unit's R and X in series with the bar's, referred to percent of 25 kVA.
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  double const il = 25000.0 / 240.0, bar_ohm = 4e-5, bar_henry = 0.4e-6, pi = 3.14159265358979323846;
  double const r = rated_w / 250.0, x = 1.7;
  double const with_r = r + il * il * bar_ohm / 250.0, with_x = x + il * il * 2.0 * pi * 60.0 * bar_henry / 250.0;
  auto readings = loaded({single(72.0 * std::hypot(with_r, with_x), rated_a, rated_w + il * il * bar_ohm)});
  readings.shorting_bar = ohms(bar_ohm);
  readings.shorting_bar_inductance = henries(bar_henry);
  auto const out = evaluate_load_loss(readings, exact_resistances(), {}, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  auto const& impedance = *find(out, "impedance_percent");
  CHECK(step(impedance, "X") == Approx(x).epsilon(1e-9));
  CHECK(step(impedance, "R at test temperature") == Approx(r).epsilon(1e-9));
  CHECK(step(impedance, "Z at test temperature") == Approx(std::hypot(r, x)).epsilon(1e-9));
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

TEST_CASE("the mean of a channel has gain, offset, resolution, noise and scatter of its own, each once",
          "[limits][evaluate]") {
  Bench bench;
  bench.unit = small_single_phase();
  ReadingOrigin origin;
  origin.instrument = "analyser";
  origin.channel = "voltage.1";
  auto const u_of = [&](auto change, std::vector<double> const& numbers, Noise noise) {
    make_exact(bench);
    auto& data = bench.calibration["analyser"].channels[0];
    change(data);
    auto const context = bench.context();
    MeasuredValues values(context);
    auto const mean = values.mean_of(numbers, origin, "voltage", noise);
    auto const u = values.inputs().of(mean);
    data = channel("voltage", 0.0);
    return u;
  };
  std::vector<double> const three{9.9, 10.0, 10.1};
  CHECK(u_of([](ChannelCalibration& c) { c.relative_u = 1e-3; }, three, Noise::stated).standard == Approx(0.01));
  CHECK(u_of([](ChannelCalibration& c) { c.offset_u = 0.02; }, three, Noise::stated).standard == Approx(0.02));
  CHECK(u_of([](ChannelCalibration& c) { c.least_count = 0.1; }, three, Noise::stated).standard ==
        Approx(0.1 / std::sqrt(12.0)));
  CHECK(u_of([](ChannelCalibration& c) { c.noise_u = 0.03; }, three, Noise::stated).standard ==
        Approx(0.03 / std::sqrt(3.0)));
  CHECK(u_of([](ChannelCalibration& c) { c.noise_relative_u = 0.003; }, three, Noise::stated).standard ==
        Approx(0.03 / std::sqrt(3.0)));
  CHECK(u_of([](ChannelCalibration& c) { c.noise_u = 0.03; }, {10.0}, Noise::observed).standard == Approx(0.03));
  auto const observed = u_of([](ChannelCalibration&) {}, three, Noise::observed);
  CHECK(observed.standard == Approx(0.1 / std::sqrt(3.0)));
  CHECK(observed.degrees_of_freedom == Approx(2.0));
  CHECK(u_of([](ChannelCalibration& c) { c.noise_u = 0.03; }, three, Noise::elsewhere).standard == 0.0);
}

TEST_CASE("what the certificate says of gain and offset is taken out of the mean", "[limits][evaluate]") {
  Bench bench;
  bench.unit = small_single_phase();
  make_exact(bench);
  auto& data = bench.calibration["analyser"].channels[0];
  data.gain_correction = 0.01;    // reads 1 % too much
  data.offset_correction = 0.25;  // and 0.25 V
  ReadingOrigin origin;
  origin.instrument = "analyser";
  origin.channel = "voltage.1";
  auto const context = bench.context();
  MeasuredValues values(context);
  CHECK(values.mean_of({99.0, 101.0}, origin, "voltage", Noise::stated).value() == Approx(98.75).epsilon(1e-12));
}

TEST_CASE("with line volts an element sees the volts over root three: more watts than that are impossible",
          "[limits][evaluate][no-load]") {
  Bench bench;
  bench.unit = pad_three_phase();
  auto const with_watts = [&](double share) {
    PowerSnapshot one;
    for (int k = 1; k <= 3; ++k) {
      auto const number = std::to_string(k);
      one.volts_rms.push_back(reading(volts(480.0), "analyser", "voltage." + number));
      one.volts_average.push_back(reading(volts(480.0), "analyser", "average." + number));
      one.amperes.push_back(reading(amperes(2.0), "analyser", "current." + number));
      one.active.push_back(reading(watts(share * 480.0 / std::sqrt(3.0) * 2.0), "analyser", "power." + number));
    }
    one.frequency = reading(hertz(60.0), "analyser", "frequency");
    NoLoadReadings readings;
    NoLoadPoint point;
    point.fed = "X1,X2,X3";
    point.line_to_line_volts = true;
    point.snapshots = {one};
    readings.points.push_back(point);
    readings.temperature = liquid(20.0, 20.0);
    return evaluate_no_load(readings, bench.context()).invalid_reason;
  };
  CHECK_FALSE(with_watts(0.5));
  CHECK_FALSE(with_watts(1.005));
  REQUIRE(with_watts(1.03));
  CHECK(with_watts(1.03)->find("more than volts times amperes") != std::string::npos);
}

TEST_CASE("volts set within a quarter of a percent count, beyond it they do not, straddling points within 5 %",
          "[limits][evaluate][no-load]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto const reason = [&](std::vector<double> const& set) {
    NoLoadReadings readings;
    NoLoadPoint point;
    point.fed = "X1-X3";
    for (double const v : set) {
      auto one = single(v, 0.5, 60.0 * v / 240.0);
      one.volts_average = {reading(volts(v), "analyser", "average.1")};
      point.snapshots.push_back(one);
    }
    readings.points.push_back(point);
    readings.temperature = liquid(20.0, 20.0);
    return evaluate_no_load(readings, bench.context()).invalid_reason;
  };
  CHECK_FALSE(reason({240.0 * 1.00249}));
  CHECK_FALSE(reason({240.0 * 0.99751}));
  CHECK(reason({240.0 * 1.00251}));
  CHECK(reason({240.0 * 0.99749}));
  CHECK_FALSE(reason({240.0 * 0.951, 240.0 * 1.049}));
  CHECK(reason({240.0 * 0.949, 240.0 * 1.03}));
  CHECK(reason({240.0 * 0.97, 240.0 * 1.051}));
}

TEST_CASE("a tap step is told from its neighbours at a tolerance of a twentieth of a percent",
          "[limits][evaluate][ratio]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.turns.reset();  // volts alone: no whole turns
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.05, 0.05)};
  auto const plan = ratio_plan(bench.unit);
  for (double const percent : {2.5, -2.5}) {
    auto all = off_by(bench.unit, 1.0);
    for (std::size_t i = 0; i < plan.size(); ++i) {
      auto const here = 1.0 + plan[i].tap_percent / 100.0;
      all.points[i].ratio.value = Number(plan[i].expected_ratio * (here + percent / 100.0) / here);
    }
    CHECK(evaluate_ratio(all, bench.context()).question);
  }
}

TEST_CASE("what was still to come of a resistance is said in percent", "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  ResistanceReadings readings{{resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
  readings.points[0].predicted_change_relative = 0.00101;
  auto const out = evaluate_winding_resistance(readings, bench.context());
  REQUIRE(out.invalid_reason);
  CHECK(out.invalid_reason->find("0.101 % of change") != std::string::npos);
  readings.points[0].predicted_change_relative = 0.00099;
  CHECK_FALSE(evaluate_winding_resistance(readings, bench.context()).invalid_reason);
}

TEST_CASE("the bench's own bounds of a resistance reading are where they are said to be",
          "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto const invalid = [&](auto change) {
    ResistanceReadings readings{
        {resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
    change(readings.points[1]);
    return evaluate_winding_resistance(readings, bench.context()).invalid_reason.has_value();
  };
  // Zero-current volts may move by 0.5 % of the 85 mV read (the volts stand still here, half of the change is in them).
  auto const moved = [](double share) {
    return [share](ResistancePoint& p) { p.offset_after.value = volts(share * 0.085); };
  };
  CHECK_FALSE(invalid(moved(0.0049)));
  CHECK(invalid(moved(0.0051)));
  auto const current = [](double share) {
    return [share](ResistancePoint& p) {
      for (std::size_t i = 0; i < p.current.size(); ++i) {
        p.current[i].value = amperes(10.0 * share);
        p.volts[i].value = volts(8.5e-3 * 10.0 * share);
      }
    };
  };
  CHECK_FALSE(invalid(current(1.0099)));
  CHECK_FALSE(invalid(current(0.9901)));
  CHECK(invalid(current(1.0101)));
  CHECK(invalid(current(0.9899)));
  // Four readings at +s and -s of their mean: their standard deviation is s times the root of 4/3.
  auto const scattered = [](double deviation) {
    return [deviation](ResistancePoint& p) {
      double const s = deviation / std::sqrt(4.0 / 3.0);
      for (std::size_t i = 0; i < 4; ++i) p.volts[i].value = volts(0.085 * (1.0 + (i % 2 == 0 ? s : -s)));
    };
  };
  CHECK_FALSE(invalid(scattered(0.0049)));
  CHECK(invalid(scattered(0.0051)));
}

TEST_CASE("the bounds of a load-loss test are where they are said to be", "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto const evaluate = [&](double hz, double share, double change_k = 0.0) {
    auto readings = loaded({single(144.0 * share, rated_a * share, rated_w * share * share, hz)});
    readings.temperature_after = liquid(25.0 + change_k, 25.0 + change_k);
    return evaluate_load_loss(readings, exact_resistances(), {}, bench.context());
  };
  CHECK_FALSE(evaluate(60.29, 1.0).invalid_reason);
  CHECK(evaluate(60.31, 1.0).invalid_reason);
  CHECK_FALSE(evaluate(59.71, 1.0).invalid_reason);
  CHECK(evaluate(59.69, 1.0).invalid_reason);
  CHECK_FALSE(evaluate(60.0, 0.501).invalid_reason);
  auto const low = evaluate(60.0, 0.499);
  REQUIRE(low.invalid_reason);
  CHECK(low.invalid_reason->find("is 50 % of rated") != std::string::npos);
  CHECK(evaluate(60.0, 0.981).warnings.empty());
  auto const scaled = evaluate(60.0, 0.979);
  REQUIRE(scaled.warnings.size() == 1);
  CHECK(scaled.warnings.front().find("97.9 % of rated current") != std::string::npos);
  CHECK_FALSE(evaluate(60.0, 1.0, 4.9).invalid_reason);
  CHECK(evaluate(60.0, 1.0, 5.1).invalid_reason);
  CHECK_FALSE(evaluate(60.0, 1.0, -4.9).invalid_reason);
  CHECK(evaluate(60.0, 1.0, -5.1).invalid_reason);
}

TEST_CASE("what is not known of setting, core and source is in the no-load results, to the digit",
          "[limits][evaluate][no-load]") {
  auto const u_of = [](Unit unit, double v, bool core_known, char const* quantity) {
    Bench bench;
    bench.unit = std::move(unit);
    make_exact(bench);
    auto one = single(v, 2.0, 60.0);
    one.volts_average = {reading(volts(v), "analyser", "average.1")};
    if (bench.unit.phases == 3) {
      for (auto* list : {&one.volts_rms, &one.volts_average}) list->resize(3, list->front());
      one.amperes.resize(3, one.amperes.front());
      one.active.resize(3, one.active.front());
    }
    NoLoadReadings readings;
    NoLoadPoint point;
    point.fed = bench.unit.phases == 3 ? "X1,X2,X3" : "X1-X3";
    point.snapshots = {one};
    readings.points.push_back(point);
    readings.temperature = liquid(20.0, 20.0);
    readings.core_temperature_known = core_known;
    readings.core_temperature_c_if_known = 20.0;
    auto const out = evaluate_no_load(readings, bench.context());
    INFO(out.invalid_reason.value_or(""));
    REQUIRE(find(out, quantity) != nullptr);
    return find(out, quantity)->uncertainty->standard / find(out, quantity)->value;
  };
  // 0.2 % off its volts: rectangular, times the exponent 2.75.
  CHECK(u_of(small_single_phase(), 240.0 * 1.002, false, "corrected_no_load_loss_w") ==
        Approx(2.75 * 0.002 / std::sqrt(3.0)).epsilon(1e-4));
  // The core is known within 10 degC: rectangular, times 0.00065 a kelvin.
  CHECK(u_of(small_single_phase(), 240.0, true, "corrected_no_load_loss_w") ==
        Approx(10.0 / std::sqrt(3.0) * 0.00065).epsilon(1e-6));
  // The exciting current is put to rated volts by a power of 6 that may be 4 or 8 as well.
  CHECK(u_of(small_single_phase(), 240.0 * 1.002, false, "exciting_current_percent") ==
        Approx(2.0 / std::sqrt(3.0) * 0.002 / (1.0 - 6.0 * 0.002)).epsilon(1e-6));
  CHECK(u_of(small_single_phase(), 240.0, false, "exciting_current_percent") == Approx(0.0).margin(1e-9));
  // A closed delta beside the source takes between nothing and 1.6 % of the root mean square: the middle is added.
  CHECK(u_of(pad_three_phase(), 480.0 / std::sqrt(3.0), false, "exciting_current_percent") ==
        Approx(0.016 / std::sqrt(12.0) / 1.008).epsilon(1e-6));
}

TEST_CASE("resistances are also stated at the reference temperature", "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = pad_three_phase();
  auto const pair = [](double a, double b) { return a * b / (a + b); };
  ResistanceReadings const readings{
      {resistance("H1-H2", pair(3.0, 6.0), 4.0, 0.0, 0.0), resistance("H2-H3", pair(3.0, 6.0), 4.0, 0.0, 0.0),
       resistance("H3-H1", pair(3.0, 6.0), 4.0, 0.0, 0.0), resistance("X1-X0", 1e-3, 20.0, 0.0, 0.0),
       resistance("X2-X0", 1e-3, 20.0, 0.0, 0.0), resistance("X3-X0", 1e-3, 20.0, 0.0, 0.0)}};
  auto const out = evaluate_winding_resistance(readings, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  // Copper from 20 to 85 degC: 319.5 / 254.5. Totals by 3.4.1: 9 ohm of the delta, 3 milliohm of the wye.
  double const hot = 319.5 / 254.5;
  CHECK(step(*find(out, "phase_resistance_ohm", "hv, phase 1-2"), "at 85 degC") == Approx(3.0 * hot).epsilon(1e-9));
  CHECK(step(*find(out, "total_resistance_ohm", "hv"), "at 85 degC") == Approx(9.0 * hot).epsilon(1e-9));
  CHECK(step(*find(out, "total_resistance_ohm", "lv"), "at 85 degC") == Approx(3e-3 * hot).epsilon(1e-9));
}

TEST_CASE("a scatter that is too large is said in percent", "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  ResistanceReadings readings{{resistance("H1-H2", 8.0, 10.0, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
  for (std::size_t i = 0; i < 4; ++i) readings.points[0].volts[i].value = volts(80.0 * (i % 2 == 0 ? 1.01 : 0.99));
  auto const out = evaluate_winding_resistance(readings, bench.context());
  REQUIRE(out.invalid_reason);
  CHECK(out.invalid_reason->find("scatter by 1.15 %") != std::string::npos);  // 1 % times the root of 4/3
}

TEST_CASE("turns too few or too many are counted exactly, and a high-voltage turn only where it can be told",
          "[limits][evaluate][ratio]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.unit.hv.taps.clear();
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5)};
  auto const remark = [&](double factor) {
    return evaluate_ratio(off_by(bench.unit, factor), bench.context()).results.front().remark;
  };
  // x turns of 53 more make the ratio 53 / (53 + x).
  CHECK(remark(53.0 / 56.0).find("by 3.0 turns too many of 53 in the low") != std::string::npos);
  CHECK(remark(53.0 / 46.0).find("by 7.0 turns too few of 53 in the low") != std::string::npos);
  auto& meter = bench.calibration["ratio_meter"].channels[0];
  meter.noise_u = 0.0;
  meter.relative_u = 0.32 / 1590.0;  // less than a third of a turn
  CHECK(remark(1.0 + 4.0 / 1590.0).find("by 4.0 turns too many of 1590") != std::string::npos);
  CHECK(remark(1.0 + 4.0 / 1590.0).find("u = 0.32 turn") != std::string::npos);
  meter.relative_u = 0.34 / 1590.0;
  CHECK(remark(1.0 + 4.0 / 1590.0).find("high-voltage winding") == std::string::npos);
}

TEST_CASE("that there is a current at all is proved by three times the noise, or by the least count",
          "[limits][evaluate]") {
  Bench bench;
  ReadingOrigin origin;
  origin.instrument = "analyser";
  auto& data = bench.calibration["analyser"].channels[1];
  auto const proof = [&] {
    auto const context = bench.context();
    return MeasuredValues(context).smallest_proof(origin, "current");
  };
  data.noise_u = 0.01;
  data.least_count = 0.0;
  CHECK(proof() == Approx(0.03).epsilon(1e-12));
  data.least_count = 0.05;
  CHECK(proof() == Approx(0.05).epsilon(1e-12));
  origin.instrument = "nobody";
  CHECK(proof() == 0.0);
}
