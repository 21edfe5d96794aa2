// SPDX-License-Identifier: MIT
// Where each formula's domain ends: the last legal value is taken, the next one is refused by name. And what a formula
// gives exactly on such an edge.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/dielectric.hpp"
#include "limits/correct/efficiency.hpp"
#include "limits/correct/impedance.hpp"
#include "limits/correct/load_loss.hpp"
#include "limits/correct/no_load.hpp"
#include "limits/correct/polarity.hpp"
#include "limits/correct/settling.hpp"
#include "limits/process/control_chart.hpp"
#include "limits/uncertainty/decision.hpp"
#include "limits/uncertainty/monte_carlo.hpp"
#include "limits/uncertainty/uncertain.hpp"
#include "tests/limits/formulas/units.hpp"

using namespace benchward;

TEST_CASE("a power factor is at most one, an efficiency below a hundred percent", "[limits][domain]") {
  CHECK(regulation_percent(1.0, 4.0, 1.0) == Approx(100.0 * (std::hypot(1.01, 0.04) - 1.0)).epsilon(1e-12));
  CHECK_THROWS_AS(regulation_percent(1.0, 4.0, 1.01), InputError);
  CHECK_THROWS_AS(regulation_percent(1.0, 4.0, -0.01), InputError);
  CHECK(efficiency(1.0, 10.0, 0.0, 1.0, 1.0).efficiency_percent == Approx(100.0 * 1000.0 / 1010.0).epsilon(1e-12));
  CHECK_THROWS_AS(efficiency(1.0, 10.0, 0.0, 1.0, 1.01), InputError);
  CHECK_THROWS_AS(efficiency(1.0, 10.0, 0.0, 1.0, 0.0), InputError);
  CHECK_NOTHROW(represented_efficiency({99.99}, 99.99));
  CHECK_THROWS_AS(represented_efficiency({100.0}, 99.0), InputError);
  CHECK_THROWS_AS(represented_efficiency({101.0}, 99.0), InputError);
  CHECK_THROWS_AS(represented_efficiency({99.0}, 100.0), InputError);
  CHECK_THROWS_AS(enforcement_sample({99.0, 99.0, 99.0, 100.01}, 4, 99.0), InputError);
}

TEST_CASE("watts equal to volt-amperes leave no reactance, more are refused", "[limits][domain]") {
  ImpedanceInput<double> in{100.0, 1000.0, 10.0, 10.0, 1000.0, 10.0};  // Z = 10 %, R = 10 %
  CHECK(impedance_percent(in).x == 0.0);
  in.load_loss_w = 1001.0;
  CHECK_THROWS_AS(impedance_percent(in), InputError);
  UncertaintyInputs inputs;
  ImpedanceInput<Uncertain> with_u{100.0, 1000.0, 10.0, 10.0, inputs.input("watts", 1000.0, 1.0), 10.0};
  CHECK(impedance_percent(with_u).x.value() == 0.0);
  CHECK(correct_phase_error(100.0, 100.0, 0.01) == Approx(100.0 * std::cos(0.01)).epsilon(1e-14));
  CHECK_THROWS_AS(correct_phase_error(100.01, 100.0, 0.01), InputError);
  CHECK_THROWS_AS(equivalent_circuit({1.0, 1.0, 1.0}, {1.0, 1.0, 0.5}), InputError);
}

TEST_CASE("a tail whose steps do not shrink has no fit", "[limits][domain]") {
  auto const tail = [](double decay) {
    std::vector<SettlingSample> samples;
    double ohm = 2.0, move = -0.01;
    for (int i = 0; i < 6; ++i) {
      samples.push_back({2.0 * i, ohm});
      ohm += move;
      move *= decay;
    }
    return fit_tail(samples);
  };
  CHECK_FALSE(tail(1.02));
  CHECK_FALSE(tail(1.0));
  REQUIRE(tail(0.98));
  CHECK(tail(0.98)->time_constant_s == Approx(-2.0 / std::log(0.98)).epsilon(1e-6));
  // R_inf = 2 - 0.01 / (1 - decay), the amplitude what is above it.
  CHECK(tail(0.5)->final_ohm == Approx(1.98).epsilon(1e-9));
  CHECK(tail(0.5)->amplitude_ohm == Approx(0.02).epsilon(1e-9));
  CHECK(tail(0.5)->seconds_until_within(1.0) == 0.0);
  // Steps of time within a quarter of their mean: 2 s and 3 s are 20 % off 2.5 s, 1.9 and 3.3 s are 27 % off 2.6 s.
  CHECK_NOTHROW(fit_tail({{0.0, 2.0}, {2.0, 1.99}, {5.0, 1.985}}));
  CHECK_THROWS_AS(fit_tail({{0.0, 2.0}, {1.9, 1.99}, {5.2, 1.985}}), InputError);
}

