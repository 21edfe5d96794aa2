// SPDX-License-Identifier: MIT
// Plans row by row: what is fed, measured, shorted, earthed and live in each test of each family. The rows are the
// project's own table of connections (derived there; agreement with IEEE C57.12.90 clause 6 and C57.12.38-2014 extracts
// where those were read).
#include <catch2/catch.hpp>

#include <algorithm>

#include "limits/documents/limit_set_document.hpp"
#include "rig.hpp"
#include "tests_seq/plan/plan.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

using Lists = std::vector<std::vector<std::string>>;
using List = std::vector<std::string>;

Unit three_phase(std::string const& group) {
  Unit unit = demo_unit();
  unit.phases = 3;
  unit.vector_group = group;
  unit.rated_power = kilovolt_amperes(500);
  unit.core_form = CoreForm::three_limb;
  unit.lv_form = LowVoltageForm::plain;
  unit.interlaced = false;
  unit.hv.rated = volts(12470);
  unit.lv.rated = volts(480);
  unit.hv.turns.reset();
  unit.lv.turns.reset();
  unit.guarantees.impedance_percent = 4.5;
  unit.bushings.clear();
  for (char const* name : {"H1", "H2", "H3", "X1", "X2", "X3"}) unit.bushings.push_back({name, "stud", false});
  unit.straps.clear();
  unit.fuses.clear();
  unit.options.insulation_resistance = false;
  unit.lv_neutral = NeutralKind::none;
  unit.hv_neutral = NeutralKind::none;
  return unit;
}

Unit dyn1() {
  Unit unit = three_phase("Dyn1");
  unit.lv_neutral = NeutralKind::own_bushing;
  unit.bushings.push_back({"X0", "stud", false});
  unit.straps.push_back({"X0 strap", "X0", "on"});
  return unit;
}

Unit ynyn0_own() {
  Unit unit = three_phase("YNyn0");
  unit.hv_neutral = unit.lv_neutral = NeutralKind::own_bushing;
  unit.bushings.push_back({"H0", "stud", false});
  unit.bushings.push_back({"X0", "stud", false});
  unit.hv.applied_kv.reset();
  return unit;
}

Unit ynyn0_joined() {
  Unit unit = three_phase("YNyn0");
  unit.hv_neutral = unit.lv_neutral = NeutralKind::joined;
  unit.bushings.push_back({"H0X0", "stud", false});
  unit.hv.applied_kv.reset();
  unit.lv.applied_kv.reset();
  return unit;
}

Unit one_bushing() {
  Unit unit = demo_unit();
  unit.hv_neutral = NeutralKind::on_tank;
  unit.hv.applied_kv.reset();
  unit.bushings = {{"H1", "well", false}, {"X1", "spade", false}, {"X2", "spade", false}, {"X3", "spade", false}};
  unit.fuses.clear();
  return unit;
}

Plan planned(Unit const& unit, Bench const& bench = demo_bench(), std::string const& stage = "routine") {
  return make_plan(unit, stage, work_out(builtin_limit_set(unit.standard), unit), bench);
}

PlanStep const* find(Plan const& plan, std::string const& test, int which = 0) {
  for (auto const& step : plan.steps) {
    if (step.test == test && which-- == 0) return &step;
  }
  return nullptr;
}

int place(Plan const& plan, std::string const& test) {
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    if (plan.steps[i].test == test) return static_cast<int>(i);
  }
  return -1;
}

std::string left_out(Plan const& plan, std::string const& test) {
  std::string reasons;
  for (auto const& left : plan.left_out) {
    if (left.test == test) reasons += left.reason + ";";
  }
  return reasons;
}

double live_volts(Connection const& connection, std::string const& terminal) {
  for (auto const& live : connection.live) {
    if (live.terminal == terminal) return live.volts_to_earth;
  }
  return 0.0;
}

std::string state_of(Connection const& connection, std::string const& accessory) {
  for (auto const& entry : connection.accessories) {
    if (entry.name == accessory) return entry.state;
  }
  return "absent";
}

