// SPDX-License-Identifier: MIT
#include "limits/unit/ratio_plan.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "tests/limits/formulas/external_check.hpp"
#include "tests/limits/formulas/units.hpp"

using namespace benchward;
using benchward::testing::external;

TEST_CASE("a single-phase unit is measured as a whole and by halves on every tap", "[limits][ratio-plan]") {
  auto const plan = ratio_plan(benchward::testing::small_single_phase());
  REQUIRE(plan.size() == 15);
  CHECK(plan[0].tap == 1);
  CHECK(plan[0].hv_pair == "H1-H2");
  CHECK(plan[0].lv_pair == "X1-X3");
  CHECK(plan[0].expected_ratio == Approx(7200.0 * 1.05 / 240.0));
  CHECK(plan[1].lv_pair == "X1-X2");
  CHECK(plan[1].expected_ratio == Approx(2.0 * 7200.0 * 1.05 / 240.0));
  CHECK(plan[8].lv_pair == "X2-X3");
  REQUIRE(plan[6].turns_ratio);
  CHECK(*plan[6].turns_ratio == Approx(30.0));           // 1590 / 53
  CHECK(*plan[9].turns_ratio == Approx(1550.0 / 53.0));  // 1590 x 0.975 = 1550.25, whole turns 1550
  CHECK(ratio_plan_on_tap(benchward::testing::small_single_phase(), 4).size() == 3);
}

TEST_CASE("a unit whose neutrals are joined names the common bushing in its pairs", "[limits][ratio-plan]") {
  auto unit = benchward::testing::pad_three_phase();
  unit.vector_group = "YNyn0";
  unit.hv_neutral = unit.lv_neutral = NeutralKind::joined;
  auto const plan = ratio_plan(unit);
  REQUIRE(plan.size() == 3);
  CHECK(plan[1].hv_pair == "H2-H0X0");
  CHECK(plan[1].lv_pair == "X2-H0X0");
}

TEST_CASE("a delta with a leg tapped in the middle is read by the halves of that leg too", "[limits][ratio-plan]") {
  auto unit = benchward::testing::pad_three_phase();
  unit.lv_neutral = NeutralKind::none;
  unit.lv_form = LowVoltageForm::mid_tapped_leg;
  unit.lv.rated = volts(240.0);
  for (auto const* group : {"Dd0", "Dd6", "Yd1", "Yd11"}) {
    unit.vector_group = group;
    auto const plan = ratio_plan(unit);
    REQUIRE(plan.size() == 5);
    double whole = 0.0;
    int halves = 0;
    for (auto const& point : plan) {
      INFO(group << " " << point.hv_pair << ":" << point.lv_pair);
      if (point.lv_pair == "X1-X3" || point.lv_pair == "X3-X1") whole = point.expected_ratio;
      if (point.lv_pair.find("X4") == std::string::npos) continue;
      CHECK(point.expected_ratio == Approx(2.0 * whole));
      ++halves;
    }
    CHECK(halves == 2);
  }
}

TEST_CASE("a zigzag whose star point stays inside is read between lines", "[limits][ratio-plan]") {
  auto unit = benchward::testing::pad_three_phase();
  unit.vector_group = "Dz0";
  unit.lv_neutral = NeutralKind::inner;
  CHECK(ratio_plan(unit).front().lv_pair == "X1-X2");
  unit.vector_group = "Dzn0";
  unit.lv_neutral = NeutralKind::own_bushing;
  CHECK(ratio_plan(unit).front().lv_pair == "X1-X0");
  CHECK(ratio_plan(unit).front().fed_return_tie == std::string("H1-H2+H3"));
}

TEST_CASE("published ratio readings of delta-wye units agree", "[limits][ratio-plan]") {
  // Two printed examples: 67/13.75 kV Dyn1 reads 8.439 (printed truncated), 400/115 V Dy5 reads 6.017 (1.73 for root
  // 3).
  external("Dyn1 67/13.75 kV turns-ratio example (public testing guide)", "ratio",
           expected_pair_ratio(parse_vector_group("Dyn1"), 67000.0, 13750.0, 0.0), 8.439, 0.001);
  external("Dy5 400/115 V turns-ratio example (public forum answer)", "ratio",
           expected_pair_ratio(parse_vector_group("Dyn5"), 400.0, 115.0, 0.0), 6.017, 0.008);
  // A Dyn11 unit of 20 kV/400 V on tap 1.025 (public load-flow package's documentation).
  CHECK(expected_pair_ratio(parse_vector_group("Dyn11"), 20000.0, 400.0, 2.5) == Approx(std::sqrt(3.0) * 51.25));
}

TEST_CASE("whole turns are expected where one low-voltage turn is more than the tolerance", "[limits][ratio-plan]") {
  auto unit = benchward::testing::small_single_phase();
  unit.hv.turns = 1600;  // 53.33 low-voltage turns would be wanted: 53 is the nearest, 0.63 % off the plate
  auto const rated = ratio_plan_on_tap(unit, 3).front();
  CHECK(expected_ratio_by_rule(rated, unit, 0.5) == Approx(1600.0 / 53.0));
  CHECK(expected_ratio_by_rule(rated, unit, 2.0) == Approx(30.0));  // a wide tolerance needs no exception
  unit.lv.turns = 52;  // not the nearest: the plate's ratio stands, and the reading will be off by 2 %
  CHECK(expected_ratio_by_rule(ratio_plan_on_tap(unit, 3).front(), unit, 0.5) == Approx(30.0));
  unit.lv.turns.reset();
  CHECK(expected_ratio_by_rule(ratio_plan_on_tap(unit, 3).front(), unit, 0.5) == Approx(30.0));
}
