// SPDX-License-Identifier: MIT
// Resistance, polarity, settling.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/polarity.hpp"
#include "limits/correct/resistance.hpp"
#include "limits/correct/settling.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

TEST_CASE("published resistances at other temperatures agree", "[limits][resistance]") {
  char const* const book = "resistance and temperature, textbook examples (alpha0 0.00426 = 1/234.74; 0.00425)";
  external(book, "126 ohm from 20 to -35 degC", resistance_at(126.0, 20.0, -35.0, 1.0 / 0.00426), 98.8, 0.06);
  // 3.42 ohm at 20 degC, 4.22 ohm hot: the hot temperature is where the formula gives 4.22.
  external(book, "3.42 to 4.22 ohm, rise 59.59 K", resistance_at(3.42, 20.0, 20.0 + 59.59, 1.0 / 0.00426), 4.22,
           0.0003);
  external(book, "50 to 58 ohm at 55.047 degC", resistance_at(50.0, 15.0, 55.047, 1.0 / 0.00425), 58.0, 0.001);
  external("aluminium conductor table, k = 228 (textbook)", "0.01558 from 20 to 50 degC",
           resistance_at(0.01558, 20.0, 50.0, 228.0), 0.017464, 1.5e-5);
  char const* const memory = "temperature factors by the standards' constants (from memory, computed)";
  external(memory, "234.5, 75 degC",
           resistance_at(1.0, 20.0, 75.0, inferred_zero_c(Metal::copper, StandardFamily::ieee)), 1.21611002, 1e-8);
  external(memory, "235, 85 degC", resistance_at(1.0, 20.0, 85.0, inferred_zero_c(Metal::copper, StandardFamily::iec)),
           1.254901961, 1e-8);
  external(memory, "225, 75 degC",
           resistance_at(1.0, 20.0, 75.0, inferred_zero_c(Metal::aluminum, StandardFamily::iec)), 1.224489796, 1e-8);
}

TEST_CASE("a temperature of zero resistance or below is refused", "[limits][resistance]") {
  CHECK_THROWS_AS(resistance_at(1.0, -234.5, 20.0, 234.5), InputError);
  CHECK_THROWS_AS(resistance_at(1.0, 20.0, -300.0, 234.5), InputError);
  CHECK_THROWS_AS(resistance_at(0.0, 20.0, 75.0, 234.5), InputError);
  CHECK_THROWS_AS(resistance_at(std::nan(""), 20.0, 75.0, 234.5), InputError);
}

TEST_CASE("phase resistances come out of three unequal readings without assuming balance", "[limits][resistance]") {
  auto const parallel = [](double a, double b) { return a * b / (a + b); };
  double const a = 1.0, b = 1.2, c = 0.7;
  auto const delta = phase_resistances<double>({parallel(a, b + c), parallel(b, c + a), parallel(c, a + b)},
                                               ThreePhaseConnection::delta);
  CHECK(delta.phase_ohm[0] == Approx(a).epsilon(1e-12));
  CHECK(delta.phase_ohm[1] == Approx(b).epsilon(1e-12));
  CHECK(delta.phase_ohm[2] == Approx(c).epsilon(1e-12));
  CHECK(delta.unbalance_percent == Approx(100.0 * 0.5 / (2.9 / 3.0)));
  auto const wye = phase_resistances<double>({a + b, b + c, c + a}, ThreePhaseConnection::wye);
  CHECK(wye.phase_ohm[0] == Approx(a).epsilon(1e-12));
  CHECK(wye.phase_ohm[2] == Approx(c).epsilon(1e-12));
  CHECK(wye.total_ohm == Approx(a + b + c).epsilon(1e-12));
}

TEST_CASE("published wye and delta resistances agree", "[limits][resistance]") {
  char const* const kosow = "winding resistance between lines, wye and delta (textbook, Kosow, examples 6.4 and 6.5)";
  auto const wye = phase_resistances<double>({0.6, 0.6, 0.6}, ThreePhaseConnection::wye);
  auto const delta = phase_resistances<double>({0.6, 0.6, 0.6}, ThreePhaseConnection::delta);
  external(kosow, "wye, x 1.5 for alternating current", 1.5 * wye.phase_ohm[1], 0.45, 0.005);
  external(kosow, "delta, x 1.5 for alternating current", 1.5 * delta.phase_ohm[1], 1.35, 0.005);
  auto const motor = phase_resistances<double>({12.0 / 59.0, 12.0 / 59.0, 12.0 / 59.0}, ThreePhaseConnection::wye);
  external("12 V and 59 A between lines of a wye (textbook)", "phase", motor.phase_ohm[0], 0.101695, 5e-7);
  // Total resistance with line current, appendix A 3.4.1: half of I^2 (R12 + R23 + R31) for wye and delta alike.
  double const loss = 1239.669983;  // 26.2432 A, 1.2 ohm between lines; identity, from memory
  external("three-phase ohmic loss from line resistances (identity, from memory)", "wye",
           26.2432 * 26.2432 * phase_resistances<double>({1.2, 1.2, 1.2}, ThreePhaseConnection::wye).total_ohm, loss,
           1e-6);
  external("three-phase ohmic loss from line resistances (identity, from memory)", "delta",
           26.2432 * 26.2432 / 3.0 * phase_resistances<double>({1.2, 1.2, 1.2}, ThreePhaseConnection::delta).total_ohm,
           loss, 1e-6);
}

