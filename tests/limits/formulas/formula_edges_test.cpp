// SPDX-License-Identifier: MIT
// Exact numbers and edges that a wrong sign or constant would move; found by the mutation campaign. Expected values by
// hand or by difference quotients.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "limits/correct/dielectric.hpp"
#include "limits/correct/efficiency.hpp"
#include "limits/correct/load_loss.hpp"
#include "limits/correct/no_load.hpp"
#include "limits/correct/polarity.hpp"
#include "limits/correct/settling.hpp"
#include "limits/evaluate/measured_values.hpp"
#include "limits/evaluate/power_means.hpp"
#include "limits/process/control_chart.hpp"
#include "limits/uncertainty/decision.hpp"
#include "limits/uncertainty/monte_carlo.hpp"
#include "limits/uncertainty/uncertain.hpp"
#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/units.hpp"

using namespace benchward;

TEST_CASE("every derivative that uncertainty rests on is the slope of its function", "[limits][uncertain]") {
  struct Function {
    char const* name;
    std::function<double(double)> plain;
    std::function<Uncertain(Uncertain const&)> uncertain;
  };
  std::vector<Function> const functions{
      {"sqrt", [](double x) { return std::sqrt(x); }, [](Uncertain const& x) { return sqrt(x); }},
      {"exp", [](double x) { return std::exp(x); }, [](Uncertain const& x) { return exp(x); }},
      {"log", [](double x) { return std::log(x); }, [](Uncertain const& x) { return log(x); }},
      {"sin", [](double x) { return std::sin(x); }, [](Uncertain const& x) { return sin(x); }},
      {"cos", [](double x) { return std::cos(x); }, [](Uncertain const& x) { return cos(x); }},
      {"acos", [](double x) { return std::acos(x); }, [](Uncertain const& x) { return acos(x); }},
      {"-x", [](double x) { return -x; }, [](Uncertain const& x) { return -x; }},
      {"x + 2", [](double x) { return x + 2.0; }, [](Uncertain const& x) { return x + 2.0; }},
      {"2 + x", [](double x) { return 2.0 + x; }, [](Uncertain const& x) { return 2.0 + x; }},
      {"x - 2", [](double x) { return x - 2.0; }, [](Uncertain const& x) { return x - 2.0; }},
      {"2 - x", [](double x) { return 2.0 - x; }, [](Uncertain const& x) { return 2.0 - x; }},
      {"3 x", [](double x) { return 3.0 * x; }, [](Uncertain const& x) { return 3.0 * x; }},
      {"x 3", [](double x) { return x * 3.0; }, [](Uncertain const& x) { return x * 3.0; }},
      {"x / 3", [](double x) { return x / 3.0; }, [](Uncertain const& x) { return x / 3.0; }},
      {"3 / x", [](double x) { return 3.0 / x; }, [](Uncertain const& x) { return 3.0 / x; }},
      {"x x", [](double x) { return x * x; }, [](Uncertain const& x) { return x * x; }},
      {"x / (x + 2)", [](double x) { return x / (x + 2.0); }, [](Uncertain const& x) { return x / (x + 2.0); }},
      {"x - x x", [](double x) { return x - x * x; }, [](Uncertain const& x) { return x - x * x; }},
      {"x + x x", [](double x) { return x + x * x; }, [](Uncertain const& x) { return x + x * x; }},
  };
  for (auto const& function : functions) {
    for (double const at : {0.2, 0.5, 0.83}) {
      INFO(function.name << " at " << at);
      UncertaintyInputs inputs;
      double const u = 0.01;
      auto const result = function.uncertain(inputs.input("x", at, u));
      CHECK(result.value() == Approx(function.plain(at)).epsilon(1e-14));
      double const h = 1e-5;
      double const slope = (function.plain(at + h) - function.plain(at - h)) / (2.0 * h);
      REQUIRE(inputs.budget(result).size() == 1);
      CHECK(inputs.budget(result)[0].contribution == Approx(slope * u).epsilon(1e-7).margin(1e-12));
    }
  }
}

