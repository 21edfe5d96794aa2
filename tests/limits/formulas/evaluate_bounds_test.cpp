// SPDX-License-Identifier: MIT
// Bounds, warnings, questions and stated steps of the evaluations of load loss, no-load loss and resistance: where each
// bound lies, what is said at it, and which numbers stand in the text. All by hand.
#include <catch2/catch.hpp>
#include <cmath>

#include "tests/limits/formulas/evaluate_readings.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

/// Three alike elements of a 500 kVA Dyn1 unit fed on H, line volts, 5 % impedance.
PowerSnapshot three(double share, double power_factor, std::vector<double> const& shares = {1.0, 1.0, 1.0}) {
  double const i = share * 500000.0 / (std::sqrt(3.0) * 12470.0), v = share * 0.05 * 12470.0;
  PowerSnapshot out;
  for (std::size_t k = 0; k < shares.size(); ++k) {
    auto const number = std::to_string(k + 1);
    out.volts_rms.push_back(reading(volts(v), "analyser", "voltage." + number));
    out.amperes.push_back(reading(amperes(i), "analyser", "current." + number));
    out.active.push_back(
        reading(watts(shares[k] * power_factor * v / std::sqrt(3.0) * i), "analyser", "power." + number));
  }
  out.frequency = reading(hertz(60.0), "analyser", "frequency");
  return out;
}
LoadLossReadings three_loaded(std::vector<PowerSnapshot> snapshots) {
  auto out = loaded(std::move(snapshots));
  out.fed = "H1,H2,H3";
  out.line_to_line_volts = true;
  return out;
}
/// Next to no ohmic loss: the power factor can be chosen freely.
MeasuredResistances tiny() {
  MeasuredResistances out;
  out.hv = {ohms(0.08), 0.0, celsius(25.0), true};
  out.lv = {ohms(2.4e-5), 0.0, celsius(25.0), true};
  return out;
}

Bench exact(Unit unit) {
  Bench bench;
  bench.unit = std::move(unit);
  make_exact(bench);
  return bench;
}

}  // namespace

// ---- load loss ------------------------------------------------------------------------------------------------------

TEST_CASE("a negative element is asked about above a power factor of 0.1, where no healthy unit has one",
          "[limits][evaluate][load-loss]") {
  auto const bench = exact(pad_three_phase());
  auto const question = [&](double power_factor) {
    // One element of -1, two of 2: the sum is that of three of 1.
    auto const out =
        evaluate_load_loss(three_loaded({three(1.0, power_factor, {2.0, -1.0, 2.0})}), tiny(), {}, bench.context());
    return out.question;
  };
  CHECK(says(question(0.101), "Element 2 of the wattmeter reads -"));
  CHECK(says(question(0.101), "power factor of 0.10"));
  CHECK_FALSE(question(0.099));
}

TEST_CASE("trials give the uncertainty below a power factor of 0.1 and nowhere else", "[limits][evaluate][load-loss]") {
  auto bench = exact(pad_three_phase());
  bench.calibration["analyser"].channels[2].phase_u_rad = 5e-4;
  auto const by_trials = [&](double power_factor) {
    auto const out = evaluate_load_loss(three_loaded({three(1.0, power_factor)}), tiny(), {}, bench.context());
    REQUIRE_FALSE(out.invalid_reason);
    return !std::isnan(step(*find(out, "corrected_load_loss_w"), "standard uncertainty, Monte Carlo (taken)"));
  };
  CHECK(by_trials(0.099));
  CHECK_FALSE(by_trials(0.101));
}