TEST_CASE("whole degrees of freedom are at least one", "[limits][domain]") {
  // Table G.2 of JCGM 100: 12.71 at one degree of freedom.
  CHECK(coverage_factor(0.95, 0.7, true) == Approx(12.7062).epsilon(1e-5));
  CHECK(coverage_factor(0.95, 1.9, true) == Approx(12.7062).epsilon(1e-5));
  CHECK(coverage_factor(0.95, 2.9, true) == Approx(4.30265).epsilon(1e-5));
  CHECK_THROWS_AS(coverage_factor(1.0, 5.0), InputError);
  CHECK_THROWS_AS(coverage_factor(1.02, 5.0), InputError);
  CHECK_THROWS_AS(coverage_factor(0.0, 5.0), InputError);
  CHECK_THROWS_AS(coverage_factor(0.95, 0.0), InputError);
  UncertaintyComponent plain;
  plain.standard_uncertainty = 2.0;  // sensitivity 1 unless stated
  CHECK(combine({plain}).combined == Approx(2.0).epsilon(1e-15));
}

TEST_CASE("shorthand operators are the long ones", "[limits][domain]") {
  UncertaintyInputs inputs;
  auto const a = inputs.input("a", 5.0, 0.3), b = inputs.input("b", 2.0, 0.4);
  auto difference = a;
  difference -= b;
  CHECK(difference.value() == 3.0);
  CHECK(difference.standard() == Approx(0.5).epsilon(1e-14));
  difference -= a;  // what is shared cancels
  CHECK(difference.value() == -2.0);
  CHECK(difference.standard() == Approx(0.4).epsilon(1e-14));
  auto scaled = a;
  scaled *= -3.0;
  CHECK(scaled.value() == -15.0);
  CHECK(inputs.budget(scaled).front().contribution == Approx(-0.9).epsilon(1e-14));
  CHECK((-a).value() == -5.0);
  CHECK(inputs.budget(-a).front().contribution == Approx(-0.3).epsilon(1e-14));
}

TEST_CASE("a covariance matrix may have correlations of one, and no more", "[limits][domain]") {
  UncertaintyInputs inputs;
  auto const same = inputs.correlated("s", {1.0, 2.0}, {0.04, 0.06, 0.06, 0.09});
  CHECK((same[0] / 0.2 - same[1] / 0.3).standard() == Approx(0.0).margin(1e-7));
  CHECK_THROWS_AS(inputs.correlated("t", {1.0, 2.0}, {0.04, 0.061, 0.061, 0.09}), InputError);
  auto const three = inputs.correlated("u", {0.0, 0.0, 0.0}, {1.0, 0.5, 0.2, 0.5, 4.0, -0.6, 0.2, -0.6, 9.0});
  CHECK(three[2].standard() == Approx(3.0).epsilon(1e-12));
  CHECK((three[0] + three[1] + three[2]).standard() ==
        Approx(std::sqrt(14.0 + 2.0 * (0.5 + 0.2 - 0.6))).epsilon(1e-12));
  CHECK((three[1] - three[2]).standard() == Approx(std::sqrt(13.0 + 1.2)).epsilon(1e-12));
}

TEST_CASE("a coverage of nearly one takes every trial", "[limits][monte-carlo]") {
  MonteCarloPlan plan;
  plan.trials = 1000;
  plan.trials_per_block = 500;
  plan.coverage = 0.9999;
  std::vector<double> seen;
  std::size_t blocks = 0;
  auto const result = monte_carlo(
      {{InputDistribution::Kind::normal, 0.0, 1.0, 0.0}},
      [&](double const* draws) {
        seen.push_back(draws[0]);
        return draws[0];
      },
      plan,
      [&](std::size_t count, std::function<void(std::size_t)> const& block) {
        if (blocks == 0) blocks = count;
        for (std::size_t i = 0; i < count; ++i) block(i);
      });
  CHECK(blocks == 2);  // exactly as many as are needed
  std::sort(seen.begin(), seen.end());
  CHECK(result.low == seen.front());
  CHECK(result.high == seen.back());
  CHECK_NOTHROW(monte_carlo(
      {}, [](double const*) { return 1.0; }, plan));
  plan.coverage = 1.0;
  CHECK_THROWS_AS(monte_carlo(
                      {}, [](double const*) { return 1.0; }, plan),
                  InputError);
  plan.coverage = 1.02;
  CHECK_THROWS_AS(monte_carlo(
                      {}, [](double const*) { return 1.0; }, plan),
                  InputError);
}

