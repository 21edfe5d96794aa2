// SPDX-License-Identifier: MIT
// No-load loss, load loss, impedance, efficiency: from snapshots of the analyser to judged results.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/load_loss.hpp"
#include "tests/limits/formulas/evaluate_support.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

PowerSnapshot snapshot(std::vector<double> const& rms, std::vector<double> const& average,
                       std::vector<double> const& amps, std::vector<double> const& active, double hz = 60.0) {
  PowerSnapshot out;
  for (std::size_t k = 0; k < active.size(); ++k) {
    auto const number = std::to_string(k + 1);
    out.volts_rms.push_back(reading(volts(rms[k]), "analyser", "voltage." + number));
    if (k < average.size()) out.volts_average.push_back(reading(volts(average[k]), "analyser", "average." + number));
    out.amperes.push_back(reading(amperes(amps[k]), "analyser", "current." + number));
    out.active.push_back(reading(watts(active[k]), "analyser", "power." + number));
  }
  out.frequency = reading(hertz(hz), "analyser", "frequency");
  return out;
}

// ---- no-load: 25 kVA, 60 W at 240 V, loss as the 2.7th power of the volts ----

double no_load_w(double v) { return 60.0 * std::pow(v / 240.0, 2.7); }
double no_load_a(double v) { return 0.5 * std::pow(v / 240.0, 5.0); }
PowerSnapshot excited(double v, double form = 1.0, double hz = 60.0) {
  return snapshot({v * form}, {v}, {no_load_a(v)}, {no_load_w(v) * (0.5 + 0.5 * form * form)}, hz);
}
NoLoadReadings excited_at(std::vector<PowerSnapshot> snapshots, double percent = 100.0) {
  NoLoadReadings out;
  NoLoadPoint point;
  point.percent = percent;
  point.fed = "X1-X3";
  point.snapshots = std::move(snapshots);
  out.points.push_back(point);
  out.temperature = liquid(20.5, 19.5);
  return out;
}
Bench single() {
  Bench bench;
  bench.unit = small_single_phase();
  bench.sheet.lines = {line("no_load", "corrected_no_load_loss_w", {}, 66.0),
                       line("no_load", "exciting_current_percent", {}, 2.0)};
  return bench;
}

}  // namespace

TEST_CASE("no-load loss at set volts is corrected for the wave, with the setting in its uncertainty",
          "[limits][evaluate][no-load]") {
  auto const bench = single();
  auto const out =
      evaluate_no_load(excited_at({excited(240.0, 1.02), excited(240.0, 1.02), excited(240.0, 1.02)}), bench.context());
  CHECK_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_no_load_loss_w");
  CHECK(loss.value == Approx(60.0).epsilon(1e-9));
  CHECK(*loss.measured == Approx(61.212));
  CHECK(loss.verdict == Verdict::pass);
  CHECK(step(loss, "k = (rms / average)^2") == Approx(1.0404));
  // Of 60 W: power 3e-4; volts 2e-4 x exponent 2.75 (what rms and average share cancels in k); temperature 0.35 K x
  // 0.00065.
  CHECK(loss.uncertainty->standard == Approx(60.0 * std::hypot(3e-4, 5.5e-4, 0.351 * 0.00065)).epsilon(0.01));
  CHECK(find(out, "exciting_current_percent")->value == Approx(100.0 * 0.5 / (25000.0 / 240.0)).epsilon(1e-9));
  auto const off = evaluate_no_load(excited_at({excited(240.5), excited(240.5), excited(240.5)}), bench.context());
  CHECK(find(off, "corrected_no_load_loss_w")->value == Approx(no_load_w(240.5)));  // not corrected ...
  CHECK(find(off, "corrected_no_load_loss_w")->uncertainty->standard >
        60.0 * 2.75 * 0.5 / 240.0 / std::sqrt(3.0));  // ... but in u
}

