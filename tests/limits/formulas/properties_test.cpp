// SPDX-License-Identifier: MIT
// What must hold for every input, searched by random cases that shrink.
#include <rapidcheck.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/impedance.hpp"
#include "limits/correct/load_loss.hpp"
#include "limits/correct/no_load.hpp"
#include "limits/correct/resistance.hpp"
#include "limits/uncertainty/decision.hpp"
#include "limits/uncertainty/uncertain.hpp"
#include "limits/unit/ratio_plan.hpp"

using namespace benchward;

namespace {

/// A number between two, evenly, in steps fine enough for these laws.
rc::Gen<double> between(double low, double high) {
  return rc::gen::map(rc::gen::inRange(0, 1'000'001), [=](int step) { return low + (high - low) * step / 1e6; });
}

bool near(double a, double b, double relative = 1e-9) {
  return std::abs(a - b) <= relative * std::max(std::abs(a), std::abs(b));
}

int rank(Verdict verdict) {
  switch (verdict) {
    case Verdict::pass:
      return 3;
    case Verdict::conditional_pass:
      return 2;
    case Verdict::conditional_fail:
      return 1;
    case Verdict::fail:
    case Verdict::not_judged:
      break;
  }
  return 0;
}

}  // namespace

TEST_CASE("a resistance carried to another temperature and back is itself", "[limits][property]") {
  CHECK(rc::check([] {
    double const r = *between(1e-6, 1e3), from = *between(-40, 120), to = *between(-40, 120);
    RC_ASSERT(near(resistance_at(resistance_at(r, from, to, 234.5), to, from, 234.5), r));
  }));
}

TEST_CASE("phases solved out of their own terminal readings are themselves, in any order", "[limits][property]") {
  CHECK(rc::check([] {
    std::array<double, 3> const r{*between(0.1, 10), *between(0.1, 10), *between(0.1, 10)};
    auto const parallel = [](double a, double b) { return a * b / (a + b); };
    auto const readings = [&](std::array<double, 3> const& x) {
      return std::array<double, 3>{parallel(x[0], x[1] + x[2]), parallel(x[1], x[2] + x[0]),
                                   parallel(x[2], x[0] + x[1])};
    };
    auto const solved = phase_resistances<double>(readings(r), ThreePhaseConnection::delta);
    for (std::size_t k = 0; k < 3; ++k) RC_ASSERT(near(solved.phase_ohm[k], r[k], 1e-6));
    auto const turned = phase_resistances<double>(readings({r[1], r[2], r[0]}), ThreePhaseConnection::delta);
    for (std::size_t k = 0; k < 3; ++k) RC_ASSERT(near(turned.phase_ohm[k], solved.phase_ohm[(k + 1) % 3], 1e-6));
    RC_ASSERT(near(turned.unbalance_percent, solved.unbalance_percent, 1e-6) || solved.unbalance_percent < 1e-6);
  }));
}

TEST_CASE("scaling every resistance scales the phases and leaves the unbalance", "[limits][property]") {
  CHECK(rc::check([] {
    double const a = *between(1.0, 1.5), b = *between(1.0, 1.5), c = *between(1.0, 1.5), k = *between(1e-5, 1e4);
    for (auto const connection : {ThreePhaseConnection::wye, ThreePhaseConnection::delta}) {
      auto const plain = phase_resistances<double>({a, b, c}, connection);
      auto const scaled = phase_resistances<double>({k * a, k * b, k * c}, connection);
      RC_ASSERT(near(scaled.phase_ohm[1], k * plain.phase_ohm[1]));
      RC_ASSERT(near(scaled.total_ohm, k * plain.total_ohm));
      RC_ASSERT(std::abs(scaled.unbalance_percent - plain.unbalance_percent) < 1e-9);
    }
  }));
}

TEST_CASE("a verdict never improves as the uncertainty grows under a guard band, inside the limit",
          "[limits][property]") {
  CHECK(rc::check([] {
    DecisionRule rule;
    rule.name = "guard_band";
    double const value = *between(-2, 3), u = *between(0, 1), more = *between(0, 1);
    auto const first = decide(value, Uncertainty{u, 1e9}, 0.0, 1.0, rule);
    auto const second = decide(value, Uncertainty{u + more, 1e9}, 0.0, 1.0, rule);
    // Outside the limit more uncertainty turns a fail into a conditional fail: still a fail, never a pass.
    if (rank(first) >= 2) RC_ASSERT(rank(second) <= rank(first));
    if (rank(first) < 2) RC_ASSERT(rank(second) < 2);
  }));
}