TEST_CASE("readings that no three resistances can give are refused", "[limits][resistance]") {
  CHECK_THROWS_AS(phase_resistances<double>({1.0, 1.0, 2.5}, ThreePhaseConnection::wye), InputError);
  CHECK_THROWS_AS(phase_resistances<double>({1.0, 1.0, -1.0}, ThreePhaseConnection::delta), InputError);
}

TEST_CASE("solving a closed delta multiplies the noise of the readings by 1.73", "[limits][resistance]") {
  // Derived by hand: each phase depends on the readings with coefficients 2.5, -0.5, -0.5 at balance, whose root
  // of squares over the balanced coefficient 1.5 is sqrt(2.5^2 + 0.5^2 + 0.5^2) / 1.5 = 1.73.
  double const step = 1e-6;
  double squares = 0.0;
  for (std::size_t k = 0; k < 3; ++k) {
    std::array<double, 3> readings{1.0, 1.0, 1.0};
    readings[k] += step;
    double const slope = (phase_resistances<double>(readings, ThreePhaseConnection::delta).phase_ohm[0] - 1.5) / step;
    squares += slope * slope;
  }
  external("noise of a solved delta (derived by hand: 1.73)", "factor", std::sqrt(squares) / 1.5, 1.73, 0.005);
}

TEST_CASE("polarity is told by above and below, and not at all too near", "[limits][polarity]") {
  CHECK(polarity_finding(Join::adjacent, 120.0, 4.0, 124.1) == PolarityFinding::additive);
  CHECK(polarity_finding(Join::adjacent, 120.0, 4.0, 116.2) == PolarityFinding::subtractive);
  CHECK(polarity_finding(Join::adjacent, 120.0, 4.0, 121.9) == PolarityFinding::undetermined);
  CHECK(polarity_finding(Join::like_marked, 120.0, 4.0, 116.0) == PolarityFinding::marked_right);
  CHECK(polarity_finding(Join::like_marked, 120.0, 4.0, 124.0) == PolarityFinding::marked_wrong);
  CHECK(to_text(PolarityFinding::marked_wrong) == "wrong");
  CHECK_THROWS_AS(polarity_finding(Join::adjacent, 0.0, 4.0, 4.0), InputError);
  // 240 V and 120 V windings in series aiding read 360 V: above (textbook, additive reading).
  CHECK(polarity_finding(Join::adjacent, 240.0, 120.0, 360.0) == PolarityFinding::additive);
}

TEST_CASE("the tail of a charging winding gives its time constant and final value", "[limits][settling]") {
  std::vector<SettlingSample> samples;
  for (int i = 0; i < 12; ++i) samples.push_back({i * 0.5, 2.0 + 0.3 * std::exp(-i * 0.5 / 4.0)});
  auto const fit = fit_tail(samples);
  REQUIRE(fit);
  CHECK(fit->time_constant_s == Approx(4.0).epsilon(1e-9));
  CHECK(fit->final_ohm == Approx(2.0).epsilon(1e-9));
  CHECK(fit->amplitude_ohm == Approx(0.3).epsilon(1e-9));
  // 99.9 % of the way takes 6.91 time constants (textbook): amplitude equal to the final value, to within 0.1 % of it.
  SettlingFit const whole{1.0, 1.0, 1.0};
  external("time constants to 99.9 % (textbook)", "t / tau", whole.seconds_until_within(0.001), 6.91, 0.005);
}

TEST_CASE("rises after one and two hours give the published final rise", "[limits][settling]") {
  auto const fit = fit_tail({{0.0, 1e-9}, {3600.0, 25.0}, {7200.0, 37.5}});
  REQUIRE(fit);
  external("transformer heating from rises after 1 h and 2 h (textbook)", "final rise", fit->final_ohm, 50.0, 0.5);
}

TEST_CASE("a tail that does not decay has no fit, and slope times time tells that it has not settled",
          "[limits][settling]") {
  CHECK_FALSE(fit_tail({{0.0, 1.0}, {1.0, 1.1}, {2.0, 1.3}, {3.0, 1.7}}));
  CHECK_FALSE(fit_tail({{0.0, 1.0}, {1.0, 1.0}, {2.0, 1.0}}));
  CHECK(predicted_change_relative({{0.0, 1.0}, {1.0, 1.001}, {2.0, 1.002}}, 2.0) == Approx(0.002).epsilon(0.01));
  CHECK(predicted_change_relative({{0.0, 1.0}, {1.0, 1.0}, {2.0, 1.0}}, 10.0) == 0.0);
  CHECK_THROWS_AS(predicted_change_relative({{0.0, 1.0}, {1.0, 1.0}}, 2.0), InputError);
}
