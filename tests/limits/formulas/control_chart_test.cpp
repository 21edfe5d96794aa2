// SPDX-License-Identifier: MIT
#include "limits/process/control_chart.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/input_error.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

TEST_CASE("the individuals chart of the handbook has its printed limits", "[limits][process]") {
  auto const chart = individuals_chart({49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1});
  char const* const source = "NIST/SEMATECH e-Handbook 6.3.2.2, flow rates";
  external(source, "centre", chart.center, 50.81, 0.005);
  external(source, "upper", chart.upper, 55.8041, 0.0005);
  external(source, "lower", chart.lower, 45.8159, 0.0005);
  external(source, "mean moving range", chart.sigma * moving_range_d2, 1.8778, 5e-5);
  CHECK(chart.signals.empty());
  CHECK(individuals_chart({1.0, 9.0}, 0.0, 1.0).signals == std::vector<std::size_t>{1});
}

TEST_CASE("the constant of the moving range is that of the normal distribution", "[limits][process]") {
  external("d2 for ranges of two = 2 / sqrt(pi)", "d2", moving_range_d2, 2.0 / std::sqrt(3.14159265358979323846),
           0.0005);
}

TEST_CASE("the smoothed values of the handbook's chart come out, with its limits", "[limits][process]") {
  // NIST/SEMATECH e-Handbook 6.3.2.4 (from memory): target 50, s 2.0539, weight 0.3; EWMA 50.00 (start), 50.60, 49.52,
  // ...
  std::vector<double> const data{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                                 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
  std::vector<double> const printed{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
                                    50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
  auto const chart = ewma_chart(data, 50.0, 2.0539, 0.3);
  char const* const source = "NIST/SEMATECH e-Handbook 6.3.2.4 (from memory)";
  for (std::size_t i = 0; i < data.size(); ++i) {
    external(source, "EWMA " + std::to_string(i + 1), chart.smoothed[i], printed[i], 0.011);
  }
  external(source, "upper limit, many values", chart.upper.back(), 52.5884, 0.01);
  external(source, "lower limit, many values", chart.lower.back(), 47.4115, 0.01);
  CHECK(chart.signals.empty());
  CHECK(ewma_chart({60.0}, 50.0, 1.0).signals.size() == 1);
  CHECK_THROWS_AS(ewma_chart({60.0}, 50.0, 1.0, 0.0), InputError);
}

TEST_CASE("published capabilities agree", "[limits][process]") {
  // Mean 16, s 2 against 8 to 20: three values with that mean and deviation.
  auto const out = capability({14.0, 16.0, 18.0}, 8.0, 20.0);
  char const* const source = "NIST/SEMATECH e-Handbook 6.1.6";
  external(source, "Cp", *out.cp, 1.0, 0.05);
  external(source, "Cpk", *out.cpk, 0.6667, 5e-5);
  external(source, "Cpl", *capability({14.0, 16.0, 18.0}, 8.0, {}).cpk, 1.3333, 5e-5);
  CHECK_FALSE(capability({14.0, 16.0, 18.0}, 8.0, {}).cp);
  CHECK_THROWS_AS(capability({1.0, 1.0}, 0.0, 2.0), InputError);
}

TEST_CASE("mean and deviation of the certified data set agree to its last digits", "[limits][process]") {
  std::vector<double> const mavro{2.00180, 2.00170, 2.00180, 2.00190, 2.00180, 2.00170, 2.00150, 2.00140, 2.00150,
                                  2.00150, 2.00170, 2.00180, 2.00180, 2.00190, 2.00190, 2.00210, 2.00200, 2.00160,
                                  2.00140, 2.00130, 2.00130, 2.00150, 2.00150, 2.00160, 2.00150, 2.00140, 2.00130,
                                  2.00140, 2.00150, 2.00140, 2.00150, 2.00160, 2.00150, 2.00160, 2.00190, 2.00200,
                                  2.00200, 2.00210, 2.00220, 2.00230, 2.00240, 2.00250, 2.00270, 2.00260, 2.00260,
                                  2.00260, 2.00270, 2.00260, 2.00250, 2.00240};
  auto const out = capability(mavro, 2.0, 2.01);
  external("NIST StRD Mavro", "mean", out.mean, 2.001856, 1e-13);
  external("NIST StRD Mavro", "standard deviation", out.standard_deviation, 0.000429123454003053, 1e-14);
}