TEST_CASE("two points that straddle rated volts are interpolated; one side alone is refused",
          "[limits][evaluate][no-load]") {
  auto const bench = single();
  auto const out =
      evaluate_no_load(excited_at({excited(237.0), excited(237.1), excited(242.5), excited(242.4)}), bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK(find(out, "corrected_no_load_loss_w")->value == Approx(60.0).epsilon(2e-6));
  CHECK(find(out, "exciting_current_percent")->value == Approx(0.48).epsilon(1e-5));
  auto const low = evaluate_no_load(excited_at({excited(237.0), excited(238.0)}), bench.context());
  REQUIRE(low.invalid_reason);
  CHECK(low.invalid_reason->find("straddle") != std::string::npos);
  CHECK(evaluate_no_load(excited_at({excited(220.0), excited(245.0)}), bench.context()).invalid_reason);
}

TEST_CASE("a bad wave, a wrong frequency, an impossible triple and a reading that is not GOOD are invalid",
          "[limits][evaluate][no-load]") {
  auto const bench = single();
  auto const reason = [&](PowerSnapshot const& one) {
    auto const out = evaluate_no_load(excited_at({one}), bench.context());
    REQUIRE(out.invalid_reason);
    return *out.invalid_reason;
  };
  CHECK(reason(excited(240.0, 1.06)).find("improve the source") != std::string::npos);
  CHECK(reason(excited(240.0, 1.0, 60.5)).find("frequency") != std::string::npos);
  CHECK(reason(snapshot({240.0}, {240.0}, {0.2}, {60.0})).find("more than volts times amperes") != std::string::npos);
  auto bad = excited(240.0);
  bad.active[0].quality = Quality::bad;
  CHECK(reason(bad).find("power.1 of analyser is BAD") != std::string::npos);
  auto nan = excited(240.0);
  nan.volts_average[0].value = volts(std::nan(""));
  CHECK(reason(nan).find("average.1 of analyser") != std::string::npos);
  auto missing = excited(240.0);
  missing.volts_average.clear();
  CHECK_FALSE(evaluate_no_load(excited_at({missing}), bench.context()).invalid_reason->empty());
}

TEST_CASE("other percentages of rated volts are shown, and the rated limit does not judge them",
          "[limits][evaluate][no-load]") {
  auto const bench = single();
  auto const out = evaluate_no_load(excited_at({excited(264.0)}, 110.0), bench.context());
  CHECK_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_no_load_loss_w", "110 %");
  CHECK(loss.value > 66.0);
  CHECK(loss.verdict == Verdict::not_judged);
}

TEST_CASE("a healthy three-limb core from a floating wye may read a negative phase", "[limits][evaluate][no-load]") {
  // Shares -0.14 : 1 : 2.14 (derived by hand, power factor 0.15): the sum counts, no element is refused.
  Bench bench;
  bench.unit = pad_three_phase();
  NoLoadReadings readings =
      excited_at({snapshot({277.1, 277.1, 277.1}, {277.1, 277.1, 277.1}, {6.0, 4.1, 6.4}, {-33.0, 240.0, 513.0})});
  readings.points[0].fed = "X1,X2,X3";
  auto const out = evaluate_no_load(readings, bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK(find(out, "corrected_no_load_loss_w")->value == Approx(720.0).epsilon(1e-6));
}

// ---- load loss ------------------------------------------------------------------------------------------------------

namespace {

struct Truth {
  double hv_ohm, lv_ohm, winding_c, stray_w;
};

/// 25 kVA: copper HV, aluminium LV.
double single_loss(Truth const& t) {
  double const ih = 25000.0 / 7200.0, il = 25000.0 / 240.0;
  return ih * ih * t.hv_ohm + il * il * t.lv_ohm + t.stray_w;
}
MeasuredResistances resistances(double hv_ohm, double lv_ohm, double at_c, double relative_u = 5e-4) {
  MeasuredResistances out;
  out.hv = {ohms(hv_ohm), relative_u, celsius(at_c), true};
  out.lv = {ohms(lv_ohm), relative_u, celsius(at_c), true};
  return out;
}
LoadLossReadings loaded(std::vector<PowerSnapshot> snapshots, std::string fed, double at_c) {
  LoadLossReadings out;
  out.fed = std::move(fed);
  out.snapshots = std::move(snapshots);
  out.temperature_before = out.temperature_after = liquid(at_c, at_c);
  out.on_time = seconds(10.0);
  return out;
}

}  // namespace

TEST_CASE("load loss is scaled, split, carried to the reference temperature and made into an efficiency",
          "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  bench.sheet.lines = {line("load_loss", "efficiency_percent", 98.95, {}),
                       line("load_loss", "impedance_percent", 1.8, 2.2)};
  Truth const t{8.0, 0.0085, 25.0, 12.0};
  double const full = single_loss(t), i = 25000.0 / 7200.0;
  // At 95 % of rated current, 2 % impedance.
  auto const one = snapshot({0.95 * 144.0}, {}, {0.95 * i}, {0.95 * 0.95 * full});
  auto const out = evaluate_load_loss(loaded({one, one, one}, "H1-H2", 25.0), resistances(8.0, 0.0085, 25.0),
                                      {60.0, 0.2}, bench.context());
  CHECK_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "at rated current") == Approx(full));
  CHECK(step(loss, "stray (4-7)") == Approx(12.0));
  // By hand: ohmic parts with 234.5 and 225, stray with 229 (mixed metals).
  double const hv = i * i * 8.0, lv = 25000.0 / 240.0 * 25000.0 / 240.0 * 0.0085;
  auto const by_hand = [&](double c) {
    return hv * (234.5 + c) / 259.5 + lv * (225.0 + c) / 250.0 + 12.0 * 254.0 / (229.0 + c);
  };
  CHECK(loss.value == Approx(by_hand(85.0)));
  CHECK(find(out, "load_loss_55c_w")->value == Approx(by_hand(55.0)));
  double const half_loss = 60.0 + by_hand(55.0) / 4.0;
  CHECK(find(out, "efficiency_percent")->value == Approx(100.0 * 12500.0 / (12500.0 + half_loss)));
  CHECK(find(out, "efficiency_percent")->verdict == Verdict::pass);
  double const x = std::sqrt(4.0 - std::pow(full / 250.0, 2)), r = by_hand(85.0) / 250.0;
  CHECK(find(out, "impedance_percent")->value == Approx(std::hypot(x, r)));
  CHECK(*find(out, "impedance_percent")->measured == Approx(2.0));
  CHECK(find(out, "total_loss_w")->value == Approx(60.0 + by_hand(85.0)));
  CHECK(find(out, "regulation_percent", "power factor 1")->value ==
        Approx(100.0 * (std::hypot(1.0 + r / 100.0, x / 100.0) - 1.0)));
  CHECK_FALSE(out.warnings.empty());  // below rated current: said
}