TEST_CASE("the trials' deviation divides by one less than their number, and quantiles stand where they should",
          "[limits][monte-carlo]") {
  MonteCarloPlan plan;
  plan.trials = 1000;
  plan.trials_per_block = 100;
  std::vector<double> seen;
  auto const result = monte_carlo(
      {{InputDistribution::Kind::normal, 3.0, 0.5, 0.0}},
      [&](double const* draws) {
        seen.push_back(draws[0]);
        return draws[0];
      },
      plan);
  REQUIRE(seen.size() == 1000);
  double mean = 0.0, squares = 0.0;
  for (double const one : seen) mean += one / 1000.0;
  for (double const one : seen) squares += (one - mean) * (one - mean);
  CHECK(result.standard_uncertainty == Approx(std::sqrt(squares / 999.0)).epsilon(1e-9));
  // q = int(0.95 x 1000 + 1/2) = 950, r = (1000 - 950) / 2 = 25: the 26th and the 976th (JCGM 101 7.7.2).
  std::sort(seen.begin(), seen.end());
  CHECK(result.low == seen[25]);
  CHECK(result.high == seen[975]);
  double shortest = 1e9;
  for (std::size_t i = 0; i + 950 < 1000; ++i) shortest = std::min(shortest, seen[i + 950] - seen[i]);
  CHECK(result.shortest_high - result.shortest_low == Approx(shortest).epsilon(1e-12));
}

TEST_CASE("each block of trials makes its own share of them, the last one what is left", "[limits][monte-carlo]") {
  MonteCarloPlan plan;
  plan.trials = 1050;
  plan.trials_per_block = 100;
  int calls = 0;
  std::vector<int> of_block;
  monte_carlo(
      {{InputDistribution::Kind::normal, 0.0, 1.0, 0.0}},
      [&](double const* draws) {
        ++calls;
        return draws[0];
      },
      plan,
      [&](std::size_t count, std::function<void(std::size_t)> const& block) {
        for (std::size_t i = 0; i < count; ++i) {
          calls = 0;
          block(i);
          if (calls > 0) of_block.push_back(calls);
        }
      });
  std::vector<int> expected(11, 100);
  expected.back() = 50;
  CHECK(of_block == expected);
}

TEST_CASE("each kind of distribution has the mean and deviation that its parameters say", "[limits][monte-carlo]") {
  using Kind = InputDistribution::Kind;
  struct Row {
    InputDistribution input;
    double deviation;
  };
  std::vector<Row> const rows{{{Kind::normal, 5.0, 0.3, 0.0}, 0.3},
                              {{Kind::rectangular, 5.0, 0.3, 0.0}, 0.3 / std::sqrt(3.0)},
                              {{Kind::triangular, 5.0, 0.3, 0.0}, 0.3 / std::sqrt(6.0)},
                              {{Kind::arcsine, 5.0, 0.3, 0.0}, 0.3 / std::sqrt(2.0)},
                              {{Kind::student, 5.0, 0.3, 10.0}, 0.3 * std::sqrt(10.0 / 8.0)}};
  for (auto const& row : rows) {
    auto const result = monte_carlo({row.input}, [](double const* draws) { return draws[0]; }, {});
    CHECK(result.mean == Approx(5.0).margin(0.003));
    CHECK(result.standard_uncertainty == Approx(row.deviation).epsilon(0.01));
  }
}

TEST_CASE("capability, charts and their edges are exact", "[limits][process]") {
  std::vector<double> const values{9.0, 10.0, 11.0};  // mean 10, deviation 1
  auto const both = capability(values, 4.0, 13.0);
  CHECK(*both.cp == Approx(1.5).epsilon(1e-12));
  CHECK(*both.cpk == Approx(1.0).epsilon(1e-12));
  CHECK(*capability(values, 4.0, {}).cpk == Approx(2.0).epsilon(1e-12));
  CHECK_THROWS(ewma_chart(values, 10.0, 1.0, 1.02));
  CHECK_THROWS(ewma_chart(values, 10.0, 1.0, 0.0));
  auto const usual = ewma_chart(values, 10.0, 1.0);
  CHECK(usual.smoothed[0] == Approx(10.0 - 0.3).epsilon(1e-12));  // the handbook's weight
  auto const chart = individuals_chart({10.0, 11.0, 9.0, 10.0}, {}, {});
  CHECK(chart.sigma == Approx((1.0 + 2.0 + 1.0) / 3.0 / 1.128).epsilon(1e-12));
  CHECK(chart.upper == Approx(10.0 + 3.0 * chart.sigma).epsilon(1e-12));
  CHECK(chart.lower == Approx(10.0 - 3.0 * chart.sigma).epsilon(1e-12));
}

