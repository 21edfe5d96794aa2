// SPDX-License-Identifier: MIT
#include "limits/uncertainty/monte_carlo.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <thread>

#include "limits/correct/load_loss.hpp"
#include "limits/uncertainty/uncertain.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;
using Kind = InputDistribution::Kind;

namespace {

void on_threads(std::size_t threads, std::size_t count, std::function<void(std::size_t)> const& block) {
  std::vector<std::thread> pool;
  for (std::size_t t = 0; t < threads; ++t) {
    pool.emplace_back([&, t] {
      for (std::size_t i = t; i < count; i += threads) block(i);
    });
  }
  for (auto& thread : pool) thread.join();
}

double sum(double const* x) { return x[0] + x[1] + x[2] + x[3]; }

}  // namespace

TEST_CASE("the result is the same bits whatever executor runs the blocks", "[limits][monte-carlo]") {
  std::vector<InputDistribution> const inputs{{Kind::normal, 1.0, 0.1, 0.0},
                                              {Kind::rectangular, 0.0, 2.0, 0.0},
                                              {Kind::triangular, 0.0, 1.0, 0.0},
                                              {Kind::student, 0.0, 1.0, 4.0}};
  MonteCarloPlan plan;
  plan.trials = 50'123;
  plan.trials_per_block = 1'000;
  plan.seed = 42;
  auto const once = monte_carlo(inputs, sum, plan);
  auto const backwards = [](std::size_t count, std::function<void(std::size_t)> const& block) {
    for (std::size_t i = count; i > 0; --i) block(i - 1);
  };
  auto const two = [](std::size_t count, std::function<void(std::size_t)> const& block) {
    on_threads(2, count, block);
  };
  auto const seven = [](std::size_t count, std::function<void(std::size_t)> const& block) {
    on_threads(7, count, block);
  };
  for (BlockExecutor const& executor : {BlockExecutor(backwards), BlockExecutor(two), BlockExecutor(seven)}) {
    auto const again = monte_carlo(inputs, sum, plan, executor);
    CHECK(std::memcmp(&once, &again, sizeof once) == 0);
  }
  plan.seed = 43;
  CHECK(monte_carlo(inputs, sum, plan).mean != once.mean);
}

TEST_CASE("the sum of four rectangular inputs has its published interval", "[limits][monte-carlo]") {
  double const half = std::sqrt(3.0);
  std::vector<InputDistribution> const inputs(4, {Kind::rectangular, 0.0, half, 0.0});
  MonteCarloPlan plan;
  plan.trials = 400'000;
  auto const out = monte_carlo(inputs, sum, plan);
  external("JCGM 101 clause 9.2", "u of the sum", out.standard_uncertainty, 2.0, 0.02);
  external("JCGM 101 clause 9.2", "95 % half width", (out.high - out.low) / 2.0, 3.88, 0.02);
  CHECK(out.shortest_high - out.shortest_low <= out.high - out.low);
}

TEST_CASE("the logarithm of a wide input differs from its linear propagation as published", "[limits][monte-carlo]") {
  UncertaintyInputs inputs;
  auto const linear = log(inputs.input("x", 0.6, 0.5 / std::sqrt(3.0)));
  char const* const source = "logarithm of 0.6 +/- 0.5 (public documentation of an uncertainty library)";
  external(source, "linear value", linear.value(), -0.511, 0.001);
  external(source, "linear u", linear.standard(), 0.481, 0.001);
  MonteCarloPlan plan;
  plan.trials = 400'000;
  auto const drawn = monte_carlo(
      {{Kind::rectangular, 0.6, 0.5, 0.0}}, [](double const* x) { return std::log(x[0]); }, plan);
  external(source, "mean of the trials", drawn.mean, -0.665, 0.005);
  external(source, "u of the trials", drawn.standard_uncertainty, 0.606, 0.005);
  external(source, "shortest interval, lower end", drawn.shortest_low, -1.895, 0.005);
  external(source, "shortest interval, upper end", drawn.shortest_high, 0.095, 0.001);
}

TEST_CASE("distributions have the deviations of their shape", "[limits][monte-carlo]") {
  MonteCarloPlan plan;
  plan.trials = 200'000;
  auto const deviation = [&](InputDistribution const& input) {
    return monte_carlo(
               {input}, [](double const* x) { return x[0]; }, plan)
        .standard_uncertainty;
  };
  CHECK(deviation({Kind::normal, 0.0, 2.0, 0.0}) == Approx(2.0).epsilon(0.01));
  CHECK(deviation({Kind::rectangular, 0.0, 2.0, 0.0}) == Approx(2.0 / std::sqrt(3.0)).epsilon(0.01));
  CHECK(deviation({Kind::triangular, 0.0, 2.0, 0.0}) == Approx(2.0 / std::sqrt(6.0)).epsilon(0.01));
  CHECK(deviation({Kind::arcsine, 0.0, 2.0, 0.0}) == Approx(2.0 / std::sqrt(2.0)).epsilon(0.01));
  CHECK(deviation({Kind::student, 0.0, 2.0, 10.0}) == Approx(2.0 * std::sqrt(10.0 / 8.0)).epsilon(0.02));
}

TEST_CASE("at a good power factor trials and linear propagation agree, and an outlier model is refused",
          "[limits][monte-carlo]") {
  UncertaintyInputs inputs;
  auto const power = inputs.input("P", 500.0, 1.0);
  auto const apparent = inputs.input("S", 1000.0, 2.0);
  auto const phase = inputs.input("B", 0.001, 0.0005);
  auto const linear = correct_phase_error(power, apparent, phase);
  MonteCarloPlan plan;
  auto const drawn = monte_carlo(
      {{Kind::normal, 500.0, 1.0, 0.0}, {Kind::normal, 1000.0, 2.0, 0.0}, {Kind::normal, 0.001, 0.0005, 0.0}},
      [](double const* x) { return correct_phase_error(x[0], x[1], x[2]); }, plan);
  CHECK(drawn.mean == Approx(linear.value()).epsilon(1e-4));
  CHECK(drawn.standard_uncertainty == Approx(linear.standard()).epsilon(0.01));
  auto const broken = [](double const* x) { return std::sqrt(x[0]); };
  CHECK_THROWS_AS(monte_carlo({{Kind::normal, 0.0, 1.0, 0.0}}, broken, plan), InputError);
  plan.trials = 10;
  CHECK_THROWS_AS(monte_carlo({{Kind::normal, 0.0, 1.0, 0.0}}, sum, plan), InputError);
}