TEST_CASE("what cannot be true of a load loss is invalid", "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  Truth const t{8.0, 0.0085, 25.0, 12.0};
  double const full = single_loss(t), i = 25000.0 / 7200.0;
  auto const good = snapshot({144.0}, {}, {i}, {full});
  auto const reason = [&](LoadLossReadings const& readings, MeasuredResistances const& r) {
    auto const out = evaluate_load_loss(readings, r, {}, bench.context());
    REQUIRE(out.invalid_reason);
    return *out.invalid_reason;
  };
  auto const known = resistances(8.0, 0.0085, 25.0);
  CHECK_FALSE(evaluate_load_loss(loaded({good}, "H1-H2", 25.0), known, {}, bench.context()).invalid_reason);
  CHECK(
      reason(loaded({snapshot({144.0}, {}, {i}, {0.9 * full})}, "H1-H2", 25.0), known).find("stray loss is negative") !=
      std::string::npos);
  CHECK(reason(loaded({good}, "H1-H2", 25.0), resistances(8.0, 0.012, 25.0)).find("stray loss is negative") !=
        std::string::npos);
  CHECK(
      reason(loaded({snapshot({50.0}, {}, {i}, {full})}, "H1-H2", 25.0), known).find("more than volts times amperes") !=
      std::string::npos);
  CHECK(reason(loaded({snapshot({144.0 * 0.4}, {}, {0.4 * i}, {0.16 * full})}, "H1-H2", 25.0), known).find("50 %") !=
        std::string::npos);
  CHECK(reason(loaded({good}, "H1-H2", 25.0), {}).find("measure it before") != std::string::npos);
  auto drifting = loaded({good}, "H1-H2", 25.0);
  drifting.temperature_after = liquid(32.0, 32.0);
  CHECK(reason(drifting, known).find("changed by 7.0 K") != std::string::npos);
  auto tapped = loaded({good}, "H1-H2", 25.0);
  tapped.tap = 1;
  CHECK(reason(tapped, known).find("rated tap") != std::string::npos);
}

TEST_CASE("a loss that rises from reading to reading at equal current is a contact that heats, not the unit",
          "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  Truth const t{8.0, 0.0085, 25.0, 12.0};
  double const full = single_loss(t), i = 25000.0 / 7200.0;
  auto const with_rise = [&](double share) {
    std::vector<PowerSnapshot> snapshots;
    for (int k = 0; k < 5; ++k) {
      snapshots.push_back(snapshot({144.0}, {}, {i}, {full * (1.0 + share * static_cast<double>(k) / 4.0)}));
    }
    return evaluate_load_loss(loaded(snapshots, "H1-H2", 25.0), resistances(8.0, 0.0085, 25.0), {}, bench.context());
  };
  CHECK_FALSE(with_rise(0.003).invalid_reason);
  auto const hot = with_rise(0.005);
  REQUIRE(hot.invalid_reason);
  CHECK(hot.invalid_reason->find("tighten the shorting bar") != std::string::npos);
  CHECK_FALSE(with_rise(-0.005).invalid_reason);  // a fall is no contact
}

TEST_CASE("a known shorting bar is deducted", "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  Truth const t{8.0, 0.0085, 25.0, 12.0};
  double const i = 25000.0 / 7200.0, il = 25000.0 / 240.0, bar = 1e-4;
  auto const one = snapshot({144.0}, {}, {i}, {single_loss(t) + il * il * bar});
  auto readings = loaded({one}, "H1-H2", 25.0);
  readings.shorting_bar = ohms(bar);
  auto const out = evaluate_load_loss(readings, resistances(8.0, 0.0085, 25.0), {}, bench.context());
  CHECK(step(*find(out, "corrected_load_loss_w"), "shorting bar, deducted") == Approx(il * il * bar));
  CHECK(find(out, "stray_loss_w")->value == Approx(12.0));
}