TEST_CASE("polarity is undetermined up to half of the expected volts, on both sides", "[limits][polarity]") {
  CHECK(polarity_finding(Join::adjacent, 100.0, 10.0, 104.9) == PolarityFinding::undetermined);
  CHECK(polarity_finding(Join::adjacent, 100.0, 10.0, 105.1) == PolarityFinding::additive);
  CHECK(polarity_finding(Join::adjacent, 100.0, 10.0, 95.1) == PolarityFinding::undetermined);
  CHECK(polarity_finding(Join::adjacent, 100.0, 10.0, 94.9) == PolarityFinding::subtractive);
}

TEST_CASE("days between dates follow the calendar", "[limits][dates]") {
  CHECK(days_between("1970-01-01", "2000-01-01") == 10957);  // 30 x 365 + 7 leap days
  CHECK(days_between("1970-01-01", "1969-12-31") == -1);
  CHECK(days_between("2000-02-28", "2000-03-01") == 2);  // 400 divides it: a leap year
  CHECK(days_between("1900-02-28", "1900-03-01") == 1);  // 100 divides it: none
  CHECK(days_between("2023-02-28", "2023-03-01") == 1);
  CHECK(days_between("2024-02-28", "2024-03-01") == 2);
  CHECK(days_between("2029-06-01", "2030-06-01") == 365);
  CHECK(days_between("1600-01-01", "2000-01-01") == 146097);
  int const length[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  for (int month = 1; month < 12; ++month) {
    auto const of = [](int m) { return std::string("2030-") + (m < 10 ? "0" : "") + std::to_string(m) + "-01"; };
    CHECK(days_between(of(month), of(month + 1)) == length[month - 1]);
  }
}

TEST_CASE("the scatter of a mean is that of its readings over the root of their number", "[limits][power]") {
  auto const scatter = relative_scatter({99.0, 100.0, 101.0});
  REQUIRE(scatter);
  CHECK(scatter->of_mean == Approx(1.0 / std::sqrt(3.0) / 100.0).epsilon(1e-12));
  CHECK(scatter->degrees_of_freedom == 2.0);
}

TEST_CASE("halves of a low-voltage winding are expected at twice the ratio, each of them", "[limits][ratio-plan]") {
  auto unit = benchward::testing::small_single_phase();
  unit.hv.taps.clear();
  auto const factors = [&](LowVoltageForm form) {
    unit.lv_form = form;
    std::vector<double> list;
    for (auto const& point : ratio_plan(unit)) list.push_back(point.expected_ratio / 30.0);
    return list;
  };
  CHECK(factors(LowVoltageForm::center_tapped) == std::vector<double>{1.0, 2.0, 2.0});
  CHECK(factors(LowVoltageForm::series_parallel) == std::vector<double>{2.0, 2.0});
  CHECK(factors(LowVoltageForm::plain) == std::vector<double>{1.0});
}

TEST_CASE("whole turns are expected only where they are the nearest to the plate's ratio", "[limits][ratio-plan]") {
  auto unit = benchward::testing::small_single_phase();
  unit.hv.taps.clear();
  RatioPlanPoint point;
  point.expected_ratio = 30.0;
  auto const design = [&](double exact_lv_turns) {
    point.turns_ratio = 30.0 * exact_lv_turns / 53.0;
    return expected_ratio_by_rule(point, unit, 0.5);
  };
  CHECK(design(53.49) == *point.turns_ratio);  // 53 is nearest to 53.49
  CHECK(design(53.51) == 30.0);                // 54 would be nearer
  CHECK(design(52.51) == *point.turns_ratio);
  CHECK(design(52.49) == 30.0);
  // One of 53 turns is 1.887 %: a tolerance above that leaves the plate's ratio.
  point.turns_ratio = 30.2;
  CHECK(expected_ratio_by_rule(point, unit, 1.88) == 30.2);
  CHECK(expected_ratio_by_rule(point, unit, 1.89) == 30.0);
}

TEST_CASE("the tail of an exponential is found from samples that do not start at zero", "[limits][settling]") {
  std::vector<SettlingSample> samples;
  for (int i = 0; i < 12; ++i) {
    samples.push_back({100.0 + 2.0 * i, 1.5 + 0.2 * std::exp(-2.0 * i / 7.0)});
  }
  auto const fit = fit_tail(samples);
  REQUIRE(fit);
  CHECK(fit->final_ohm == Approx(1.5).epsilon(1e-9));
  CHECK(fit->amplitude_ohm == Approx(0.2).epsilon(1e-9));
  CHECK(fit->time_constant_s == Approx(7.0).epsilon(1e-9));
  // 0.2 down to 0.1 % of 1.5: 7 ln(0.2 / 0.0015).
  CHECK(fit->seconds_until_within(0.001) == Approx(7.0 * std::log(0.2 / 0.0015)).epsilon(1e-9));
  // A straight line of 0.01 ohm a second around 2 ohm: 0.05 of it in 10 s.
  CHECK(predicted_change_relative({{10.0, 1.98}, {12.0, 2.0}, {14.0, 2.02}}, 10.0) == Approx(0.05).epsilon(1e-9));
}

TEST_CASE("specific risk turns its words at the stated probabilities", "[limits][decision]") {
  DecisionRule rule;
  rule.name = "specific_risk";
  rule.risk = 0.05;
  Uncertainty const u{1.0, infinite_degrees_of_freedom};
  auto const verdict = [&](double distance_inside) { return decide(-distance_inside, u, {}, 0.0, rule); };
  // One-sided 5 % of the normal distribution lies at 1.6449 standard deviations.
  CHECK(verdict(1.66) == Verdict::pass);
  CHECK(verdict(1.63) == Verdict::conditional_pass);
  CHECK(verdict(0.02) == Verdict::conditional_pass);
  CHECK(verdict(-0.02) == Verdict::conditional_fail);
  CHECK(verdict(-1.63) == Verdict::conditional_fail);
  CHECK(verdict(-1.66) == Verdict::fail);
}

TEST_CASE("left out, a coverage is 95 % and a weight 0.3", "[limits][uncertain]") {
  CHECK(combine({{"a", 1.0, 1.0, infinite_degrees_of_freedom}}).coverage_factor == Approx(1.959964).epsilon(1e-6));
  CHECK(MonteCarloPlan{}.coverage == 0.95);
}

TEST_CASE("the enforcement sample's deviation, error and limits are exact", "[limits][efficiency]") {
  auto const out = enforcement_sample({98.9, 99.0, 99.1, 99.0}, 4, 98.95);
  CHECK(out.mean_percent == Approx(99.0).epsilon(1e-12));
  CHECK(out.standard_deviation == Approx(std::sqrt(0.02 / 3.0)).epsilon(1e-9));
  CHECK(out.standard_error == Approx(std::sqrt(0.02 / 3.0) / 2.0).epsilon(1e-9));
  // 100 / (1 + (1 + 0.08 / 2) (100 / 98.95 - 1)).
  CHECK(out.sample_discount_percent == Approx(100.0 / (1.0 + 1.04 * (100.0 / 98.95 - 1.0))).epsilon(1e-12));
  // Scattered: n = (t S (108 - 0.08 RE) / (RE (8 - 0.08 RE)))^2, t = 3.18245 (Student, three degrees of freedom).
  auto const more = enforcement_sample({98.5, 99.2, 98.8, 99.1}, 4, 98.95);
  double const mean = 98.9, s = std::sqrt((0.16 + 0.09 + 0.01 + 0.04) / 3.0);
  CHECK(more.mean_percent == Approx(mean).epsilon(1e-12));
  double const re = 98.95, root = 3.182446305 * s * (108.0 - 0.08 * re) / (re * (8.0 - 0.08 * re));
  CHECK(more.second_sample_tests == static_cast<int>(std::ceil(root * root - 4.0)));
}

TEST_CASE("the global risk of one-sided limits is that of the mirrored ones", "[limits][decision]") {
  // No acceptance limit above: everything above is accepted, so that nobody is at risk of a wrong rejection there.
  auto const lower = global_risk(0.0, 1.0, 0.25, -2.0, {}, -2.0, {});
  auto const upper = global_risk(0.0, 1.0, 0.25, {}, 2.0, {}, 2.0);
  CHECK(lower.consumer == Approx(upper.consumer).epsilon(1e-9));
  CHECK(lower.producer == Approx(upper.producer).epsilon(1e-9));
  auto const both = global_risk(0.0, 1.0, 0.25, -2.0, 2.0, -2.0, 2.0);
  CHECK(both.consumer == Approx(2.0 * lower.consumer).epsilon(1e-6));
  CHECK(both.producer == Approx(2.0 * lower.producer).epsilon(1e-6));
}

TEST_CASE("an eddy share is from 0 to 1", "[limits][no-load]") {
  NoLoadInput<double> const in{100.0, 241.0, 240.0, 20.0};
  CHECK_NOTHROW(correct_no_load(in, 0.0));
  CHECK_NOTHROW(correct_no_load(in, 1.0));
  CHECK_THROWS_AS(correct_no_load(in, 1.01), InputError);
  CHECK_THROWS_AS(correct_no_load(in, -0.01), InputError);
}

TEST_CASE("the IEC wave form is stated and judged at 3 %", "[limits][no-load]") {
  auto const of_form = [](double form) {
    return correct_no_load_iec(NoLoadInput<double>{100.0, 240.0 * form, 240.0, 20.0});
  };
  CHECK(of_form(1.02).correction_percent == Approx(-2.0).epsilon(1e-9));
  CHECK(of_form(1.02).sine_w == Approx(98.0).epsilon(1e-12));
  CHECK(of_form(1.02).k == Approx(1.0404).epsilon(1e-12));
  CHECK_FALSE(of_form(1.029).retest_required);
  CHECK(of_form(1.031).retest_required);
  CHECK_FALSE(of_form(0.971).retest_required);
  CHECK(of_form(0.969).retest_required);
}

TEST_CASE("limits of an EWMA chart open by the weights so far, to the digit", "[limits][process]") {
  auto const chart = ewma_chart({10.0, 10.0, 10.0}, 10.0, 2.0, 0.3);
  double squares = 0.0;
  for (std::size_t i = 0; i < 3; ++i) {
    double const weight = 0.3 * std::pow(0.7, static_cast<double>(i));  // of the value i samples ago
    squares += weight * weight;
    CHECK(chart.upper[i] == Approx(10.0 + 3.0 * 2.0 * std::sqrt(squares)).epsilon(1e-12));
    CHECK(chart.lower[i] == Approx(10.0 - 3.0 * 2.0 * std::sqrt(squares)).epsilon(1e-12));
  }
}

TEST_CASE("an induced test lasts a minute up to 120 Hz and 7200 cycles above", "[limits][dielectric]") {
  auto const seconds_at = [](double hz, StandardFamily standard) {
    InducedInput in;
    in.standard = standard;
    in.rated_v = 240.0;
    in.rated_hz = 55.0;  // so that 112 to 120 Hz are above its lowest test frequency
    in.test_hz = hz;
    return induced_test(in).duration_s;
  };
  CHECK(seconds_at(115.0, StandardFamily::ieee) == Approx(60.0).epsilon(1e-12));
  CHECK(seconds_at(120.0, StandardFamily::ieee) == Approx(60.0).epsilon(1e-12));
  CHECK(seconds_at(121.0, StandardFamily::ieee) == Approx(7200.0 / 121.0).epsilon(1e-12));
  CHECK(seconds_at(110.0, StandardFamily::iec) == Approx(60.0).epsilon(1e-12));
  CHECK(seconds_at(111.0, StandardFamily::iec) == Approx(6600.0 / 111.0).epsilon(1e-12));
  CHECK(seconds_at(439.0, StandardFamily::iec) == Approx(6600.0 / 439.0).epsilon(1e-12));
  CHECK(seconds_at(441.0, StandardFamily::iec) == Approx(15.0).epsilon(1e-12));
}

TEST_CASE("left out, metal, reference and rise are those of a copper unit of the IEEE family", "[limits][defaults]") {
  // C57.12.90: 234.5 for copper; 85 degC and 65 K: a unit of 65 K average rise (from memory).
  CHECK(LoadLossWinding<double>{}.zero_c == 234.5);
  CHECK(LoadLossInput<double>{}.reference_c == 85.0);
  CHECK(OrderOptions{}.no_load_percents == std::vector<double>{100.0});
  CHECK(Unit{}.average_rise.in(kelvins) == 65.0);
}

TEST_CASE("a waveform correction of five percent is let pass, more asks for a better wave", "[limits][no-load]") {
  // All eddy loss: the correction is 1 / k - 1.
  auto const retest = [](double percent) {
    double const form = std::sqrt(1.0 / (1.0 + percent / 100.0));
    return correct_no_load(NoLoadInput<double>{100.0, 240.0 * form, 240.0, 20.0}, 1.0).retest_required;
  };
  CHECK_FALSE(retest(-4.99));
  CHECK(retest(-5.01));
  CHECK_FALSE(retest(4.99));
  CHECK(retest(5.01));
}

TEST_CASE("two or three units of an enforcement sample are tested twice each, one four times", "[limits][efficiency]") {
  auto const tests = [](std::size_t count) { return std::vector<double>(count, 99.0); };
  CHECK_NOTHROW(enforcement_sample(tests(4), 1, 98.95));
  CHECK_NOTHROW(enforcement_sample(tests(4), 2, 98.95));
  CHECK_NOTHROW(enforcement_sample(tests(6), 3, 98.95));
  CHECK_NOTHROW(enforcement_sample(tests(5), 5, 98.95));
  CHECK_THROWS_AS(enforcement_sample(tests(3), 2, 98.95), InputError);
  CHECK_THROWS_AS(enforcement_sample(tests(1), 2, 98.95), InputError);
  CHECK_THROWS_AS(enforcement_sample(tests(3), 3, 98.95), InputError);
}

TEST_CASE("an induced test by the IEC lasts at most a minute, at the very edge of its frequency too",
          "[limits][dielectric]") {
  InducedInput in;
  in.standard = StandardFamily::iec;
  in.rated_v = 7200.0;
  in.rated_hz = 50.0;
  in.test_hz = 100.0 * (1.0 - 0.5e-9);  // twice rated, but for rounding
  CHECK(induced_test(in).duration_s == 60.0);
}

TEST_CASE("a value that is known for certain conforms with probability one or none", "[limits][decision]") {
  CHECK(probability_conforming(1.0, 0.0, 0.0, 2.0) == 1.0);
  CHECK(probability_conforming(2.0, 0.0, 0.0, 2.0) == 1.0);
  CHECK(probability_conforming(2.1, 0.0, 0.0, 2.0) == 0.0);
}

TEST_CASE("the trials inside an interval are rounded to the nearest whole one", "[limits][monte-carlo]") {
  // JCGM 101 7.7.2: q is the integer part of pM + 1/2. 0.9548 x 1000 = 954.8: 955; 0.95449 x 1000 = 954.49: 954.
  auto const width = [](double coverage) {
    MonteCarloPlan plan;
    plan.trials = 1000;
    plan.coverage = coverage;
    std::vector<InputDistribution> const one{{InputDistribution::Kind::rectangular, 0.0, 1.0, 0.0}};
    auto const out = monte_carlo(
        one, [](double const* x) { return x[0]; }, plan);
    return out.shortest_high - out.shortest_low;
  };
  CHECK(width(0.95449) == width(0.954));
  CHECK(width(0.95451) == width(0.955));
  CHECK(width(0.954) < width(0.955));
}

TEST_CASE("half a turn of the low-voltage winding is the last that still counts as the design's",
          "[limits][ratio-plan]") {
  auto unit = benchward::testing::small_single_phase();
  unit.lv.turns = 16;
  RatioPlanPoint point;
  point.expected_ratio = 32.0;
  point.turns_ratio = 33.0;  // 16.5 turns to the last bit
  CHECK(expected_ratio_by_rule(point, unit, 0.5) == 33.0);
}

TEST_CASE("steps of time are equal within a quarter, and not a hundredth more", "[limits][settling]") {
  // Mean step 2 s, the first one 24.9 and 25.5 % off it. A factor of 1.05 on the bound would let the latter pass.
  auto const steps = [](double first) { return fit_tail({{0.0, 2.0}, {first, 1.99}, {4.0, 1.985}}); };
  CHECK_NOTHROW(steps(2.0 * 0.751));
  CHECK_THROWS_AS(steps(2.0 * 0.745), InputError);
  CHECK_NOTHROW(steps(2.0 * 1.249));
  CHECK_THROWS_AS(steps(2.0 * 1.255), InputError);
}

TEST_CASE("a scatter of one percent is that of a reading, not of the mean", "[limits][power]") {
  // Three readings: the deviation of one is the root of three times that of their mean.
  auto const said = [](double of_one) { return scatters_too_much(RelativeScatter{of_one / std::sqrt(3.0), 2.0}); };
  CHECK(said(0.00995).empty());
  CHECK_FALSE(said(0.01005).empty());
}
