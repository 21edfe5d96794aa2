// SPDX-License-Identifier: MIT
// Ratio, phase relation, polarity: what the readings say of turns, taps and leads.
#include <catch2/catch.hpp>

#include "limits/unit/ratio_plan.hpp"
#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

Bench ratio_bench(Unit unit) {
  Bench bench;
  bench.unit = std::move(unit);
  bench.sheet.lines = {line("ratio", "ratio_error_percent", -0.5, 0.5)};
  return bench;
}

/// Readings of every planned point; `ratio_of` bends the expected ratio, `phase_deg_of` turns the angle.
template <class RatioOf, class PhaseOf>
RatioReadings read(Unit const& unit, RatioOf ratio_of, PhaseOf phase_deg_of) {
  RatioReadings readings;
  for (auto const& plan : ratio_plan(unit)) {
    RatioPoint point;
    point.tap = plan.tap;
    point.hv_pair = plan.hv_pair;
    point.lv_pair = plan.lv_pair;
    point.shorted = plan.shorted;
    point.fed_return_tie = plan.fed_return_tie;
    point.applied = reading(volts(40.0), "ratio_meter", "applied");
    point.ratio = reading(Number(ratio_of(plan)), "ratio_meter", "ratio");
    point.phase = reading(degrees(phase_deg_of(plan)), "ratio_meter", "phase");
    point.exciting_current = reading(milliamperes(1.0), "ratio_meter", "current");
    readings.points.push_back(point);
  }
  return readings;
}
double in_phase(RatioPlanPoint const&) { return 0.0; }
double right(RatioPlanPoint const& plan) { return plan.turns_ratio.value_or(plan.expected_ratio); }

}  // namespace