TEST_CASE("the trials are the same to the last bits as those of older records", "[limits][evaluate][load-loss]") {
  // Computed by this evaluation's version 2. Another number here means that old records no longer recompute: then the
  // evaluation needs a new version, not this line a new number.
  auto bench = exact(pad_three_phase());
  bench.calibration["analyser"].channels[2].phase_u_rad = 5e-4;
  auto const out = evaluate_load_loss(three_loaded({three(1.0, 0.05)}), tiny(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  CHECK(step(*find(out, "corrected_load_loss_w"), "standard uncertainty, Monte Carlo (taken)") ==
        Approx(15.659843055559826).epsilon(1e-12));
}

TEST_CASE("the trials draw a scatter of three degrees of freedom from Student's t, of two from the normal",
          "[limits][evaluate][load-loss]") {
  auto bench = exact(pad_three_phase());
  bench.unit.reference.load = celsius(25.0);  // as warm as it is measured: no law of the stray loss is asked
  bench.calibration["analyser"].channels[2].phase_u_rad = 1e-9;
  auto const widened = [&](std::vector<double> const& shares) {
    std::vector<PowerSnapshot> snapshots;
    for (double const share : shares) snapshots.push_back(three(1.0, 0.09 * share));
    auto const out = evaluate_load_loss(three_loaded(snapshots), tiny(), {}, bench.context());
    INFO(out.invalid_reason.value_or(""));
    REQUIRE_FALSE(out.invalid_reason);
    auto const& loss = *find(out, "corrected_load_loss_w");
    return step(loss, "standard uncertainty, Monte Carlo (taken)") / step(loss, "standard uncertainty, linear");
  };
  // The deviation of t with 3 degrees of freedom is the root of 3 (its own scatter in 20,000 trials is wide).
  CHECK(widened({1.0, 1.003, 0.999, 1.001}) > 1.4);
  CHECK(widened({1.0, 1.003, 1.001}) == Approx(1.0).epsilon(0.03));
}

TEST_CASE("three elements: apparent power adds up, and so does the watts of two", "[limits][evaluate][load-loss]") {
  auto const bench = exact(pad_three_phase());
  auto const out = evaluate_load_loss(three_loaded({three(1.0, 0.2)}), tiny(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "apparent power") == Approx(0.05 * 500000.0).epsilon(1e-12));
  CHECK(step(loss, "measured") == Approx(0.2 * 0.05 * 500000.0).epsilon(1e-12));
  CHECK(step(loss, "watts of element 3") == Approx(0.2 * 0.05 * 500000.0 / 3.0).epsilon(1e-12));
  CHECK(step(loss, "line volts") == Approx(0.05 * 12470.0).epsilon(1e-12));
  // Two elements see the line volts as they are: each reads half of the power of balanced phases at unity, ...
  auto two = three(1.0, 0.2, {1.5, 1.5});
  auto const aron = evaluate_load_loss(three_loaded({two}), tiny(), {}, bench.context());
  REQUIRE_FALSE(aron.invalid_reason);
  auto const& of_two = *find(aron, "corrected_load_loss_w");
  CHECK(step(of_two, "measured") == Approx(0.2 * 0.05 * 500000.0).epsilon(1e-12));
  CHECK(step(of_two, "apparent power") == Approx(2.0 / std::sqrt(3.0) * 0.05 * 500000.0).epsilon(1e-12));
  // ... and with volts to neutral the line volts are root three times as many.
  auto neutral = three(1.0, 0.2);
  for (auto& one : neutral.volts_rms) one.value = one.value / std::sqrt(3.0);
  auto readings = three_loaded({neutral});
  readings.line_to_line_volts = false;
  auto const star = evaluate_load_loss(readings, tiny(), {}, bench.context());
  REQUIRE_FALSE(star.invalid_reason);
  CHECK(step(*find(star, "corrected_load_loss_w"), "line volts") == Approx(0.05 * 12470.0).epsilon(1e-12));
  CHECK(step(*find(star, "impedance_percent"), "Z at test temperature") == Approx(5.0).epsilon(1e-12));
}

TEST_CASE("bar and phase error stand apart in the list of inputs", "[limits][evaluate][load-loss]") {
  auto bench = exact(pad_three_phase());
  bench.calibration["analyser"].channels[2].phase_error_rad = 0.002;
  double const il = 500000.0 / (std::sqrt(3.0) * 480.0), bar = 2e-5;
  auto readings = three_loaded({three(1.0, 0.2)});
  readings.shorting_bar = ohms(bar);
  auto const out = evaluate_load_loss(readings, tiny(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "phase error B") == Approx(0.002).epsilon(1e-12));
  CHECK(step(loss, "after the phase error (4-5)") == Approx(25000.0 * std::cos(std::acos(0.2) + 0.002)).epsilon(1e-12));
  CHECK(step(loss, "shorting bar, deducted") == Approx(2.0 * il * il * bar).epsilon(1e-12));
}

TEST_CASE("below rated current the bar goes with the square of the current too", "[limits][evaluate][load-loss]") {
  auto const bench = exact(small_single_phase());
  double const il = 25000.0 / 240.0, bar_ohm = 4e-5, bar_henry = 0.4e-6, pi = 3.14159265358979323846, share = 0.7;
  double const r = rated_w / 250.0, x = 1.7;
  double const with_r = r + il * il * bar_ohm / 250.0, with_x = x + il * il * 2.0 * pi * 60.0 * bar_henry / 250.0;
  auto readings = loaded({single(share * 72.0 * std::hypot(with_r, with_x), share * rated_a,
                                 share * share * (rated_w + il * il * bar_ohm))});
  readings.shorting_bar = ohms(bar_ohm);
  readings.shorting_bar_inductance = henries(bar_henry);
  auto const out = evaluate_load_loss(readings, exact_resistances(), {}, bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  auto const& impedance = *find(out, "impedance_percent");
  CHECK(step(impedance, "X") == Approx(x).epsilon(1e-9));
  CHECK(step(impedance, "Z at test temperature") == Approx(std::hypot(r, x)).epsilon(1e-9));
  CHECK(step(*find(out, "corrected_load_loss_w"), "at rated current") == Approx(rated_w).epsilon(1e-9));
}

TEST_CASE("what is stated of the bar is known to a tenth", "[limits][evaluate][load-loss]") {
  auto const bench = exact(small_single_phase());
  double const il = 25000.0 / 240.0, bar_ohm = 4e-5, bar_henry = 0.4e-6, pi = 3.14159265358979323846;
  auto readings = loaded({single(144.0, rated_a, rated_w + il * il * bar_ohm)});
  readings.shorting_bar = ohms(bar_ohm);
  auto const lossy = evaluate_load_loss(readings, exact_resistances(), {}, bench.context());
  REQUIRE_FALSE(lossy.invalid_reason);
  // What the bar is wrong by comes out as stray loss, carried to 85 degC with the zero of mixed metals, 229.
  auto const& loss = *find(lossy, "corrected_load_loss_w");
  double const law = u_of_stray_law(step(loss, "stray at reference (4-9)"), 229.0, 25.0, 85.0);
  CHECK(loss.uncertainty->standard == Approx(std::hypot(0.1 * il * il * bar_ohm * 254.0 / 314.0, law)).epsilon(1e-9));
  auto inductive = loaded({single(144.0, rated_a, rated_w)});
  inductive.shorting_bar_inductance = henries(bar_henry);
  auto const turned = evaluate_load_loss(inductive, exact_resistances(), {}, bench.context());
  REQUIRE_FALSE(turned.invalid_reason);
  auto const& impedance = *find(turned, "impedance_percent");
  double const r = find(turned, "corrected_load_loss_w")->value / 250.0;
  double const of_loss = find(turned, "corrected_load_loss_w")->uncertainty->standard / 250.0 * r / impedance.value;
  CHECK(impedance.uncertainty->standard ==
        Approx(std::hypot(0.1 * il * il * 2.0 * pi * 60.0 * bar_henry / 250.0, of_loss)).epsilon(1e-9));
}

TEST_CASE("fed on the low-voltage side, current, volts and bar are those of that side",
          "[limits][evaluate][load-loss]") {
  auto const bench = exact(small_single_phase());
  double const il = 25000.0 / 240.0, bar = 0.5;  // on the high-voltage side
  auto readings = loaded({single(4.8, il, rated_w + rated_a * rated_a * bar)});
  readings.fed = "X1-X3";
  readings.shorting_bar = ohms(bar);
  auto const out = evaluate_load_loss(readings, exact_resistances(), {60.0, 0.0}, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_load_loss_w");
  CHECK(step(loss, "shorting bar, deducted") == Approx(rated_a * rated_a * bar).epsilon(1e-12));
  CHECK(step(loss, "at rated current") == Approx(rated_w).epsilon(1e-12));
  CHECK(step(loss, "ohmic (4-6)") == Approx(rated_a * rated_a * 8.0 + il * il * 0.0085).epsilon(1e-12));
  double const r = rated_w / 250.0, with_bar = r + rated_a * rated_a * bar / 250.0;
  CHECK(step(*find(out, "impedance_percent"), "X") == Approx(std::sqrt(4.0 - with_bar * with_bar)).epsilon(1e-9));
}

TEST_CASE("a loss that scatters by one percent a reading is worth nothing, and the percent is said",
          "[limits][evaluate]") {
  auto const bench = exact(small_single_phase());
  // Four readings that begin and end alike; two at +s and two at -s: their deviation is s times the root of 4/3.
  auto const with = [&](double deviation, bool no_load) {
    double const s = deviation / std::sqrt(4.0 / 3.0);
    std::vector<PowerSnapshot> snapshots;
    for (double const sign : {1.0, -1.0, -1.0, 1.0}) {
      snapshots.push_back(no_load ? single(240.0, 0.5, 60.0 * (1.0 + sign * s))
                                  : single(144.0, rated_a, rated_w * (1.0 + sign * s)));
    }
    if (!no_load) return evaluate_load_loss(loaded(snapshots), exact_resistances(), {}, bench.context()).invalid_reason;
    NoLoadReadings readings;
    readings.temperature = liquid(20.0, 20.0);
    NoLoadPoint point;
    point.fed = "X1-X3";
    for (auto& one : snapshots) one.volts_average = one.volts_rms;
    point.snapshots = snapshots;
    readings.points = {point};
    return evaluate_no_load(readings, bench.context()).invalid_reason;
  };
  for (bool const no_load : {false, true}) {
    CHECK_FALSE(with(0.0099, no_load));
    CHECK(says(with(0.0101, no_load), "scatter by 1.0 %"));
    CHECK(says(with(0.0301, no_load), "scatter by 3.0 %"));
  }
}

TEST_CASE("a rise of the loss is a contact from 0.4 % on, and the rise is said", "[limits][evaluate][load-loss]") {
  auto const bench = exact(small_single_phase());
  auto const rising = [&](double rise) {
    std::vector<PowerSnapshot> snapshots;
    for (double const part : {0.0, 0.5, 1.0}) {
      snapshots.push_back(single(144.0, rated_a, rated_w * (1.0 + rise * part)));
    }
    return evaluate_load_loss(loaded(snapshots), exact_resistances(), {}, bench.context()).invalid_reason;
  };
  CHECK_FALSE(rising(0.0039));
  CHECK(says(rising(0.0041), "rose by 0.41 %"));
}

// ---- no-load loss ---------------------------------------------------------------------------------------------------

namespace {

PowerSnapshot excited(double v, double a, double w, double hz = 60.0, double form = 1.0) {
  auto one = single(v * form, a, w, hz);
  one.volts_average = {reading(volts(v), "analyser", "average.1")};
  return one;
}
NoLoadReadings excited_on(std::string fed, std::vector<PowerSnapshot> snapshots, double percent = 100.0) {
  NoLoadReadings out;
  NoLoadPoint point;
  point.fed = std::move(fed);
  point.percent = percent;
  point.snapshots = std::move(snapshots);
  out.points = {point};
  out.temperature = liquid(20.0, 20.0);
  return out;
}

}  // namespace

TEST_CASE("a half, a section or the high side has rated volts and current of its own", "[limits][evaluate][no-load]") {
  auto const percent = [](Bench const& bench, std::string const& fed, double v, double a) {
    auto const out = evaluate_no_load(excited_on(fed, {excited(v, a, 60.0)}), bench.context());
    INFO(fed << ": " << out.invalid_reason.value_or(""));
    REQUIRE_FALSE(out.invalid_reason);
    return find(out, "exciting_current_percent")->value;
  };
  auto const tapped = exact(small_single_phase());
  CHECK(percent(tapped, "X1-X3", 240.0, 0.5) == Approx(100.0 * 0.5 / (25000.0 / 240.0)).epsilon(1e-12));
  CHECK(percent(tapped, "X1-X2", 120.0, 1.0) == Approx(100.0 * 1.0 / (25000.0 / 120.0)).epsilon(1e-12));
  CHECK(percent(tapped, "X2-X3", 120.0, 1.0) == Approx(100.0 * 1.0 / (25000.0 / 120.0)).epsilon(1e-12));
  CHECK(percent(tapped, "H1-H2", 7200.0, 0.02) == Approx(100.0 * 0.02 / (25000.0 / 7200.0)).epsilon(1e-12));
  auto sections = small_single_phase();
  sections.lv_form = LowVoltageForm::series_parallel;
  auto const parallel = exact(sections);
  CHECK(percent(parallel, "X3-X4", 120.0, 1.0) == Approx(100.0 * 1.0 / (25000.0 / 120.0)).epsilon(1e-12));
  CHECK(percent(parallel, "X1-X4", 240.0, 0.5) == Approx(100.0 * 0.5 / (25000.0 / 240.0)).epsilon(1e-12));
  // A three-phase unit by line volts, and by volts to neutral.
  auto const bench = exact(pad_three_phase());
  for (bool const line_to_line : {true, false}) {
    auto one = excited(line_to_line ? 480.0 : 480.0 / std::sqrt(3.0), 2.0, 150.0);
    for (auto* list : {&one.volts_rms, &one.volts_average}) list->resize(3, list->front());
    one.amperes.resize(3, one.amperes.front());
    one.active.resize(3, one.active.front());
    auto readings = excited_on("X1,X2,X3", {one});
    readings.points[0].line_to_line_volts = line_to_line;
    auto const out = evaluate_no_load(readings, bench.context());
    REQUIRE_FALSE(out.invalid_reason);
    CHECK(find(out, "corrected_no_load_loss_w")->value == Approx(450.0).epsilon(1e-12));
    CHECK(*find(out, "exciting_current_percent")->measured == Approx(2.0).epsilon(1e-12));
    CHECK(step(*find(out, "exciting_current_percent"), "rated current of the fed winding") ==
          Approx(500000.0 / (std::sqrt(3.0) * 480.0)).epsilon(1e-12));
  }
}

TEST_CASE("the third harmonic that leaves the source is added where, and only where, the unit has another path for it",
          "[limits][evaluate][no-load]") {
  struct Case {
    char const* group;
    CoreForm core;
    NeutralKind lv_neutral;
    double added;
  };
  for (auto const& [group, core, lv_neutral, added] :
       {Case{"Dyn1", CoreForm::five_limb, NeutralKind::own_bushing, 0.8},  // the closed delta
        Case{"Dyn11", CoreForm::three_single_cores, NeutralKind::own_bushing, 0.8},
        Case{"Yzn5", CoreForm::five_limb, NeutralKind::own_bushing, 0.8},   // a zigzag's halves
        Case{"Yyn0", CoreForm::three_limb, NeutralKind::own_bushing, 0.8},  // the air beside a three-limb core
        Case{"YNyn0", CoreForm::five_limb, NeutralKind::own_bushing, 0.0},
        Case{"Yd1", CoreForm::three_limb, NeutralKind::none, 0.0},  // fed on the delta: it is the source's own path
        Case{"Dd0", CoreForm::five_limb, NeutralKind::none, 0.0}}) {
    CAPTURE(group);
    auto unit = pad_three_phase();
    unit.vector_group = group;
    unit.core_form = core;
    unit.lv_neutral = lv_neutral;
    auto const bench = exact(unit);
    auto one = excited(480.0, 2.0, 150.0);
    for (auto* list : {&one.volts_rms, &one.volts_average}) list->resize(3, list->front());
    one.amperes.resize(3, one.amperes.front());
    one.active.resize(3, one.active.front());
    auto readings = excited_on("X1,X2,X3", {one});
    readings.points[0].line_to_line_volts = true;
    auto const out = evaluate_no_load(readings, bench.context());
    REQUIRE_FALSE(out.invalid_reason);
    auto const& current = *find(out, "exciting_current_percent");
    CHECK(current.value ==
          Approx((1.0 + 0.01 * added) * 100.0 * 2.0 / (500000.0 / (std::sqrt(3.0) * 480.0))).epsilon(1e-12));
    CHECK(*current.measured == Approx(2.0).epsilon(1e-12));  // what was read stays beside it
    CHECK(current.uncertainty->standard / current.value ==
          Approx(0.01 * added / std::sqrt(3.0) / (1.0 + 0.01 * added)).margin(1e-9));
  }
}

TEST_CASE("the frequency of a no-load test is held within half a percent", "[limits][evaluate][no-load]") {
  auto const bench = exact(small_single_phase());
  auto const at = [&](double hz) {
    return evaluate_no_load(excited_on("X1-X3", {excited(240.0, 0.5, 60.0, hz)}), bench.context()).invalid_reason;
  };
  CHECK_FALSE(at(60.29));
  CHECK_FALSE(at(59.71));
  CHECK(says(at(60.31), "frequency 60.3100 Hz, rated 60 Hz"));
  CHECK(at(59.69));
}

TEST_CASE("snapshots at different volts do not scatter if the loss goes as the 2.75th power",
          "[limits][evaluate][no-load]") {
  auto const bench = exact(small_single_phase());
  std::vector<PowerSnapshot> snapshots;
  for (double const v : {239.5, 240.0, 240.5}) snapshots.push_back(excited(v, 0.5, 60.0 * std::pow(v / 240.0, 2.75)));
  auto const out = evaluate_no_load(excited_on("X1-X3", snapshots), bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  CHECK(find(out, "corrected_no_load_loss_w")->uncertainty->standard < 1e-6 * 60.0);
}

TEST_CASE("what is wrong with the volts acts on the loss through wave form and setting with one sign",
          "[limits][evaluate][no-load]") {
  // An error of d volts in rms and average alike, form factor f: P goes as 1/(0.5 + 0.5 k), k = (rms/average)^2, and
  // is of volts that are off by d: d/V (2 k (1 - 1/f) / (1 + k) - 2.75).
  auto bench = exact(small_single_phase());
  bench.calibration["analyser"].channels[0].offset_u = 0.1;
  double const f = 1.04, k = f * f;
  auto const out =
      evaluate_no_load(excited_on("X1-X3", {excited(240.0, 0.5, 60.0 * (0.5 + 0.5 * k), 60.0, f)}), bench.context());
  REQUIRE_FALSE(out.invalid_reason);
  auto const& loss = *find(out, "corrected_no_load_loss_w");
  CHECK(loss.value == Approx(60.0).epsilon(1e-12));
  double const slope = 2.0 * k * (1.0 - 1.0 / f) / (1.0 + k) - 2.75;
  CHECK(loss.uncertainty->standard == Approx(60.0 * 0.1 / 240.0 * std::abs(slope)).epsilon(1e-6));
}

TEST_CASE("the steps of a no-load test are stated in their units", "[limits][evaluate][no-load]") {
  auto const bench = exact(small_single_phase());
  auto const set = evaluate_no_load(excited_on("X1-X3", {excited(240.48, 0.5, 62.0, 60.1, 1.01)}), bench.context());
  REQUIRE_FALSE(set.invalid_reason);
  auto const& loss = *find(set, "corrected_no_load_loss_w");
  CHECK(step(loss, "average volts off by") == Approx(0.2).epsilon(1e-9));
  CHECK(step(loss, "volts, rms") == Approx(240.48 * 1.01).epsilon(1e-12));
  CHECK(step(loss, "waveform correction") == Approx(100.0 * (1.0 / (0.5 + 0.5 * 1.01 * 1.01) - 1.0)).epsilon(1e-9));
  CHECK(step(loss, "watts of element 1") == Approx(62.0));
  CHECK(step(loss, "frequency") == Approx(60.1));
  auto const two = evaluate_no_load(
      excited_on("X1-X3", {excited(1.1 * 236.0, 0.4, 70.0), excited(1.1 * 246.0, 0.9, 90.0)}, 110.0), bench.context());
  REQUIRE_FALSE(two.invalid_reason);
  auto const& between = *find(two, "corrected_no_load_loss_w", "110 %");
  double const part = std::log(240.0 / 236.0) / std::log(246.0 / 236.0);
  CHECK(step(between, "interpolated at") == Approx(264.0).epsilon(1e-12));
  CHECK(between.value == Approx(70.0 * std::pow(90.0 / 70.0, part)).epsilon(1e-9));
  CHECK(*between.measured == Approx(70.0 * std::pow(90.0 / 70.0, part)).epsilon(1e-9));
  CHECK(step(between, "lower point: volts, average") == Approx(1.1 * 236.0).epsilon(1e-12));
  auto const& current = *find(two, "exciting_current_percent", "110 %");
  CHECK(*current.measured == Approx(0.4 * std::pow(0.9 / 0.4, part)).epsilon(1e-9));
  CHECK(step(current, "rated current of the fed winding") == Approx(25000.0 / 240.0).epsilon(1e-12));
}

// ---- resistance -----------------------------------------------------------------------------------------------------

TEST_CASE("a measuring current above 15 % of rated is warned of with both numbers", "[limits][evaluate][resistance]") {
  auto const bench = exact(small_single_phase());
  auto const warnings = [&](double hv_share, double lv_share) {
    ResistanceReadings const readings{{resistance("H1-H2", 8.0, hv_share * 25000.0 / 7200.0, 0.0, 0.0),
                                       resistance("X1-X3", 8.5e-3, lv_share * 25000.0 / 240.0, 0.0, 0.0)}};
    return evaluate_winding_resistance(readings, bench.context()).warnings;
  };
  CHECK(warnings(0.149, 0.149).empty());
  REQUIRE(warnings(0.151, 0.149).size() == 1);
  CHECK(says(warnings(0.151, 0.149).front(), "H1-H2: 0.5243 A is more than 15 % of the rated current (0.5208 A)"));
  REQUIRE(warnings(0.149, 0.151).size() == 1);
  CHECK(says(warnings(0.149, 0.151).front(), "X1-X3"));
}

TEST_CASE("the steps of a resistance are stated in their units", "[limits][evaluate][resistance]") {
  auto const bench = exact(small_single_phase());
  ResistanceReadings readings{{resistance("H1-H2", 8.0, 0.4, 2e-3, 6e-3), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
  readings.points[0].predicted_change_relative = 0.0004;
  for (std::size_t i = 0; i < 4; ++i) readings.points[1].volts[i].value = volts(0.085 * (i % 2 == 0 ? 1.001 : 0.999));
  readings.points[0].temperature = liquid(22.0, 20.0);
  auto const out = evaluate_winding_resistance(readings, bench.context());
  INFO(out.invalid_reason.value_or(""));
  REQUIRE_FALSE(out.invalid_reason);
  auto const& hv = *find(out, "resistance_ohm", "H1-H2");
  CHECK(step(hv, "predicted change") == Approx(0.04).epsilon(1e-9));
  CHECK(step(hv, "zero-current volts, mean of before and after") == Approx(4e-3).epsilon(1e-9));
  CHECK(step(hv, "mean volts") == Approx(3.204).epsilon(1e-9));
  CHECK(step(hv, "mean current") == Approx(0.4).epsilon(1e-9));
  CHECK(step(hv, "settling") == Approx(12.0));
  CHECK(step(hv, "winding temperature") == Approx(21.0).epsilon(1e-9));
  CHECK(step(*find(out, "resistance_ohm", "X1-X3"), "scatter of one reading") ==
        Approx(0.1 * std::sqrt(4.0 / 3.0)).epsilon(1e-6));
}

TEST_CASE("volts of the wrong sign, of flipping sign and without a current are an open lead",
          "[limits][evaluate][resistance]") {
  auto const bench = exact(small_single_phase());
  auto const reason = [&](auto change) {
    ResistanceReadings readings{{resistance("H1-H2", 8.0, 0.4, 0.0, 0.0), resistance("X1-X3", 8.5e-3, 10.0, 0.0, 0.0)}};
    change(readings.points[1]);
    return evaluate_winding_resistance(readings, bench.context()).invalid_reason;
  };
  CHECK(says(reason([](ResistancePoint& p) {
               for (auto& one : p.volts) one.value = -one.value;
             }),
             "wrong sign"));
  CHECK(says(reason([](ResistancePoint& p) { p.volts[2].value = -p.volts[2].value; }), "sign of the volts flips"));
  CHECK(says(reason([](ResistancePoint& p) { p.volts[2].value = volts(0.0); }), "sign of the volts flips"));
  // Both turned round is a meter that counts the other way, not an open lead.
  CHECK_FALSE(reason([](ResistancePoint& p) {
    for (auto& one : p.volts) one.value = -one.value;
    for (auto& one : p.current) one.value = -one.value;
  }));
  CHECK(reason([](ResistancePoint& p) {
    p.set_current = amperes(0.0);
    for (auto& one : p.current) one.value = amperes(0.0);
  }));
}

TEST_CASE("both sections in series make the winding of a series-parallel unit", "[limits][evaluate][resistance]") {
  auto unit = small_single_phase();
  unit.lv_form = LowVoltageForm::series_parallel;
  auto const bench = exact(unit);
  ResistanceReadings const readings{{resistance("H1-H2", 8.0, 0.4, 0.0, 0.0),
                                     resistance("X1-X2", 4.2e-3, 10.0, 0.0, 0.0),
                                     resistance("X3-X4", 4.3e-3, 10.0, 0.0, 0.0)}};
  CHECK(measured_resistances(readings, bench.context()).lv.total.in(ohms) == Approx(8.5e-3).epsilon(1e-12));
  ResistanceReadings const half{{resistance("H1-H2", 8.0, 0.4, 0.0, 0.0), resistance("X1-X2", 4.2e-3, 10.0, 0.0, 0.0)}};
  CHECK(says(evaluate_winding_resistance(half, bench.context()).invalid_reason, "as a whole or both of its parts"));
}