namespace {

/// 500 kVA Dyn1 fed on H: 5 % impedance, load loss `full` at 25 degC, read through a system with phase error B.
PowerSnapshot three_phase_snapshot(double full, double b) {
  double const i = 500000.0 / (std::sqrt(3.0) * 12470.0), v = 0.05 * 12470.0;
  double const s = v / std::sqrt(3.0) * i;
  double const read = s * std::cos(std::acos(full / 3.0 / s) - b);
  return snapshot({v, v, v}, {}, {i, i, i}, {read, read, read});
}
MeasuredResistances three_phase_resistances() {
  // Delta 2.667 ohm and wye 0.8 milliohm a phase: totals by 3.4.1.
  return resistances(8.0, 2.4e-3, 25.0, 2e-3);
}

}  // namespace

TEST_CASE("at low power factor the phase error is taken out and trials give the uncertainty",
          "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = pad_three_phase();
  auto& power = bench.calibration["analyser"].channels[2];
  power.phase_error_rad = 0.003;
  power.phase_u_rad = 5e-4;
  auto readings = loaded({three_phase_snapshot(2400.0, 0.003)}, "H1,H2,H3", 25.0);
  readings.line_to_line_volts = true;
  auto const out = evaluate_load_loss(readings, three_phase_resistances(), {}, bench.context());
  INFO(out.invalid_reason.value_or(""));
  CHECK_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "after the phase error (4-5)") == Approx(2400.0).epsilon(1e-9));
  CHECK(*loss.measured == Approx(2400.0 * (1.0 + 0.003 * std::tan(std::acos(2400.0 / 25000.0)))).epsilon(1e-4));
  double const linear = step(loss, "standard uncertainty, linear");
  double const trials = step(loss, "standard uncertainty, Monte Carlo (taken)");
  CHECK(loss.uncertainty->standard == trials);
  CHECK(trials == Approx(linear).epsilon(0.05));
  CHECK(linear > 25000.0 * 5e-4 * 259.5 / 319.5);  // S x u(B), carried to 85 degC as stray loss, dominates
  // The same again, bit for bit.
  auto const again = evaluate_load_loss(readings, three_phase_resistances(), {}, bench.context());
  CHECK(find(again, "corrected_load_loss_w")->uncertainty->standard == trials);
}

TEST_CASE("one reversed current transformer reads a third and is asked about", "[limits][evaluate][load-loss]") {
  // Balanced phases: the sum is 1/3 of true (derived by hand). Below the ohmic loss: an error of measurement.
  Bench bench;
  bench.unit = pad_three_phase();
  auto one = three_phase_snapshot(4200.0, 0.0);
  one.active[1].value = -one.active[1].value;
  auto readings = loaded({one}, "H1,H2,H3", 25.0);
  readings.line_to_line_volts = true;
  auto const out = evaluate_load_loss(readings, three_phase_resistances(), {}, bench.context());
  double const sum = *find(out, "corrected_load_loss_w")->measured;
  external("one of three elements reversed (derived by hand)", "share of true", sum / 4200.0, 1.0 / 3.0, 1e-9);
  CHECK(out.invalid_reason);
  CHECK(judge_attempt({out}, bench.sheet, false).outcome == Outcome::invalid);
}

TEST_CASE("a wider guard band changes the verdict word, never the value", "[limits][evaluate][load-loss]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto limit = line("load_loss", "corrected_load_loss_w", {}, 250.0);
  limit.decision.name = "guard_band";
  bench.sheet.lines = {limit};
  Truth const t{8.0, 0.0085, 25.0, 12.0};
  double const i = 25000.0 / 7200.0;
  auto const one = snapshot({144.0}, {}, {i}, {single_loss(t)});
  auto const judged = [&](double upper) {
    bench.sheet.lines[0].limit.upper = upper;
    return find(evaluate_load_loss(loaded({one}, "H1-H2", 25.0), resistances(8.0, 0.0085, 25.0), {}, bench.context()),
                "corrected_load_loss_w")
        ->verdict;
  };
  auto const value =
      find(evaluate_load_loss(loaded({one}, "H1-H2", 25.0), resistances(8.0, 0.0085, 25.0), {}, bench.context()),
           "corrected_load_loss_w")
          ->value;
  CHECK(judged(value * 1.02) == Verdict::pass);
  CHECK(judged(value * 1.0001) == Verdict::conditional_pass);
  CHECK(judged(value * 0.9999) == Verdict::conditional_fail);
  CHECK(judged(value * 0.98) == Verdict::fail);
}