TEST_CASE("a good unit passes on every tap and pair, each named", "[limits][evaluate][ratio]") {
  auto const bench = ratio_bench(small_single_phase());
  auto const out = evaluate_ratio(read(bench.unit, right, in_phase), bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK_FALSE(out.question);
  REQUIRE(out.results.size() == 15);
  for (auto const& result : out.results) {
    CHECK(result.verdict == Verdict::pass);
    CHECK(std::abs(result.value) < 0.02);
    REQUIRE(result.uncertainty);
    CHECK(result.uncertainty->standard == Approx(0.02).epsilon(1e-3));  // 2e-4 of the ratio, in percent
  }
  CHECK(find(out, "ratio_error_percent", "tap 3, H1-H2:X1-X3") != nullptr);
}

TEST_CASE(
    "a pair without volts whose leads read on other pairs is a fail; one whose leads prove nothing is asked about "
    "first",
    "[limits][evaluate][ratio]") {
  auto const bench = ratio_bench(small_single_phase());
  auto const without = [&](auto const& silent) {
    auto readings = read(bench.unit, right, in_phase);
    for (auto& point : readings.points) {
      if (!silent(point)) continue;
      point.ratio.quality = Quality::bad;
      point.phase.quality = Quality::bad;
    }
    return evaluate_ratio(readings, bench.context());
  };
  auto const opposed = without([](RatioPoint const& point) { return point.lv_pair == "X1-X3"; });
  CHECK_FALSE(opposed.invalid_reason);
  auto const* found = find(opposed, "pair_without_volts", "tap 3, H1-H2:X1-X3");
  REQUIRE(found != nullptr);
  CHECK(found->verdict == Verdict::fail);
  CHECK(judge_attempt({opposed}, bench.sheet, false).outcome == Outcome::fail);
  auto const nothing = without([](RatioPoint const&) { return true; });
  REQUIRE(nothing.invalid_reason);
  CHECK(nothing.invalid_reason->find("a lead is off or a winding is open") != std::string::npos);
  // X3's lead reads nowhere else on this tap: no finding.
  auto const one_lead = without([](RatioPoint const& point) { return point.lv_pair != "X1-X2"; });
  REQUIRE(one_lead.question);
  CHECK(one_lead.settled_by_repeat);
  CHECK_FALSE(one_lead.invalid_reason);
}

TEST_CASE("what the meter's own current drops in the fed winding is taken out of the ratio, with its uncertainty",
          "[limits][evaluate][ratio]") {
  auto bench = ratio_bench(small_single_phase());
  bench.unit.guarantees.impedance_percent = 2.0;
  bench.calibration["ratio_meter"].channels[0].relative_u = 0.0;
  auto const read_with = [&](Current current) {
    auto readings = read(bench.unit, right, in_phase);
    for (auto& point : readings.points) point.exciting_current = reading(current, "ratio_meter", "current");
    auto const out = evaluate_ratio(readings, bench.context());
    CHECK_FALSE(out.invalid_reason);
    return *find(out, "ratio_error_percent", "tap 3, H1-H2:X1-X3");
  };
  // Half of the guaranteed impedance, as ohms of the fed winding, times the current, over the 40 V applied.
  double const base_ohm =
      bench.unit.hv.rated.in(volts)*bench.unit.hv.rated.in(volts) / bench.unit.rated_power.in(volt_amperes);
  double const half_ohm = 0.5 * *bench.unit.guarantees.impedance_percent / 100.0 * base_ohm;
  double const most_percent = 100.0 * 1e-4 * half_ohm / 40.0;
  REQUIRE(most_percent < 0.1);
  auto const little = read_with(milliamperes(0.1));
  CHECK(step(little, "drop in the fed winding, at most") == Approx(most_percent).epsilon(1e-9));
  CHECK(*little.measured == Approx(30.0).epsilon(1e-9));
  CHECK(little.value == Approx(-0.85 * most_percent).epsilon(1e-6));
  CHECK(little.uncertainty->standard == Approx(0.15 * most_percent).epsilon(0.02));
  // A shorted turn draws a hundred times as much: that is a finding, and no more than 0.1 % is ever taken out.
  CHECK(read_with(milliamperes(100.0)).value == Approx(-0.085).epsilon(1e-6));
  CHECK(read_with(milliamperes(0.0)).value == Approx(0.0).margin(1e-9));
}

TEST_CASE("one low-voltage turn of 53 fails, and the remark counts it on its pair", "[limits][evaluate][ratio]") {
  auto const bench = ratio_bench(small_single_phase());
  auto const missing = [](RatioPlanPoint const& plan) { return right(plan) * 53.0 / 52.0; };
  auto const out = evaluate_ratio(read(bench.unit, missing, in_phase), bench.context());
  auto const* result = find(out, "ratio_error_percent", "tap 3, H1-H2:X1-X3");
  REQUIRE(result != nullptr);
  CHECK(result->value == Approx(1.923).epsilon(1e-3));  // one of 53 is 1.9 %
  CHECK(result->verdict == Verdict::fail);
  CHECK(result->remark.find("1.0 turn too few of 53 in the low-voltage winding") != std::string::npos);
  auto const judgement = judge_attempt({out}, bench.sheet, false);
  CHECK(judgement.outcome == Outcome::fail);
  CHECK(judgement.disposition == Disposition::hold);
  CHECK(judgement.reason.find("H1-H2:X1-X3") != std::string::npos);
}

TEST_CASE("one high-voltage turn passes the standard's limit and is said by the factory line if it can be seen",
          "[limits][evaluate][ratio]") {
  auto bench = ratio_bench(small_single_phase());
  double const one_turn = 100.0 / 1590.0;
  auto factory = line("ratio", "ratio_error_percent", -0.5 * one_turn, 0.5 * one_turn);
  factory.limit.warns_only = true;
  factory.speaks_up_to_u = one_turn / 3.0;
  bench.sheet.lines.push_back(factory);
  auto const extra = [](RatioPlanPoint const& plan) { return right(plan) * 1591.0 / 1590.0; };
  bench.calibration["ratio_meter"].channels[0].relative_u = 1.8e-4;
  auto out = evaluate_ratio(read(bench.unit, extra, in_phase), bench.context());
  for (auto const& result : out.results) CHECK(result.verdict == Verdict::pass);
  REQUIRE_FALSE(out.warnings.empty());  // u is 0.018 %, a third of a turn is 0.021 %
  CHECK(out.warnings.front().find("turn too many of 1") != std::string::npos);
  bench.calibration["ratio_meter"].channels[0].relative_u = 1e-3;  // cannot tell one turn: says nothing
  out = evaluate_ratio(read(bench.unit, extra, in_phase), bench.context());
  CHECK(out.warnings.empty());
}

TEST_CASE("every pair off by exactly one tap step is a question about the tap changer, not a fail",
          "[limits][evaluate][ratio]") {
  auto const bench = ratio_bench(small_single_phase());
  auto const stepped = [](RatioPlanPoint const& plan) {
    return right(plan) * (1.0 + (plan.tap_percent + 2.5) / 100.0) / (1.0 + plan.tap_percent / 100.0);
  };
  auto readings = read(bench.unit, stepped, in_phase);
  auto const out = evaluate_ratio(readings, bench.context());
  REQUIRE(out.question);
  CHECK(out.question->find("one tap step higher") != std::string::npos);
  auto const judgement = judge_attempt({out}, bench.sheet, false);
  CHECK(judgement.outcome == Outcome::invalid);
  CHECK(judgement.disposition == Disposition::repeat);
  // Only some taps stepped: the order is broken inside the unit, and that is a fail.
  auto const wiring = [](RatioPlanPoint const& plan) {
    return *plan.tap == 2 ? right(plan) * 1.05 / 1.025 : right(plan);
  };
  auto const broken = evaluate_ratio(read(bench.unit, wiring, in_phase), bench.context());
  CHECK_FALSE(broken.question);
  CHECK(judge_attempt({broken}, bench.sheet, false).outcome == Outcome::fail);
}

TEST_CASE("swapped leads, a reading that is not GOOD and a foreign pair are no statement about the unit",
          "[limits][evaluate][ratio]") {
  auto const bench = ratio_bench(small_single_phase());
  auto const swapped = evaluate_ratio(read(
                                          bench.unit, [](RatioPlanPoint const& p) { return 1.0 / right(p); }, in_phase),
                                      bench.context());
  REQUIRE(swapped.invalid_reason);
  CHECK(swapped.invalid_reason->find("swapped") != std::string::npos);
  auto readings = read(bench.unit, right, in_phase);
  readings.points[4].ratio.quality = Quality::uncertain;
  auto const bad = evaluate_ratio(readings, bench.context());
  REQUIRE(bad.invalid_reason);
  CHECK(bad.invalid_reason->find("ratio of ratio_meter is UNCERTAIN") != std::string::npos);
  readings = read(bench.unit, right, in_phase);
  readings.points[0].lv_pair = "X1-X0";
  CHECK(evaluate_ratio(readings, bench.context()).invalid_reason);
  readings = read(bench.unit, right, in_phase);
  readings.points[0].ratio.value = Number(std::nan(""));
  CHECK(evaluate_ratio(readings, bench.context()).invalid_reason);
  CHECK(evaluate_ratio({}, bench.context()).invalid_reason);
}

TEST_CASE("an instrument past its calibration date gives nothing for record", "[limits][evaluate][ratio]") {
  auto bench = ratio_bench(small_single_phase());
  bench.calibration["ratio_meter"].due_on = "2029-12-31";
  auto const out = evaluate_ratio(read(bench.unit, right, in_phase), bench.context());
  REQUIRE(out.invalid_reason);
  CHECK(out.invalid_reason->find("was due on 2029-12-31") != std::string::npos);
  bench.calibration.erase("ratio_meter");
  auto const unknown = evaluate_ratio(read(bench.unit, right, in_phase), bench.context());
  CHECK_FALSE(unknown.results.front().uncertainty);
  CHECK_FALSE(unknown.warnings.empty());
  bench.sheet.lines[0].decision.name = "guard_band";  // a rule that needs the uncertainty cannot judge without
  CHECK(evaluate_ratio(read(bench.unit, right, in_phase), bench.context()).invalid_reason);
}

TEST_CASE("known errors of the ratio meter are taken out", "[limits][evaluate][ratio]") {
  auto bench = ratio_bench(small_single_phase());
  bench.calibration["ratio_meter"].channels[0].gain_correction = 0.01;
  auto const reads_high = [](RatioPlanPoint const& plan) { return right(plan) / 0.99; };
  auto const out = evaluate_ratio(read(bench.unit, reads_high, in_phase), bench.context());
  for (auto const& result : out.results) CHECK(std::abs(result.value) < 0.02);
}

TEST_CASE("all pairs in phase have the ordered displacement; one in opposition is named", "[limits][evaluate][phase]") {
  Bench bench = ratio_bench(pad_three_phase());
  bench.sheet.lines.push_back(line("phase_relation", "displacement_deg", 20.0, 40.0));
  auto out =
      evaluate_phase_relation(read(bench.unit, right, [](RatioPlanPoint const&) { return -0.4; }), bench.context());
  REQUIRE(find(out, "displacement_deg") != nullptr);
  CHECK(find(out, "displacement_deg")->value == Approx(30.4));
  CHECK(find(out, "displacement_deg")->verdict == Verdict::pass);
  CHECK(find(out, "phase_relation_as_ordered")->verdict == Verdict::pass);
  out = evaluate_phase_relation(
      read(bench.unit, right, [](RatioPlanPoint const& plan) { return plan.lv_pair == "X2-X0" ? 179.8 : 0.2; }),
      bench.context());
  CHECK(find(out, "phase_relation_as_ordered")->verdict == Verdict::fail);
  CHECK(find(out, "phase_relation_as_ordered")->remark.find("H2-H1:X2-X0") != std::string::npos);
  CHECK(find(out, "displacement_deg")->verdict == Verdict::fail);
}

TEST_CASE("a unit of another vector group does not pass for want of a phase shift", "[limits][evaluate][phase]") {
  // A Dyn11 unit read with the pairs of Dyn1: the fed limb is another one, and the pair sees half of the flux.
  Bench bench = ratio_bench(pad_three_phase());
  auto const out =
      evaluate_phase_relation(read(
                                  bench.unit, [](RatioPlanPoint const& p) { return 2.0 * right(p); }, in_phase),
                              bench.context());
  REQUIRE(find(out, "phase_relation_as_ordered") != nullptr);
  CHECK(find(out, "phase_relation_as_ordered")->verdict == Verdict::fail);
  CHECK(find(out, "displacement_deg") == nullptr);
  CHECK(judge_attempt({out}, bench.sheet, false).outcome == Outcome::fail);
}

TEST_CASE("polarity is judged against the ordered lead placement, the marking on its own",
          "[limits][evaluate][polarity]") {
  Bench bench;
  bench.unit = small_single_phase();  // ordered additive
  auto const read_join = [](char const* join, double across) {
    PolarityReadings out;
    out.join = join;
    out.applied = reading(volts(120.0), "ratio_meter", "applied");
    out.across = reading(volts(across), "ratio_meter", "across");
    return out;
  };
  CHECK(find(evaluate_polarity(read_join("adjacent", 124.0), bench.context()), "polarity_as_ordered")->verdict ==
        Verdict::pass);
  CHECK(find(evaluate_polarity(read_join("adjacent", 116.0), bench.context()), "polarity_as_ordered")->verdict ==
        Verdict::fail);
  CHECK(find(evaluate_polarity(read_join("like_marked", 116.0), bench.context()), "polarity_as_ordered")->verdict ==
        Verdict::pass);
  CHECK(find(evaluate_polarity(read_join("like_marked", 124.0), bench.context()), "polarity_as_ordered")->verdict ==
        Verdict::fail);
  CHECK(evaluate_polarity(read_join("adjacent", 120.5), bench.context()).invalid_reason);
  CHECK(evaluate_polarity(read_join("crossed", 120.5), bench.context()).invalid_reason);
}
