// SPDX-License-Identifier: MIT
#include "limits/uncertainty/decision.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "limits/correct/input_error.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

namespace {

DecisionRule rule(char const* name) {
  DecisionRule out;
  out.name = name;
  return out;
}
Uncertainty u(double standard) { return {standard, 1e9}; }

}  // namespace

TEST_CASE("the guard band gives four words", "[limits][decision]") {
  auto const say = [](double value) { return decide(value, u(0.5), std::nullopt, 10.0, rule("guard_band")); };  // U = 1
  CHECK(say(8.99) == Verdict::pass);
  CHECK(say(9.5) == Verdict::conditional_pass);
  CHECK(say(10.0) == Verdict::conditional_pass);
  CHECK(say(10.5) == Verdict::conditional_fail);
  CHECK(say(11.01) == Verdict::fail);
  auto half = rule("guard_band");
  half.guard_factor = 0.5;
  CHECK(decide(9.4, u(0.5), {}, 10.0, half) == Verdict::pass);
  CHECK(decide(0.3, u(0.5), 0.0, {}, rule("guard_band")) == Verdict::conditional_pass);
}

TEST_CASE("simple acceptance knows pass and fail only, and needs no uncertainty", "[limits][decision]") {
  CHECK(decide(10.0, {}, 9.0, 10.0, rule("simple_acceptance")) == Verdict::pass);
  CHECK(decide(10.0000001, {}, 9.0, 10.0, rule("simple_acceptance")) == Verdict::fail);
  CHECK(decide(8.9, u(5.0), 9.0, 10.0, rule("simple_acceptance")) == Verdict::fail);
  CHECK(decide(5.0, {}, {}, {}, rule("simple_acceptance")) == Verdict::not_judged);
  CHECK_THROWS_AS(decide(9.5, {}, 9.0, 10.0, rule("guard_band")), InputError);
  CHECK_THROWS_AS(decide(9.5, u(1.0), 9.0, 10.0, rule("wishful")), InputError);
  auto own = rule("specific_risk");
  own.prior = "process";
  CHECK_THROWS_AS(decide(9.5, u(1.0), 9.0, 10.0, own), InputError);
}

TEST_CASE("the specific risk is that of the normal distribution", "[limits][decision]") {
  // Arithmetic of JCGM 106: at the limit 50 %, two u inside 2.3 % risk, 1.645 u inside 5.0 %.
  external("JCGM 106 conformance probability (arithmetic of the normal distribution)", "at the limit",
           1.0 - probability_conforming(10.0, 1.0, {}, 10.0), 0.50, 1e-9);
  external("JCGM 106 conformance probability (arithmetic of the normal distribution)", "2 u inside",
           1.0 - probability_conforming(8.0, 1.0, {}, 10.0), 0.023, 0.0005);
  external("JCGM 106 conformance probability (arithmetic of the normal distribution)", "1.645 u inside",
           1.0 - probability_conforming(8.355, 1.0, {}, 10.0), 0.050, 0.0005);
  external("ILAC-G8:09/2019 guard band of U", "false accept at the acceptance limit, percent",
           100.0 * (1.0 - probability_conforming(8.0, 1.0, {}, 10.0)), 2.5, 0.25);
  struct Row {
    double mean, risk;
  };
  for (auto const& row : {Row{10.0, 0.01242}, Row{10.5, 0.10574}, Row{12.0, 0.99379}}) {
    external("specific risk of normal values against 9 to 11 (public documentation of a metrology library)",
             fmt::format("mean {}", row.mean), 1.0 - probability_conforming(row.mean, 0.4, 9.0, 11.0), row.risk, 2e-5);
  }
  auto risky = rule("specific_risk");
  risky.risk = 0.025;
  CHECK(decide(8.0, u(1.0), {}, 10.0, risky) == Verdict::pass);
  CHECK(decide(8.1, u(1.0), {}, 10.0, risky) == Verdict::conditional_pass);
  CHECK(decide(10.1, u(1.0), {}, 10.0, risky) == Verdict::conditional_fail);
  CHECK(decide(12.0, u(1.0), {}, 10.0, risky) == Verdict::fail);
  CHECK(decide(9.9, u(0.0), {}, 10.0, risky) == Verdict::pass);
}

TEST_CASE("published global risks agree", "[limits][decision]") {
  auto const deaver = global_risk(0.0, 4.0, 1.0, -8.0, 8.0, -8.0, 8.0);
  char const* const first = "false accept and reject, 2 process deviations, test ratio 4 (Deaver)";
  external(first, "PFA", deaver.consumer, 0.008, 0.0005);
  external(first, "PFR", deaver.producer, 0.015, 0.0005);
  auto const resistor = global_risk(1500.0, 0.12, 0.04, 1499.8, 1500.2, 1499.82, 1500.18);
  char const* const second = "JCGM 106 resistors (inputs from a public script, results by an independent computation)";
  external(second, "consumer's risk", resistor.consumer, 0.009878291522, 1e-9);
  external(second, "producer's risk", resistor.producer, 0.06902651046, 1e-9);
  // Unconditional false accept by in-tolerance probability at a test ratio of 4 (draft RP-19 table).
  struct Row {
    double probability, deviate, percent;
  };
  for (auto const& row : {Row{0.60, 0.8416212335729143, 4.83860326}, Row{0.80, 1.2815515655446004, 2.85583037},
                          Row{0.95, 1.959963984540054, 0.87100925}}) {
    double const process = 1.0 / row.deviate;  // tolerance is +/- 1
    external("unconditional false accept at 4:1 (draft RP-19 table)", fmt::format("in tolerance {}", row.probability),
             100.0 * global_risk(0.0, process, process / 4.0, -1.0, 1.0, -1.0, 1.0).consumer, row.percent, 1e-5);
  }
}

TEST_CASE("a value that is not a number never passes, whatever the rule", "[limits][decision]") {
  double const nan = std::numeric_limits<double>::quiet_NaN();
  double const infinity = std::numeric_limits<double>::infinity();
  for (auto const* name : {"simple_acceptance", "guard_band", "specific_risk"}) {
    INFO(name);
    CHECK(decide(nan, u(0.1), 0.0, 1.0, rule(name)) == Verdict::fail);
    CHECK(decide(nan, u(0.1), 0.0, {}, rule(name)) == Verdict::fail);
    CHECK(decide(infinity, u(0.1), 0.0, 1.0, rule(name)) == Verdict::fail);
    CHECK(decide(0.5, u(0.1), nan, 1.0, rule("simple_acceptance")) == Verdict::fail);
  }
  CHECK(decide(0.5, u(nan), 0.0, 1.0, rule("guard_band")) == Verdict::fail);
  CHECK(decide(0.5, u(nan), 0.0, 1.0, rule("specific_risk")) == Verdict::fail);
}

TEST_CASE("few degrees of freedom widen the guard band", "[limits][decision]") {
  CHECK(expanded_for_decision({1.0, 1e9}) == Approx(2.0).epsilon(1e-9));
  CHECK(expanded_for_decision({1.0, 3.0}) == Approx(3.31).epsilon(0.005));  // Student's t, 95.45 %, EA-4/02 table E.1
  CHECK(decide(7.5, Uncertainty{1.0, 1e9}, {}, 10.0, rule("guard_band")) == Verdict::pass);
  CHECK(decide(7.5, Uncertainty{1.0, 3.0}, {}, 10.0, rule("guard_band")) == Verdict::conditional_pass);
}
