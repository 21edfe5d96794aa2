// SPDX-License-Identifier: MIT
#include "limits/uncertainty/uncertain.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

TEST_CASE("the gauge block of the guide has its printed length, uncertainty and degrees of freedom",
          "[limits][uncertainty]") {
  UncertaintyInputs inputs;
  auto const standard = inputs.input("standard", 50000623.0, 25.0, 18.0);
  auto const difference = inputs.input("difference", 215.0, 9.7, 25.6);
  auto const delta_alpha = inputs.input("delta alpha", 0.0, 5.8e-7, 50.0);
  auto const theta = inputs.input("theta", -0.1, 0.41);
  auto const alpha = inputs.input("alpha", 1.15e-5, 1.2e-6);
  auto const delta_theta = inputs.input("delta theta", 0.0, 0.02887, 2.0);
  auto const length = standard + difference - standard * (delta_alpha * theta + alpha * delta_theta);
  char const* const source = "JCGM 100 annex H.1";
  external(source, "length, nm", length.value(), 50000838.0, 0.5);
  auto const u = inputs.of(length);
  external(source, "u, nm", u.standard, 31.7, 0.1);
  external(source, "effective degrees of freedom", u.degrees_of_freedom, 16.0, 0.8);
  external(source, "U at 99 %, nm", coverage_factor(0.99, u.degrees_of_freedom, true) * u.standard, 93.0, 0.6);
  auto const budget = inputs.budget(length);
  REQUIRE(budget.size() == 6);
  external(source, "component of the standard", std::abs(budget[0].contribution), 25.0, 0.06);
  external(source, "component of the difference", std::abs(budget[1].contribution), 9.7, 0.06);
  external(source, "component of delta alpha", std::abs(budget[2].contribution), 2.9, 0.06);
  external(source, "component of delta theta", std::abs(budget[5].contribution), 16.6, 0.06);
}

TEST_CASE("resistance and reactance of the guide come out of correlated readings", "[limits][uncertainty]") {
  // JCGM 100 annex H.2: five simultaneous sets of volts, milliamperes and radians (from memory).
  double const sets[5][3] = {{5.007, 19.663, 1.0456},
                             {4.994, 19.639, 1.0438},
                             {5.005, 19.640, 1.0468},
                             {4.990, 19.685, 1.0428},
                             {4.999, 19.678, 1.0433}};
  std::vector<double> mean(3, 0.0), covariance(9, 0.0);
  for (auto const& set : sets) {
    for (std::size_t i = 0; i < 3; ++i) mean[i] += set[i] / 5.0;
  }
  for (auto const& set : sets) {
    for (std::size_t i = 0; i < 9; ++i) covariance[i] += (set[i / 3] - mean[i / 3]) * (set[i % 3] - mean[i % 3]) / 20.0;
  }
  UncertaintyInputs inputs;
  auto const in = inputs.correlated("readings", mean, covariance);
  auto const resistance = 1000.0 * in[0] / in[1] * cos(in[2]);
  auto const reactance = 1000.0 * in[0] / in[1] * sin(in[2]);
  auto const impedance = 1000.0 * in[0] / in[1];
  char const* const source = "JCGM 100 annex H.2 (from memory)";
  external(source, "R", resistance.value(), 127.732, 0.0006);
  external(source, "u(R)", resistance.standard(), 0.071, 0.0005);
  external(source, "X", reactance.value(), 219.847, 0.0006);
  external(source, "u(X), printed cut off", reactance.standard(), 0.295, 0.001);
  external(source, "Z", impedance.value(), 254.260, 0.0006);
  external(source, "u(Z)", impedance.standard(), 0.236, 0.0005);
}

TEST_CASE("the thermometer line of the guide is predicted with its correlation", "[limits][uncertainty]") {
  UncertaintyInputs inputs;
  double const u1 = 0.0029, u2 = 0.00067;
  auto const line =
      inputs.correlated("line", {-0.1712, 0.00218}, {u1 * u1, -0.93 * u1 * u2, -0.93 * u1 * u2, u2 * u2}, 9.0);
  auto const at_30 = line[0] + line[1] * 10.0;
  external("JCGM 100 annex H.3", "correction at 30 degC", at_30.value(), -0.1494, 5e-5);
  external("JCGM 100 annex H.3", "its u", at_30.standard(), 0.0041, 6e-5);
}