TEST_CASE("charts and capabilities end where their text says", "[limits][domain]") {
  CHECK_NOTHROW(ewma_chart({1.0}, 0.0, 1.0, 1.0));
  CHECK_THROWS_AS(ewma_chart({1.0}, 0.0, 1.0, 1.01), InputError);
  CHECK_THROWS_AS(ewma_chart({1.0}, 0.0, 1.0, 0.0), InputError);
  // A weight of one forgets at once: limits of three sigma, every value its own.
  auto const plain = ewma_chart({2.9, -3.1, 0.0}, 0.0, 1.0, 1.0);
  CHECK(plain.upper[1] == Approx(3.0).epsilon(1e-14));
  CHECK(plain.smoothed[1] == Approx(-3.1).epsilon(1e-14));
  CHECK(plain.signals == std::vector<std::size_t>{1});
  auto const chart = individuals_chart({2.9, -2.9, 3.1, -3.1}, 0.0, 1.0);
  CHECK(chart.signals == std::vector<std::size_t>{2, 3});
  CHECK(*capability({1.0, 3.0}, {}, 8.0).cpk == Approx(6.0 / (3.0 * std::sqrt(2.0))).epsilon(1e-14));
  CHECK(*capability({1.0, 3.0}, -4.0, {}).cpk == Approx(6.0 / (3.0 * std::sqrt(2.0))).epsilon(1e-14));
}

TEST_CASE("a test frequency at its lower edge is legal, a billionth below is rounding, more is refused",
          "[limits][domain]") {
  InducedInput in;
  in.rated_v = 240.0;
  in.rated_hz = 60.0;
  in.test_hz = 120.0;
  CHECK_NOTHROW(induced_test(in));
  in.test_hz = 120.0 * (1.0 - 5e-10);
  CHECK_NOTHROW(induced_test(in));
  in.test_hz = 120.0 * (1.0 - 2e-9);
  CHECK_THROWS_AS(induced_test(in), InputError);
}

TEST_CASE("points that straddle include their ends, fall as well as rise, and nothing lies outside",
          "[limits][domain]") {
  CHECK(interpolate_log_log(2.0, 8.0, 4.0, 32.0, 2.0) == Approx(8.0).epsilon(1e-14));
  CHECK(interpolate_log_log(2.0, 8.0, 4.0, 32.0, 4.0) == Approx(32.0).epsilon(1e-14));
  CHECK(interpolate_log_log(4.0, 32.0, 2.0, 8.0, 3.0) == Approx(18.0).epsilon(1e-14));  // 2 x^2
  CHECK_THROWS_AS(interpolate_log_log(2.0, 8.0, 4.0, 32.0, 1.99), InputError);
  CHECK_THROWS_AS(interpolate_log_log(2.0, 8.0, 4.0, 32.0, 4.01), InputError);
  CHECK_THROWS_AS(interpolate_log_log(2.0, 8.0, 2.0, 8.0, 2.0), InputError);
}

TEST_CASE("mixed metals carry the stray loss with 229, three windings add up", "[limits][load-loss]") {
  LoadLossInput<double> in;
  in.measured_w = 500.0;
  in.test_current_a = 2.0;
  in.rated_current_a = 3.0;
  in.winding_c = 30.0;
  in.reference_c = 75.0;
  in.windings = {{4.0, 20.0, 234.5, 5.0}, {3.0, 25.0, 225.0, 6.0}, {2.0, 30.0, 234.5, 7.0}};
  auto const out = correct_load_loss(in);
  double const ohmic = 100.0 * 264.5 / 254.5 + 108.0 * 255.0 / 250.0 + 98.0;
  double const hot = 100.0 * 309.5 / 254.5 + 108.0 * 300.0 / 250.0 + 98.0 * 309.5 / 264.5;
  CHECK(out.at_rated_current_w == Approx(1125.0).epsilon(1e-14));
  CHECK(out.ohmic_w == Approx(ohmic).epsilon(1e-13));
  CHECK(out.ohmic_reference_w == Approx(hot).epsilon(1e-13));
  CHECK(out.stray_reference_w == Approx((1125.0 - ohmic) * 259.0 / 304.0).epsilon(1e-13));
  CHECK(out.corrected_w == Approx(hot + (1125.0 - ohmic) * 259.0 / 304.0).epsilon(1e-13));
}
