// SPDX-License-Identifier: MIT
/// Sums of three power elements under the mistakes that people make in wiring them, against closed forms in the powers
/// of the sound wiring (P1, P2, P3, total P). Derived here from sums of volts and of currents being zero (Blondel); for
/// balanced phases they are the well-known 1/3, 0, 2/3 and 1/2 of the true power.

#include <array>
#include <cmath>

#include <catch2/catch.hpp>

#include "tests/sim/agreement.hpp"
#include "tests/sim/bench/bench_rig.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::test;
using benchward::sim::testing::agreed;

namespace {

Connection load_loss_three_phase() {
  Connection c;
  c.name = "Load loss: feed H1, H2, H3, short X1-X2-X3";
  c.instrument = "ac_source";
  c.feed = {{"H1", "H2", "H3"}};
  c.short_bar = {{"X1", "X2", "X3"}};
  c.earth = {"X0"};
  return c;
}

/// Mean over many readings: the analyser's noise of a ten-thousandth must not hide the sum.
std::array<double, 3> element_watts(Rig& rig) {
  std::array<double, 3> sum{};
  int const count = 40;
  for (int k = 0; k < count; ++k) {
    rig.run(0.5);
    for (std::size_t p = 0; p < 3; ++p)
      sum[p] += rig.meter("power-analyser").point("active." + std::to_string(p + 1)).value() / count;
  }
  return sum;
}

double total(std::array<double, 3> const& p) { return p[0] + p[1] + p[2]; }

struct Wired {
  explicit Wired(bool neutral) : rig(three_phase) {
    rig.bench.connect(neutral ? no_load_three_phase() : load_loss_three_phase());
    rig.energise(ac);
    auto& analyser = rig.meter("power-analyser");
    analyser.write("wiring", neutral ? 1.0 : 2.0);
    analyser.write("voltage_range", neutral ? 600.0 : 1000.0);
    analyser.write("current_range", neutral ? 20.0 : 50.0);
    analyser.write("do.set_up", 1.0);
    rig.raise(neutral ? 480.0 : 600.0, 3);
    rig.run(5.0);
  }
  /// The sum with the mistake in place, and the sound powers as they were around it: the windings warm all the while.
  void with(std::string const& fault, double value) {
    auto const before = element_watts(rig);
    REQUIRE(rig.bench.set_fault({fault, value}).empty());
    sum = total(element_watts(rig));
    rig.bench.clear_fault(fault);
    auto const after = element_watts(rig);
    for (std::size_t k = 0; k < 3; ++k) p[k] = 0.5 * (before[k] + after[k]);
  }
  double sum = 0.0;
  std::array<double, 3> p{};
  Rig rig;
};

/// Agreement within a thousandth of the true total. `shares`: what the closed form takes of each sound power.
void compare(Wired& bench, char const* mistake, char const* star, std::string const& fault, double value,
             std::array<double, 3> const& shares) {
  bench.with(fault, value);
  double expected = 0.0;
  for (std::size_t k = 0; k < 3; ++k) expected += shares[k] * bench.p[k];
  CAPTURE(mistake, star, bench.sum, expected);
  double const off = (bench.sum - expected) / total(bench.p);
  agreed(std::string("three power elements, ") + mistake, star, "sum, of the true power", off, "closed form, derived");
  CHECK(std::abs(off) < 1e-3);
}

/// One everywhere but in phase k (from 1).
std::array<double, 3> all_but(int k, double share) {
  std::array<double, 3> out{1.0, 1.0, 1.0};
  out[static_cast<std::size_t>(k) - 1] = share;
  return out;
}

}  // namespace

TEST_CASE("power sums of wrong wiring on a floating artificial star are what the circuit makes of them",
          "[sim][physics][external]") {
  Wired load(false);
  char const* const star = "Dyn1, artificial star floating";
  for (int k = 1; k <= 3; ++k) {
    compare(load, "one current transformer reversed", star, "ct-reversed", k, all_but(k, -1.0));
    compare(load, "one voltage lead open", star, "voltage-lead-open", k, all_but(k, -0.5));
    compare(load, "one current transformer's secondary open", star, "ct-secondary-open", k, all_but(k, 0.0));
  }
  compare(load, "two current transformers swapped", star, "cts-swapped", 1.0, {-1.0, -1.0, 2.0});
}

TEST_CASE("power sums of wrong wiring with the star at a real neutral are what the circuit makes of them",
          "[sim][physics][external]") {
  Wired open(true);
  char const* const star = "Dyn1, star at the real neutral X0";
  for (int k = 1; k <= 3; ++k) {
    compare(open, "one current transformer reversed", star, "ct-reversed", k, all_but(k, -1.0));
    compare(open, "one voltage lead open", star, "voltage-lead-open", k, all_but(k, 0.0));
  }
}