bool mentions(List const& list, std::string const& part) {
  return std::any_of(list.begin(), list.end(),
                     [&](auto const& entry) { return entry.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("single-phase, two bushings, centre-tapped: the row of the table", "[plan]") {
  auto const plan = planned(demo_unit());
  REQUIRE(plan.testable());
  auto const* ratio = find(plan, "ratio");
  REQUIRE(ratio);
  CHECK(ratio->connection.feed == Lists{{"H1", "H2"}});
  CHECK(ratio->connection.measure == Lists{{"X1", "X2", "X3"}});
  List pairs;
  for (auto const& point : ratio_plan_on_tap(demo_unit(), 3)) pairs.push_back(point.hv_pair + ":" + point.lv_pair);
  CHECK(pairs == List{"H1-H2:X1-X3", "H1-H2:X1-X2", "H1-H2:X2-X3"});
  auto const& work = std::get<RatioWork>(ratio->work);
  CHECK(work.start.in(volts) <= 1.0);

  auto const* resistance_hv = find(plan, "winding_resistance", 0);
  auto const* resistance_lv = find(plan, "winding_resistance", 1);
  REQUIRE((resistance_hv && resistance_lv));
  CHECK(std::get<ResistanceWork>(resistance_hv->work).pairs.front().from == "H1");
  CHECK(std::get<ResistanceWork>(resistance_lv->work).pairs.front().to == "X3");
  // 1.35 kV on open H if half of 7.2 kV's flux goes in 10 ms.
  CHECK(resistance_hv->connection.worst_volts == Approx(1350.0).epsilon(0.01));

  auto const* no_load = find(plan, "no_load");
  REQUIRE(no_load);
  CHECK(no_load->connection.feed == Lists{{"X1", "X3"}});
  CHECK(no_load->connection.open == List{"H1", "H2"});
  CHECK(no_load->connection.worst_volts == Approx(7200.0));
  CHECK(state_of(no_load->connection, "X2 tank strap") == "on");

  auto const* load_loss = find(plan, "load_loss");
  REQUIRE(load_loss);
  CHECK(load_loss->connection.feed == Lists{{"H1", "H2"}});
  CHECK(load_loss->connection.short_bar == Lists{{"X1", "X3"}});
  // Z % of rated on H: 2.2 % of 7,200 V, with the step's margin.
  CHECK(std::get<LoadLossWork>(load_loss->work).expected.in(volts) == Approx(158.4));

  auto const* lv = find(plan, "applied", 0);
  auto const* hv = find(plan, "applied", 1);
  REQUIRE((lv && hv));
  CHECK(lv->connection.tie.front() == List{"X1", "X2", "X3"});
  CHECK(lv->connection.earth == List{"H1"});
  CHECK(state_of(lv->connection, "X2 tank strap") == "off");
  CHECK(hv->connection.tie.front() == List{"H1", "H2"});
  CHECK(hv->connection.worst_volts == Approx(34000.0));
  CHECK(hv->energy->ceiling / hv->energy->set == Approx(1.05));

  auto const* induced = find(plan, "induced");
  REQUIRE(induced);
  CHECK(live_volts(induced->connection, "H1") == Approx(14400.0));
  CHECK(std::get<InducedWork>(induced->work).level.in(volts) == Approx(480.0));
}

TEST_CASE("single-phase, one bushing: H1 to tank, no applied test on H, line-to-ground level on H1", "[plan]") {
  auto const plan = planned(one_bushing());
  REQUIRE(plan.testable());
  CHECK(find(plan, "ratio")->connection.feed == Lists{{"H1", "tank"}});
  CHECK(std::get<ResistanceWork>(find(plan, "winding_resistance")->work).pairs.front().to == "tank");
  auto const* no_load = find(plan, "no_load");
  CHECK(no_load->connection.open == List{"H1"});
  auto const* load_loss = find(plan, "load_loss");
  CHECK(load_loss->connection.feed == Lists{{"H1", "tank"}});
  auto const* applied = find(plan, "applied");
  REQUIRE(applied);
  CHECK(std::get<AppliedWork>(applied->work).winding == "lv");
  CHECK(applied->connection.earth == List{"H1"});
  CHECK(find(plan, "applied", 1) == nullptr);
  CHECK(left_out(plan, "applied").find("on the tank") != std::string::npos);
  // C57.12.38-2014 (extract read): 1000 V + 3.46 x 7,200 V = 25.9 kV, 864 V on a 240 V winding, at least 216 Hz.
  auto const* induced = find(plan, "induced");
  REQUIRE(induced);
  auto const& work = std::get<InducedWork>(induced->work);
  CHECK(work.case_name == "line_to_ground");
  CHECK(work.level.in(volts) == Approx(863.7).epsilon(1e-3));
  CHECK(live_volts(induced->connection, "H1") == Approx(25912.0).epsilon(1e-3));
  CHECK(work.frequency.in(hertz) >= 216.0 - 0.1);
}

TEST_CASE("polarity joins: adjacent by the lead placement, like-marked always H1-X1; X free of earth", "[plan]") {
  for (auto const placement : {LeadPlacement::additive, LeadPlacement::subtractive}) {
    auto unit = demo_unit();
    unit.lead_placement = placement;
    auto const plan = planned(unit);
    auto const* adjacent = find(plan, "polarity", 0);
    auto const* marked = find(plan, "polarity", 1);
    REQUIRE((adjacent && marked));
    bool const additive = placement == LeadPlacement::additive;
    CHECK(std::get<PolarityWork>(adjacent->work).tied == (additive ? "H1-X3" : "H1-X1"));
    CHECK(std::get<PolarityWork>(adjacent->work).read_to == (additive ? "X1" : "X3"));
    CHECK(std::get<PolarityWork>(marked->work).tied == "H1-X1");
    CHECK(std::get<PolarityWork>(marked->work).read_from == "H2");
    CHECK(std::get<PolarityWork>(marked->work).read_to == "X3");
    CHECK(state_of(adjacent->connection, "X2 tank strap") == "off");
    CHECK(adjacent->connection.earth.empty());
  }
}

TEST_CASE("Dyn1: pairs, resistances, feeds, shorts and earths of the table", "[plan]") {
  auto const plan = planned(dyn1());
  REQUIRE(plan.testable());
  List pairs;
  for (auto const& point : std::get<RatioWork>(find(plan, "phase_relation")->work).points) {
    pairs.push_back(point.hv_pair + ":" + point.lv_pair);
    CHECK(point.factor == Approx(std::sqrt(3.0)));
  }
  CHECK(pairs == List{"H1-H3:X1-X0", "H2-H1:X2-X0", "H3-H2:X3-X0"});
  List resistances;
  for (int which : {0, 1}) {
    for (auto const& pair : std::get<ResistanceWork>(find(plan, "winding_resistance", which)->work).pairs) {
      resistances.push_back(pair.from + "-" + pair.to);
    }
  }
  CHECK(resistances == List{"H1-H2", "H2-H3", "H3-H1", "X1-X0", "X2-X0", "X3-X0"});
  auto const* no_load = find(plan, "no_load");
  CHECK(no_load->connection.feed == Lists{{"X1", "X2", "X3", "X0"}});
  CHECK(no_load->connection.open == List{"H1", "H2", "H3"});
  CHECK(live_volts(no_load->connection, "H2") == Approx(12470.0));
  auto const* load_loss = find(plan, "load_loss");
  CHECK(load_loss->connection.feed == Lists{{"H1", "H2", "H3"}});
  CHECK(load_loss->connection.short_bar == Lists{{"X1", "X2", "X3"}});
  auto const* lv = find(plan, "applied", 0);
  CHECK(lv->connection.tie.front() == List{"X1", "X2", "X3", "X0"});
  CHECK(state_of(lv->connection, "X0 strap") == "off");
  auto const* hv = find(plan, "applied", 1);
  CHECK(hv->connection.tie.front() == List{"H1", "H2", "H3"});
  CHECK(state_of(find(plan, "induced")->connection, "X0 strap") == "on");
}

TEST_CASE("YNyn0 with its own H0: neutral pairs, H0 earthed when X is fed, H applied only if H0 is insulated",
          "[plan]") {
  auto const plan = planned(ynyn0_own());
  REQUIRE(plan.testable());
  auto const& points = std::get<RatioWork>(find(plan, "phase_relation")->work).points;
  CHECK(points.front().hv_pair == "H1-H0");
  CHECK(points.front().lv_pair == "X1-X0");
  auto const* no_load = find(plan, "no_load");
  CHECK(std::find(no_load->connection.earth.begin(), no_load->connection.earth.end(), "H0") !=
        no_load->connection.earth.end());
  CHECK(live_volts(no_load->connection, "H1") == Approx(12470.0 / std::sqrt(3.0)));
  CHECK(left_out(plan, "applied").find("neutral is not insulated") != std::string::npos);
  auto insulated = ynyn0_own();
  insulated.hv.applied_kv = 34;
  insulated.neutral_insulation_kv = 34;
  auto const lifted = planned(insulated);
  auto const* hv = find(lifted, "applied", 1);
  REQUIRE(hv);
  CHECK(hv->connection.tie.front() == List{"H1", "H2", "H3", "H0"});
}

TEST_CASE("YNyn0 with a joined neutral: no jumper, no applied test, no insulation resistance between windings",
          "[plan]") {
  auto unit = ynyn0_joined();
  unit.options.insulation_resistance = true;
  auto const plan = planned(unit);
  REQUIRE(plan.testable());
  auto const* phase = find(plan, "phase_relation");
  CHECK(phase->connection.tie.empty());
  CHECK(std::get<RatioWork>(phase->work).points.front().hv_pair == "H1-H0X0");
  CHECK(find(plan, "applied") == nullptr);
  CHECK(find(plan, "insulation_resistance") == nullptr);
  CHECK(left_out(plan, "insulation_resistance").find("joined") != std::string::npos);
  auto const* induced = find(plan, "induced");
  CHECK(std::get<InducedWork>(induced->work).case_name == "line_to_ground");
  CHECK(std::get<ResistanceWork>(find(plan, "winding_resistance", 1)->work).pairs.front().to == "H0X0");
}

TEST_CASE("Yd1 without neutral needs a short, Dd and Yyn and Yzn their own pairs", "[plan]") {
  auto yd = three_phase("Yd1");
  yd.hv_neutral = NeutralKind::inner;
  auto const yd_plan = planned(yd);
  auto const& first = std::get<RatioWork>(find(yd_plan, "phase_relation")->work).points.front();
  CHECK(first.hv_pair == "H1-H2");
  CHECK(first.lv_pair == "X1-X2");
  REQUIRE(first.shorted);
  CHECK(*first.shorted == "X3-X1");
  CHECK(first.factor == Approx(2.0 / std::sqrt(3.0)));

  auto const dd_plan = planned(three_phase("Dd0"));
  CHECK(std::get<RatioWork>(find(dd_plan, "phase_relation")->work).points.size() == 3);
  List lv;
  for (auto const& pair : std::get<ResistanceWork>(find(dd_plan, "winding_resistance", 1)->work).pairs) {
    lv.push_back(pair.from + "-" + pair.to);
  }
  CHECK(lv == List{"X1-X2", "X2-X3", "X3-X1"});

  auto yz = three_phase("Yzn5");
  yz.hv_neutral = NeutralKind::inner;
  yz.lv_neutral = NeutralKind::own_bushing;
  yz.bushings.push_back({"X0", "stud", false});
  CHECK(std::get<RatioWork>(find(planned(yz), "phase_relation")->work).points.front().factor == Approx(std::sqrt(3.0)));

  auto yy = three_phase("Yyn0");
  yy.hv_neutral = NeutralKind::inner;
  yy.lv_neutral = NeutralKind::own_bushing;
  yy.bushings.push_back({"X0", "stud", false});
  auto const yy_plan = planned(yy);
  CHECK(yy_plan.testable());
  CHECK(find(yy_plan, "applied", 1) != nullptr);
}

TEST_CASE("the hard order holds for every family, and no test is both planned and silently missing", "[plan]") {
  for (auto const& unit : {demo_unit(), one_bushing(), dyn1(), ynyn0_own(), ynyn0_joined(), three_phase("Dd0")}) {
    auto const plan = planned(unit);
    INFO(unit.vector_group);
    CHECK(plan.steps.front().test == "identity");
    CHECK(plan.steps.back().test == "as_shipped");
    int const ratio = place(plan, "ratio"), resistance = place(plan, "winding_resistance");
    CHECK(ratio < resistance);
    for (char const* heats : {"no_load", "load_loss", "induced"}) CHECK(resistance < place(plan, heats));
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
      if (plan.steps[i].test == "applied") CHECK(static_cast<int>(i) < place(plan, "induced"));
      CHECK_FALSE(plan.steps[i].reason.empty());
      CHECK(plan.steps[i].predicted.in(seconds) > 0.0);
      if (!plan.steps[i].energy) continue;
      auto const& energy = *plan.steps[i].energy;
      CHECK(energy.longest.in(seconds) > 0.0);
      CHECK(energy.live_terminals != 0);
      CHECK((energy.live_terminals & energy.earthed_terminals) == 0);
      bool const dielectric = plan.steps[i].test == "applied" || plan.steps[i].test == "induced";
      CHECK(energy.failure_is_the_units == (dielectric || plan.steps[i].test == "no_load"));
    }
    for (char const* test : {"ratio", "polarity", "phase_relation", "insulation_resistance", "winding_resistance",
                             "demagnetise", "no_load", "load_loss", "applied", "induced"}) {
      INFO(test);
      CHECK((place(plan, test) >= 0 || !left_out(plan, test).empty()));
    }
  }
}

TEST_CASE("impulse from another station comes before applied; hand checks before as shipped", "[plan]") {
  auto unit = demo_unit();
  unit.options.elsewhere = {"impulse", "sound level"};
  auto const plan = planned(unit);
  int impulse = -1, sound = -1;
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    auto const* work = std::get_if<ElsewhereWork>(&plan.steps[i].work);
    if (work != nullptr && work->item == "impulse") impulse = static_cast<int>(i);
    if (work != nullptr && work->item == "sound level") sound = static_cast<int>(i);
  }
  REQUIRE(impulse >= 0);
  CHECK(impulse < place(plan, "applied"));
  CHECK(sound > place(plan, "induced"));
  CHECK(place(plan, "hand_check") < place(plan, "as_shipped"));
}

TEST_CASE("a stage has its own tests; an unknown one is refused by name", "[plan]") {
  auto unit = demo_unit();
  unit.options.stages = {"before_closing", "before_shipping"};
  auto const closing = planned(unit, demo_bench(), "before_closing");
  CHECK(find(closing, "ratio"));
  CHECK(find(closing, "induced") == nullptr);
  CHECK_FALSE(left_out(closing, "induced").empty());
  CHECK(place(planned(unit, demo_bench(), "before_shipping"), "as_shipped") > 0);
  try {
    planned(unit, demo_bench(), "after_lunch");
    FAIL("taken");
  } catch (DocumentError const& error) {
    CHECK(error.id() == "plan.stage");
    CHECK(std::string(error.what()).find("before_shipping") != std::string::npos);
  }
}

TEST_CASE("a bench that cannot test a unit says why: kVA, hertz, volts, amperes, roles", "[plan]") {
  auto const unit = demo_unit();
  auto const with = [&](std::function<void(Bench&)> const& change) {
    auto bench = demo_bench();
    change(bench);
    return planned(unit, bench).why_not;
  };
  CHECK(with([](Bench&) {}).empty());
  CHECK(mentions(with([](Bench& b) { b.envelope.rated_power = kilovolt_amperes(25); }), "kVA"));
  CHECK(mentions(with([](Bench& b) { b.envelope.phases = {3}; }), "single"));
  CHECK(mentions(with([](Bench& b) { b.envelope.lowest = hertz(70); }), "Hz"));
  CHECK(mentions(with([](Bench& b) { b.envelope.highest = hertz(100); }), "induced"));
  CHECK(mentions(with([](Bench& b) { b.envelope.source = volts(300); }), "induced: needs 480 V"));
  CHECK(mentions(with([](Bench& b) { b.envelope.dielectric = kilovolts(28); }), "applied: needs 34 kV"));
  CHECK(mentions(with([](Bench& b) { b.envelope.dielectric_current = milliamperes(5); }), "applied"));
  CHECK(mentions(with([](Bench& b) { b.envelope.terminal = kilovolts(10); }), "at a terminal"));
  CHECK(mentions(with([](Bench& b) { b.envelope.source_current = amperes(3); }), "load_loss"));
  CHECK(mentions(with([](Bench& b) {
                   b.instruments.erase(std::remove_if(b.instruments.begin(), b.instruments.end(),
                                                      [](auto const& i) { return i.role == "dielectric_tester"; }),
                                       b.instruments.end());
                 }),
                 "dielectric_tester"));
}

TEST_CASE("a source too small for rated current measures load loss at what it has, down to half", "[plan]") {
  auto bench = demo_bench();
  bench.envelope.source_current = amperes(5);  // rated is 6.94 A
  auto const plan = planned(demo_unit(), bench);
  REQUIRE(plan.testable());
  auto const& work = std::get<LoadLossWork>(find(plan, "load_loss")->work);
  CHECK(work.set.in(amperes) == Approx(5.0));
  CHECK(work.on_time.in(seconds) > 20.0);  // it heats less
}

TEST_CASE("no-load and induced share one connection, and the fewest changes of leads are planned", "[plan]") {
  auto const plan = planned(demo_unit());
  auto const* no_load = find(plan, "no_load");
  auto const* induced = find(plan, "induced");
  CHECK(same_leads(no_load->connection, induced->connection));
  CHECK(no_load->keeps_area);
  // ratio, two polarity joins, resistance, load loss, two applied, low side fed, as shipped.
  CHECK(plan.connection_changes() == 9);
  auto twice = demo_unit();
  twice.options.no_load_after_dielectric = true;
  auto const again = planned(twice);
  CHECK(find(again, "no_load", 1) != nullptr);
  CHECK(again.connection_changes() == 9);
}

TEST_CASE("capacitive current of the applied test: 5 nF, 34 kV, 60 Hz: 64 mA", "[plan]") {
  // Worked value of the project's practice paper (derived): 64 mA, 2.2 kVA.
  auto unit = dyn1();
  unit.hv.capacitance_to_earth = nanofarads(5);
  auto const plan = planned(unit);
  auto const& work = std::get<AppliedWork>(find(plan, "applied", 1)->work);
  REQUIRE(work.expected);
  CHECK(work.expected->in(milliamperes) == Approx(64.0).epsilon(0.01));
}