TEST_CASE("a wider guard and fewer degrees of freedom never turn a fail into a pass", "[limits][property]") {
  CHECK(rc::check([] {
    DecisionRule narrow, wide;
    narrow.name = wide.name = "guard_band";
    narrow.guard_factor = *between(0, 1);
    wide.guard_factor = narrow.guard_factor + *between(0, 2);
    double const value = *between(-1, 2), freedom = *between(2, 50);
    auto const a = decide(value, Uncertainty{0.1, 1e9}, 0.0, 1.0, narrow);
    auto const b = decide(value, Uncertainty{0.1, freedom}, 0.0, 1.0, wide);
    if (rank(b) == 3) RC_ASSERT(rank(a) == 3);
    RC_ASSERT((rank(a) >= 2) == (rank(b) >= 2));
  }));
}

TEST_CASE("the phase-error correction undone is the reading, and zero error corrects nothing", "[limits][property]") {
  CHECK(rc::check([] {
    double const s = *between(1, 1e5), pf = *between(0.01, 0.9), b = *between(-0.005, 0.005);
    double const read = s * pf;
    double const truth = correct_phase_error(read, s, b);
    RC_ASSERT(near(correct_phase_error(truth, s, -b), read, 1e-7));
    RC_ASSERT(near(correct_phase_error(read, s, 0.0), read));
    if (b > 1e-6) RC_ASSERT(truth < read);  // B > 0 read too much
  }));
}

TEST_CASE("corrected load loss scales with power: all watts and the ohms times k give k times the loss",
          "[limits][property]") {
  CHECK(rc::check([] {
    LoadLossInput<double> in;
    in.measured_w = *between(100, 1000);
    in.test_current_a = *between(0.5, 1.0);
    in.rated_current_a = 1.0;
    in.winding_c = *between(10, 40);
    in.reference_c = 85.0;
    in.windings = {{*between(10, 50), *between(10, 40), 234.5, 1.0}, {*between(10, 50), *between(10, 40), 225.0, 1.0}};
    double const k = *between(0.1, 10);
    auto const plain = correct_load_loss(in);
    in.measured_w *= k;
    for (auto& winding : in.windings) winding.total_resistance_ohm *= k;
    auto const scaled = correct_load_loss(in);
    RC_ASSERT(near(scaled.corrected_w, k * plain.corrected_w));
    RC_ASSERT(near(plain.ohmic_reference_w + plain.stray_reference_w, plain.corrected_w));
    // At the test temperature itself nothing is corrected.
    in.reference_c = in.winding_c;
    auto const same = correct_load_loss(in);
    RC_ASSERT(near(same.corrected_w, same.at_rated_current_w));
  }));
}

TEST_CASE("interpolation between straddling points lies between them and follows a power law exactly",
          "[limits][property]") {
  CHECK(rc::check([] {
    double const n = *between(1.5, 4.0), low = *between(0.95, 0.999), high = *between(1.001, 1.05),
                 p = *between(10, 5000);
    double const at_low = p * std::pow(low, n), at_high = p * std::pow(high, n);
    RC_ASSERT(near(interpolate_log_log(low, at_low, high, at_high, 1.0), p));
    RC_ASSERT(near(interpolate_log_log(high, at_high, low, at_low, 1.0), p));
  }));
}

TEST_CASE("regulation at zero load is zero and grows with load for a lagging one", "[limits][property]") {
  CHECK(rc::check([] {
    double const r = *between(0.2, 2), x = *between(0.5, 8), pf = *between(0, 1), load = *between(0.1, 1);
    RC_ASSERT(regulation_percent(r, x, pf, false, 0.0) == 0.0);
    RC_ASSERT(regulation_percent(r, x, pf, false, load) < regulation_percent(r, x, pf, false, load * 1.1));
  }));
}

TEST_CASE("the uncertainty of a sum of independent inputs is never above the plain sum nor below the largest",
          "[limits][property]") {
  CHECK(rc::check([] {
    UncertaintyInputs inputs;
    Uncertain total(0.0);
    double plain = 0.0, largest = 0.0;
    for (int i = 0; i < *rc::gen::inRange(1, 20); ++i) {
      double const u = *between(0, 5);
      total += inputs.input(std::to_string(i), 0.0, u);
      plain += u;
      largest = std::max(largest, u);
    }
    RC_ASSERT(total.standard() <= plain * (1 + 1e-12));
    RC_ASSERT(total.standard() >= largest * (1 - 1e-12));
  }));
}

TEST_CASE("renaming the phases of a symmetrical group only renames its pairs", "[limits][property]") {
  for (auto const* name : {"Dyn1", "Dyn11", "YNyn0", "Yd1", "Yd11", "Dzn0", "Yzn5", "Dd0"}) {
    auto const pairs = phase_pairs(parse_vector_group(name));
    INFO(name);
    CHECK(pairs[0].factor == Approx(pairs[1].factor));
    CHECK(pairs[1].factor == Approx(pairs[2].factor));
    CHECK(pairs[0].shorted.has_value() == pairs[2].shorted.has_value());
    CHECK(pairs[0].feed.has_value() == pairs[2].feed.has_value());
  }
}