TEST_CASE("published budgets combine to their printed uncertainties", "[limits][uncertainty]") {
  {
    UncertaintyInputs inputs;  // 10 kilohm by substitution
    auto const standard = inputs.input("R_S", 10000.053, 0.0025);
    auto const drift = inputs.input("drift", 0.02, 0.01 / std::sqrt(3.0));
    auto const temperature_s = inputs.input("T_S", 0.0, 0.00275 / std::sqrt(3.0));
    auto const parasitic = inputs.input("r_C", 1.0, 1e-6 / std::sqrt(6.0));
    auto const ratio = inputs.input("r", 1.0000105, 7e-8, 4.0);
    auto const temperature_x = inputs.input("T_X", 0.0, 0.0055 / std::sqrt(3.0));
    auto const unknown = (standard + drift + temperature_s) * parasitic * ratio - temperature_x;
    external("EA-4/02 S3", "R", unknown.value(), 10000.178, 0.0006);
    external("EA-4/02 S3", "u, milliohm", 1000.0 * unknown.standard(), 8.33, 0.005);
    external("EA-4/02 S3", "U, ohm", 2.0 * unknown.standard(), 0.017, 0.0005);
  }
  {
    std::vector<UncertaintyComponent> parts;
    for (double const part : {15.0, 17.3, 5.37, 18.5, 16.6, 11.8, 3.87}) parts.push_back({"", part, 1.0});
    auto const out = combine(parts, 0.9545);
    external("EA-4/02 S4", "u, nm", out.combined, 36.4, 0.2);
    external("EA-4/02 S4", "U, nm", out.expanded, 73.0, 0.5);
  }
  {
    UncertaintyInputs inputs;  // ratio of x-ray intensities
    auto const y = inputs.input("Y", 0.6978, 0.0026, 19.0) * inputs.input("X1", 0.182, 0.00093, 9.0) /
                   inputs.input("X2", 0.1823, 0.00058, 19.0);
    char const* const source = "x-ray fluorescence ratio (public test suite quoting a teaching example)";
    external(source, "value", y.value(), 0.6967, 5e-5);
    external(source, "u", y.standard(), 0.00494, 1e-5);
    external(source, "degrees of freedom", inputs.of(y).degrees_of_freedom, 27.7, 1.5);
    external(source, "U at 95 %", coverage_factor(0.95, inputs.of(y).degrees_of_freedom) * y.standard(), 0.0101, 1e-4);
  }
  {
    UncertaintyInputs inputs;  // thermal expansion coefficient
    auto const l0 = inputs.input("L0", 1.4999, 1e-4), l1 = inputs.input("L1", 1.5021, 2e-4);
    auto const t0 = inputs.input("T0", 288.15, 0.02), t1 = inputs.input("T1", 373.10, 0.05);
    auto const alpha = (l1 - l0) / (l0 * (t1 - t0));
    external("NIST TN 1900 E13", "alpha", alpha.value(), 1.7266e-5, 5e-10);
    external("NIST TN 1900 E13", "u", alpha.standard(), 1.76e-6, 3e-8);
  }
  {
    UncertaintyInputs inputs;  // concentration of a titrated solution: 1000 m P / (M V) with its repeatability
    auto const rectangular = [&](char const* name, double value, double half) {
      return inputs.input(name, value, half / std::sqrt(3.0));
    };
    auto const mass = inputs.input("m", 0.3888, 0.00015 / std::sqrt(3.0) * std::sqrt(2.0));
    auto const purity = rectangular("P", 1.0, 0.0005);
    auto const volume =
        18.64 + inputs.input("V calibration", 0.0, 0.03 / std::sqrt(6.0)) + inputs.input("V temperature", 0.0, 0.006);
    auto const repeat = inputs.input("repeatability", 1.0, 0.0005);
    auto const molar = 8.0 * rectangular("C", 12.0107, 0.0008) + 5.0 * rectangular("H", 1.00794, 0.00007) +
                       4.0 * rectangular("O", 15.9994, 0.0003) + rectangular("K", 39.0983, 0.0001);
    auto const c = repeat * 1000.0 * mass * purity / (molar * volume);
    external("Eurachem/CITAC guide A2", "concentration", c.value(), 0.102136159706, 1e-7);
    external("Eurachem/CITAC guide A2", "u", c.standard(), 0.000100500722, 2e-7);
  }
  {
    std::vector<UncertaintyComponent> parts;
    double const readings[4] = {30.033, 30.058, 30.018, 30.052};
    double mean = 0.0, squares = 0.0;
    for (double const reading : readings) mean += reading / 4.0;
    for (double const reading : readings) squares += (reading - mean) * (reading - mean);
    parts.push_back({"readings", std::sqrt(squares / 3.0 / 4.0), 1.0, 3.0});
    for (double const half : {0.00433, 0.0005196, 0.0005196})
      parts.push_back({"rectangular", half / std::sqrt(3.0), 1.0});
    for (double const half : {0.00198, 0.02828, 0.003}) parts.push_back({"arcsine", half / std::sqrt(2.0), 1.0});
    for (double const u : {0.002, 0.002}) parts.push_back({"normal", u, 1.0});
    external("NIST TN 1900 E11", "length", mean + 0.003, 30.043, 0.0005);
    external("NIST TN 1900 E11", "u", combine(parts).combined, 0.0224, 0.0002);
  }
}

