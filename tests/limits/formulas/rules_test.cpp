// SPDX-License-Identifier: MIT
// The numbers of a limit sheet and the arithmetic that it prints: each rule kind against a pocket calculator.
#include <catch2/catch.hpp>
#include <cmath>

#include "limits/rules/limit_set.hpp"
#include "tests/limits/formulas/units.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

LimitSet set_of(decltype(Rule::kind) kind, std::string unit = "%") {
  LimitSet set;
  Rule rule;
  rule.id = "rule";
  rule.test = "test";
  rule.quantity = "quantity";
  rule.unit = std::move(unit);
  rule.kind = std::move(kind);
  set.rules = {rule};
  return set;
}
SheetLine line_of(decltype(Rule::kind) kind, Unit const& unit) {
  auto const sheet = work_out(set_of(std::move(kind)), unit);
  INFO((sheet.no_requirement.empty() ? "" : sheet.no_requirement.front()));
  REQUIRE(sheet.lines.size() == 1);
  return sheet.lines.front();
}
std::string why_none(decltype(Rule::kind) kind, Unit const& unit) {
  auto const sheet = work_out(set_of(std::move(kind)), unit);
  REQUIRE(sheet.no_requirement.size() == 1);
  return sheet.no_requirement.front();
}
bool says(std::string const& text, std::string const& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("a tolerance lies about the declared value, in the band that holds for it", "[limits][rules]") {
  auto unit = small_single_phase();
  unit.guarantees.impedance_percent = 2.5;
  ToleranceRule const rule{"impedance_percent",
                           {{0.0, false, 10.0, 8.0}, {2.5, false, 7.5, 7.0}, {10.0, true, 5.0, {}}}};
  auto at = line_of(rule, unit);
  CHECK(*at.limit.lower == Approx(2.3).epsilon(1e-14));
  CHECK(*at.limit.upper == Approx(2.75).epsilon(1e-14));
  CHECK(*at.nominal == 2.5);
  CHECK(says(at.limit.origin, "declared impedance 2.5 % - 8 % = 2.3 %"));
  CHECK(says(at.limit.origin, "declared impedance 2.5 % + 10 % = 2.75 %"));
  unit.guarantees.impedance_percent = 2.6;
  CHECK(*line_of(rule, unit).limit.upper == Approx(2.795).epsilon(1e-14));
  unit.guarantees.impedance_percent = 10.0;
  at = line_of(rule, unit);
  CHECK(*at.limit.upper == Approx(10.5).epsilon(1e-14));
  CHECK_FALSE(at.limit.lower);
}

TEST_CASE("the ratio's tolerance may hang on the impedance, and one turn of the low side is told from it",
          "[limits][rules]") {
  auto unit = small_single_phase();
  unit.guarantees.impedance_percent = 4.2;
  RatioRule rule;
  rule.impedance_share = 0.1;
  auto at = line_of(rule, unit);
  CHECK(*at.limit.upper == Approx(0.42).epsilon(1e-14));
  CHECK(*at.limit.lower == Approx(-0.42).epsilon(1e-14));
  CHECK(says(at.limit.origin, "0.1 x declared impedance 4.2 % = 0.42 %"));
  CHECK(says(at.limit.origin, "one of 53 low-voltage turns is 1.887 %, more than the tolerance"));
  unit.guarantees.impedance_percent = 6.0;
  CHECK(*line_of(rule, unit).limit.upper == 0.5);
  unit.lv.turns = 210;  // 0.476 %
  CHECK(says(line_of(rule, unit).limit.origin, "is 0.4762 %: no whole-turn exception"));
  unit.lv.turns = 190;  // 0.526 %
  CHECK(says(line_of(rule, unit).limit.origin, "more than the tolerance"));
}

TEST_CASE("the winder's line is a fraction of one high-voltage turn, said up to a third of one", "[limits][rules]") {
  auto unit = small_single_phase();
  unit.hv.turns = 1600;  // 0.0625 %
  auto const at = line_of(TurnRule{}, unit);
  CHECK(*at.limit.upper == Approx(0.03125).epsilon(1e-14));
  CHECK(*at.limit.lower == Approx(-0.03125).epsilon(1e-14));
  CHECK(*at.speaks_up_to_u == Approx(0.0625 / 3.0).epsilon(1e-14));
  CHECK(says(at.limit.origin, "one of 1600 high-voltage turns is 0.0625 %; 0.5 of it is 0.03125 %"));
  CHECK(says(at.limit.origin, "at most 0.333 of a turn, 0.02083 %"));
  unit.hv.turns.reset();
  CHECK(says(why_none(TurnRule{}, unit), "gives no high-voltage turns"));
}

TEST_CASE("the displacement is thirty degrees an hour, within ten", "[limits][rules]") {
  auto unit = pad_three_phase();
  unit.vector_group = "Dyn11";
  auto const at = line_of(DisplacementRule{}, unit);
  CHECK(*at.nominal == 330.0);
  CHECK(*at.limit.lower == 320.0);
  CHECK(*at.limit.upper == 340.0);
}

TEST_CASE("levels are held within three percent, the line-to-ground one by its own arithmetic", "[limits][rules]") {
  auto unit = small_single_phase();
  unit.hv.applied_kv = 34.0;
  auto at = line_of(AppliedLevelRule{}, unit);
  CHECK(*at.nominal == 34.0);
  CHECK(*at.limit.lower == Approx(32.98).epsilon(1e-14));
  CHECK(*at.limit.upper == Approx(35.02).epsilon(1e-14));
  AppliedLevelRule low;
  low.hv = false;
  CHECK(says(why_none(low, unit), "no applied level for the low-voltage winding"));
  InducedLevelRule rule;
  rule.minus_percent = 2.0;
  rule.line_to_ground_ceilings = {{125.0, 40.0}};
  at = line_of(rule, unit);
  CHECK(*at.nominal == 480.0);
  CHECK(*at.limit.lower == Approx(470.4).epsilon(1e-14));
  CHECK(*at.limit.upper == Approx(494.4).epsilon(1e-14));
  CHECK(says(at.limit.origin, "2 x 240 V = 480 V, held within -2 % and +3 %"));
  unit.hv_neutral = NeutralKind::on_tank;
  at = line_of(rule, unit);
  CHECK(*at.nominal == Approx((1000.0 + 3.46 * 7200.0) / 30.0).epsilon(1e-14));
  CHECK(says(at.limit.origin, "1000 V + 3.46 x 7200 V = 25912 V, no ceiling for this basic impulse level"));
  unit.hv.rated = volts(14400.0);
  unit.hv.bil_kv = 125.0;
  at = line_of(rule, unit);
  CHECK(*at.nominal == Approx(40000.0 / 60.0).epsilon(1e-14));
  CHECK(says(at.limit.origin, "= 50824 V, at most 40000 V by basic impulse level"));
  // Of a three-phase unit with a joined neutral the winding has the line volts over root three.
  auto three = pad_three_phase();
  three.hv_neutral = NeutralKind::joined;
  at = line_of(rule, three);
  double const winding = 12470.0 / std::sqrt(3.0);
  CHECK(*at.nominal == Approx((1000.0 + 3.46 * winding) * 480.0 / winding).epsilon(1e-14));
}

TEST_CASE("the induced test's cycles are those of its standard", "[limits][rules]") {
  auto unit = small_single_phase();
  auto at = line_of(InducedDurationRule{}, unit);
  CHECK(at.per_frequency->cycles == 7200.0);
  CHECK(at.per_frequency->least_s == 0.0);
  CHECK(*at.limit.lower == 60.0);
  CHECK(*at.limit_at(400.0).lower == 18.0);
  unit.rated_frequency = hertz(50.0);
  InducedDurationRule iec;
  iec.standard = StandardFamily::iec;
  at = line_of(iec, unit);
  CHECK(at.per_frequency->cycles == 6000.0);
  CHECK(at.per_frequency->least_s == 15.0);
  CHECK(*at.limit_at(150.0).lower == 40.0);
  CHECK(says(at.limit.origin, "6000 cycles / test frequency, at least 15 s, at most 60 s"));
}

TEST_CASE("a table is read on its rows, between them, below and beyond them only where it says so", "[limits][rules]") {
  auto unit = small_single_phase();
  LimitSet set = set_of(TableRule{"losses", false, {{"full power, one dual winding", 10.0, {}}}}, "W");
  set.tables = {
      {"losses",
       "W",
       "invented for this test",
       {{"(a)", "2020-01-01", "2030-01-01", 1, {}, false, false, {{20.0, 100.0}, {30.0, 180.0}, {50.0, 300.0}}}}}};
  unit.manufactured_on = "2025-06-01";
  auto const at = [&](double kva) {
    unit.rated_power = kilovolt_amperes(kva);
    return work_out(set, unit);
  };
  CHECK(*at(25.0).lines.front().limit.upper == Approx(140.0 * 1.1).epsilon(1e-14));
  CHECK(says(at(25.0).lines.front().limit.origin, "100 + (25 - 20) / (30 - 20) x (180 - 100) = 140 W"));
  CHECK(says(at(25.0).lines.front().limit.origin, "140 +10 % = 154 W"));
  CHECK(*at(30.0).lines.front().limit.upper == Approx(198.0).epsilon(1e-14));
  CHECK(at(19.0).lines.empty());
  CHECK(says(at(51.0).no_requirement.front(), "go from 20 to 50 kVA, the unit has 51 kVA"));
  auto& block = set.tables[0].blocks[0];
  block.extrapolates = true;
  CHECK(*at(15.0).lines.front().limit.upper == Approx(60.0 * 1.1).epsilon(1e-14));
  CHECK(*at(60.0).lines.front().limit.upper == Approx(360.0 * 1.1).epsilon(1e-14));
  CHECK(says(at(60.0).lines.front().limit.origin, "on the line through 30 kVA (180 W) and 50 kVA (300 W)"));
  block.holds_below_first_row = true;
  CHECK(*at(15.0).lines.front().limit.upper == Approx(110.0).epsilon(1e-14));
  unit.manufactured_on = "2030-01-01";
  CHECK(at(25.0).lines.empty());
  unit.manufactured_on = "2029-12-31";
  CHECK(at(25.0).lines.size() == 1);
  unit.manufactured_on = "2019-12-31";
  CHECK(at(25.0).lines.empty());
}

TEST_CASE("a condition holds on its edges as it says", "[limits][rules]") {
  auto const holds = [](RuleCondition when, Unit const& unit) {
    auto set = set_of(BoundRule{1.0, 2.0});
    set.rules[0].when = std::move(when);
    return work_out(set, unit).lines.size() == 1;
  };
  auto unit = small_single_phase();
  unit.manufactured_on = "2026-01-01";
  RuleCondition when;
  when.kva_from = 25.0;
  when.kva_to = 25.0;
  CHECK(holds(when, unit));
  when.kva_to = 24.9;
  CHECK_FALSE(holds(when, unit));
  when = {};
  when.hv_v_above = 7200.0;
  CHECK_FALSE(holds(when, unit));
  when.hv_v_above = 7199.0;
  when.hv_v_to = 7200.0;
  when.lv_v_to = 240.0;
  CHECK(holds(when, unit));
  when = {};
  when.rated_hz = 60.0;
  CHECK(holds(when, unit));
  when.rated_hz = 50.0;
  CHECK_FALSE(holds(when, unit));
  when = {};
  when.manufactured_from = "2026-01-01";
  CHECK(holds(when, unit));
  when.manufactured_until = "2026-01-01";
  CHECK_FALSE(holds(when, unit));
  RangeRule const range{{{1, 10.0, 25.0, false, 1.0, 4.0}, {1, 25.0, 50.0, true, 1.5, 4.5}}};
  CHECK(*line_of(range, unit).limit.lower == 1.5);
  unit.rated_power = kilovolt_amperes(50.0);
  CHECK(*line_of(range, unit).limit.upper == 4.5);
  unit.rated_power = kilovolt_amperes(50.1);
  CHECK(says(why_none(range, unit), "no row for 1 phase(s) and 50.1 kVA"));
}