TEST_CASE("degrees of freedom and coverage factors agree with the guide's table", "[limits][uncertainty]") {
  auto const comparator = combine({{"a", 5.8, 1.0, 24.0}, {"b", 3.9, 1.0, 5.0}, {"c", 6.7, 1.0, 8.0}});
  external("JCGM 100 annex H.1 (comparator)", "u, nm", comparator.combined, 9.7, 0.05);
  external("JCGM 100 annex H.1 (comparator)", "degrees of freedom", comparator.effective_degrees_of_freedom, 25.6, 0.2);
  auto const teaching = combine({{"a", 0.57, 1.0, 9.0}, {"b", 0.25, 1.0, infinite_degrees_of_freedom}});
  external("Welch-Satterthwaite teaching example (public test suite)", "degrees of freedom",
           teaching.effective_degrees_of_freedom, 12.8, 0.05);
  struct Row {
    double coverage, freedom, factor, allowed;
  };
  for (auto const& row : {Row{0.6827, 1, 1.84, 0.005}, Row{0.95, 1, 12.71, 0.005}, Row{0.90, 20, 1.72, 0.005},
                          Row{0.95, 20, 2.09, 0.005}, Row{0.99, 11, 3.11, 0.005}, Row{0.90, 10, 1.81, 0.005},
                          Row{0.9973, 1, 235.8, 0.05}, Row{0.9973, 2, 19.21, 0.005}, Row{0.9973, 5, 5.51, 0.005}}) {
    external("JCGM 100 table G.2", fmt::format("{} at {}", row.coverage, row.freedom),
             coverage_factor(row.coverage, row.freedom), row.factor, row.allowed);
  }
  CHECK(coverage_factor(0.95, infinite_degrees_of_freedom) == Approx(1.959964).epsilon(1e-6));
  CHECK_THROWS_AS(coverage_factor(1.0, 5.0), InputError);
  CHECK_THROWS_AS(combine({}), InputError);
}

TEST_CASE("two readings of one instrument share its error and only its error", "[limits][uncertainty]") {
  UncertaintyInputs inputs;
  auto const first = 10.0 + inputs.input("meter/gain", 0.0, 0.1) + inputs.input("noise 1", 0.0, 0.03);
  auto const second = 10.0 + inputs.input("meter/gain", 0.0, 0.1) + inputs.input("noise 2", 0.0, 0.04);
  CHECK((first - second).standard() == Approx(0.05));                   // the gain falls out
  CHECK((first + second).standard() == Approx(std::hypot(0.2, 0.05)));  // and adds up fully
  CHECK((first / second).standard() == Approx(0.005).epsilon(1e-6));
}

TEST_CASE("sensitivities by differentiation equal those by small steps", "[limits][uncertainty]") {
  auto const function = [](auto const& x, auto const& y, auto const& z) {
    using std::cos;
    using std::exp;
    using std::log;
    using std::sin;
    using std::sqrt;
    return sqrt(x * x + y) / z - 2.0 * sin(x) * cos(y) + exp(z / 3.0) - log(x * y) + (1.0 - z) / x;
  };
  double const at[3] = {1.3, 0.8, 2.1};
  UncertaintyInputs inputs;
  auto const a = inputs.input("a", at[0], 1.0);
  auto const b = inputs.input("b", at[1], 1.0);
  auto const c = inputs.input("c", at[2], 1.0);
  auto const value = function(a, b, c);
  CHECK(value.value() == function(at[0], at[1], at[2]));
  auto const budget = inputs.budget(value);
  REQUIRE(budget.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    double up[3] = {at[0], at[1], at[2]}, down[3] = {at[0], at[1], at[2]};
    up[i] += 1e-6;
    down[i] -= 1e-6;
    CHECK(budget[i].contribution ==
          Approx((function(up[0], up[1], up[2]) - function(down[0], down[1], down[2])) / 2e-6).epsilon(1e-8));
  }
}

TEST_CASE("a value may rest on more inputs than fit inside it", "[limits][uncertainty]") {
  UncertaintyInputs inputs;
  Uncertain sum(0.0);
  for (int i = 0; i < 40; ++i) sum += inputs.input(std::to_string(i), 1.0, 0.5) * (i % 2 == 0 ? 1.0 : -1.0);
  CHECK(sum.value() == Approx(0.0).margin(1e-15));
  CHECK(sum.standard() == Approx(0.5 * std::sqrt(40.0)));
  CHECK((sum - sum).standard() == 0.0);
  auto copy = sum;
  copy *= 2.0;
  CHECK(copy.standard() == Approx(std::sqrt(40.0)));
  CHECK(sum.standard() == Approx(0.5 * std::sqrt(40.0)));
}
