// SPDX-License-Identifier: MIT
/// What each defect does to the quantities that the routine tests measure. The expected signs and sizes are common
/// practice (fault signatures of the trade), worked out in the test where a number stands.

#include <catch2/catch.hpp>

#include "example_units.hpp"
#include "sim/unit/internals.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;

namespace {

struct Figures {
  double no_load_w, exciting_percent, load_w, impedance_percent, ratio, hv_ohm;
};

Figures measure(UnitModel& m) {
  Figures f{};
  Unit const& u = m.unit();
  m.soak(20.0);
  AcSolution const no_load = m.solve_ac(feed_lv(m, u.lv.rated.in(volts)));
  f.no_load_w = total_watts(no_load);
  f.exciting_percent = 100.0 * mean_amperes(no_load) / u.rated_line_current(u.lv).in(amperes);
  Network n = feed_hv(m, u.hv.rated.in(volts)*0.02);
  short_lv(m, n);
  AcSolution load = m.solve_ac(n);
  scale_sources(n, u.rated_line_current(u.hv).in(amperes) / mean_amperes(load));
  load = m.solve_ac(n);
  f.load_w = total_watts(load);
  f.impedance_percent = 100.0 * std::abs(n.emfs[0].volts) * (u.phases == 3 ? root_three : 1.0) / u.hv.rated.in(volts);
  f.ratio = u.phases == 3 ? std::abs(ratio(m, "H2", "H1", "X2", "X0", 80.0))
                          : std::abs(ratio(m, "H1", "H2", "X1", "X3", 80.0));
  f.hv_ohm = u.phases == 3 ? *m.true_value("resistance_ohm H1-H2") : *m.true_value("resistance_ohm H1-H2");
  return f;
}

Figures healthy_three() {
  UnitModel m(three_phase("Dyn1"), {1, true});
  return measure(m);
}

Figures with_fault(std::string const& name, std::optional<double> value = std::nullopt) {
  UnitModel m(three_phase("Dyn1"), {1, true});
  m.set_fault(name, value);
  return measure(m);
}

}  // namespace

TEST_CASE("one bolted turn of 1,600 on 25 kVA carries some 750 A and costs some 3.4 kW", "[sim][unit][defect]") {
  Unit u = single_phase();
  u.hv.turns = 1620;  // 30 times 54, the nearest whole design to 1,600
  u.lv.turns = 54;
  UnitModel m(u, {1, true});
  m.soak(20.0);
  m.set_fault("shorted-turn");
  AcSolution const& s = m.solve_ac(feed_lv(m, 240.0));
  REQUIRE(s.converged);
  auto const& coils = m.internals().circuit.coils;
  double turn_amperes = 0.0;
  for (std::size_t k = 0; k < coils.size(); ++k)
    if (!coils[k].winding) turn_amperes = m.internals().ac.coil_current()[k].rms();
  CHECK(turn_amperes == Approx(750.0).epsilon(0.05));
  CHECK(s.emf_watts[0] == Approx(3400.0).epsilon(0.06));
  // Fed low, the ratio is nearly right: half a promille, inside 0.5 %.
  CHECK(std::abs(ratio(m, "H1", "H2", "X1", "X3", 8.0)) / 30.0 == Approx(1.0).margin(4e-3));
  m.clear_fault("shorted-turn");
  CHECK(m.solve_ac(feed_lv(m, 240.0)).emf_watts[0] == Approx(66.0).epsilon(2e-3));
}

TEST_CASE("each defect moves its own quantities and leaves the others", "[sim][unit][defect]") {
  Figures const ok = healthy_three();
  double const turn = 1.0 / 1035.0;  // of the high-voltage coil
  SECTION("a missing high-voltage turn: ratio by one turn, resistance hardly") {
    Figures const f = with_fault("hv-turns-error", -1.0);
    CHECK(f.ratio / ok.ratio == Approx(1.0 - turn).margin(2e-4));
    CHECK(f.no_load_w == Approx(ok.no_load_w).epsilon(2e-2));
  }
  SECTION("a missing low-voltage turn: ratio by a twenty-third") {
    Figures const f = with_fault("lv-turns-error", -1.0);
    CHECK(f.ratio / ok.ratio == Approx(23.0 / 22.0).epsilon(2e-3));
    CHECK(f.no_load_w > ok.no_load_w * 1.005);
  }
  SECTION("wrong conductor and poor joint: resistance and load loss, nothing else") {
    Figures const wire = with_fault("wrong-conductor", 8.0);
    CHECK(wire.hv_ohm == Approx(1.08 * ok.hv_ohm));
    CHECK(wire.load_w > ok.load_w * 1.03);
    CHECK(wire.no_load_w == Approx(ok.no_load_w).epsilon(1e-3));
    Figures const joint = with_fault("poor-joint", 20.0);
    CHECK(joint.hv_ohm > 1.05 * ok.hv_ohm);
    CHECK(joint.ratio == Approx(ok.ratio).epsilon(1e-3));
  }
  SECTION("core: burrs and second earth raise the loss, a gap the current") {
    Figures const burrs = with_fault("core-burrs", 25.0), gap = with_fault("core-gap", 150.0),
                  second = with_fault("core-double-earth", 30.0);
    CHECK(burrs.no_load_w / ok.no_load_w == Approx(1.25).epsilon(5e-3));
    CHECK(second.no_load_w / ok.no_load_w == Approx(1.30).epsilon(5e-3));
    CHECK(gap.no_load_w == Approx(ok.no_load_w).epsilon(5e-3));
    CHECK(gap.exciting_percent > 1.8 * ok.exciting_percent);
    CHECK(gap.load_w == Approx(ok.load_w).epsilon(2e-3));
  }
  SECTION("leakage gap: impedance only; stray: load loss only") {
    Figures const wide = with_fault("leakage-gap", 15.0), stray = with_fault("stray-high", 300.0);
    CHECK(wide.impedance_percent / ok.impedance_percent == Approx(1.15).epsilon(2e-3));
    CHECK(wide.load_w == Approx(ok.load_w).epsilon(2e-3));
    CHECK(stray.load_w > 1.15 * ok.load_w);
    CHECK(stray.hv_ohm == Approx(ok.hv_ohm));
  }
  SECTION("a wrong tap step is one phase, one step") {
    UnitModel m(three_phase("Dyn1"), {1, true});
    m.set_fault("tap-step-wrong");
    double const nominal = 1035.0 / 23.0;
    CHECK(std::abs(ratio(m, "H1", "H3", "X1", "X0", 80.0)) == Approx(nominal).epsilon(1e-3));
    CHECK(std::abs(ratio(m, "H2", "H1", "X2", "X0", 80.0)) == Approx(nominal * 0.975).epsilon(1.5e-3));
    m.set_tap(4);
    CHECK(std::abs(ratio(m, "H2", "H1", "X2", "X0", 80.0)) == Approx(nominal).epsilon(1.5e-3));
  }
  SECTION("an open winding gives no reading") {
    UnitModel m(three_phase("YNyn0"), {1, true});
    m.set_fault("open-winding");
    Network n = m.network();
    n.add(NetworkCurrentSource{m.terminal("H0"), m.terminal("H2"), 1.0, 30.0, 1.0});
    n.tie(m.terminal("H0"), earth);
    DcSolution const& s = m.step_dc(n, 0.01);
    CHECK(s.current_source_limited[0]);
    CHECK(s.current_source_amperes[0] < 1e-3);
  }
  SECTION("reversed coil, wrong group, swapped leads change the angle") {
    UnitModel wrong(three_phase("Dyn1"), {1, true});
    wrong.set_fault("wrong-vector-group");
    CHECK(std::abs(std::arg(ratio(wrong, "H1", "H3", "X1", "X0", 80.0))) == Approx(pi).margin(0.01));
    UnitModel reversed(three_phase("Dyn1"), {1, true});
    reversed.set_fault("reversed-coil");
    CHECK(std::abs(std::arg(ratio(reversed, "H2", "H1", "X2", "X0", 80.0))) == Approx(pi).margin(0.01));
    CHECK(std::abs(std::arg(ratio(reversed, "H1", "H3", "X1", "X0", 80.0))) < 0.01);
    UnitModel halves(single_phase(), {1, true});
    halves.set_fault("reversed-coil");
    CHECK(std::abs(ratio(halves, "H1", "H2", "X1", "X3", 80.0)) > 1e3);  // the halves cancel
    UnitModel swapped(single_phase(), {1, true});
    swapped.set_fault("lead-swap");
    CHECK(std::abs(std::arg(ratio(swapped, "H1", "H2", "X1", "X3", 80.0))) == Approx(pi).margin(0.01));
  }
}

TEST_CASE("a reversed coil in a closed delta draws enormous current", "[sim][unit][defect]") {
  UnitModel m(three_phase("YNd1"), {1, true});
  m.set_fault("reversed-coil");
  Network n = feed_hv(m, 1247.0, 1.0, 0.01);
  AcSolution const& s = m.solve_ac(n);
  // A third of rated current at a tenth of the volts: no supply would get far.
  CHECK(s.emf_current[0].rms() > 0.3 * 500e3 / (root_three * 12470.0));
}

TEST_CASE("a fault that does not fit the unit, or a name or value out of range, is refused in words",
          "[sim][unit][defect]") {
  UnitModel m(single_phase(), {1, true});
  CHECK_THROWS_WITH(m.set_fault("shorted-tern"), Catch::Contains("shorted-tern"));
  CHECK_THROWS_WITH(m.set_fault("core-burrs", 1e6), Catch::Contains("outside"));
  CHECK_THROWS_WITH(m.set_fault("tap-step-wrong"), Catch::Contains("no taps"));
  UnitModel three(three_phase("Dyn1"), {1, true});
  CHECK_THROWS_WITH(three.set_fault("center-tap-off"), Catch::Contains("no middle"));
}

TEST_CASE("every listed fault can be set and cleared, and a cleared unit is healthy again", "[sim][unit][defect]") {
  UnitModel m(single_phase(), {1, true});
  Figures const before = measure(m);
  for (UnitFaultKind const& kind : unit_fault_list()) {
    CAPTURE(kind.name);
    CHECK(!kind.effect.empty());
    if (kind.name == "tap-step-wrong") continue;  // this unit has no taps
    m.set_fault(kind.name);
    m.clear_fault(kind.name);
  }
  m.set_remanence({0.0, 0.0, 0.0});
  Figures const after = measure(m);
  CHECK(after.no_load_w == Approx(before.no_load_w).epsilon(1e-6));
  CHECK(after.load_w == Approx(before.load_w).epsilon(1e-6));
  CHECK(after.ratio == Approx(before.ratio).epsilon(1e-6));
}

TEST_CASE("straps, fuses, breaker and switches stand in the circuit", "[sim][unit][accessories]") {
  Unit u = single_phase();
  u.straps = {{"X2 strap", "X2", "on"}};
  u.fuses = {{"link H1", "H1", "fitted"}};
  u.breaker = Accessory{"secondary breaker", "", "closed"};
  UnitModel m(u, {1, true});
  // The strap earths X2: with it off the low-voltage winding floats.
  m.set_accessory("X2 strap", "off");
  Network n = m.network();
  n.add(NetworkEmf{m.terminal("H2"), m.terminal("H1"), 80.0, 1e-3, 0.0});
  n.tie(m.terminal("H2"), earth);
  m.solve_ac(n);
  double const halves = std::abs(ratio(m, "H1", "H2", "X1", "X3", 80.0));
  CHECK(halves == Approx(30.0).epsilon(1e-3));
  m.set_accessory("breaker", "open");
  CHECK(std::abs(ratio(m, "H1", "H2", "X1", "X3", 80.0)) > 100.0);
  m.set_accessory("secondary breaker", "closed");
  m.set_accessory("link H1", "blown");
  AcSolution const& s = m.solve_ac(n);
  CHECK(s.emf_current[0].rms() < 1e-6);
  CHECK_THROWS_WITH(m.set_accessory("X4 strap", "on"), Catch::Contains("X2 strap"));
}

TEST_CASE("data that cannot be one transformer are refused with the conflict and its size", "[sim][unit][design]") {
  Unit u = single_phase();
  u.guarantees.impedance_percent = 1.0;
  CHECK_THROWS_WITH(UnitModel(u), Catch::Contains("impedance") && Catch::Contains("1.14"));
  u = single_phase();
  u.hv.turns = 1700;
  u.lv.turns = 54;
  CHECK_THROWS_WITH(UnitModel(u), Catch::Contains("1700") && Catch::Contains("1620"));
  u = single_phase();
  u.guarantees.exciting_current_percent = 0.2;
  CHECK_THROWS_WITH(UnitModel(u, {1, true}), Catch::Contains("exciting current"));
  u = single_phase();
  u.guarantees.total_loss = watts(60.0);
  CHECK_THROWS_WITH(UnitModel(u), Catch::Contains("total loss"));
  u = single_phase();
  u.vector_group = "Dyn1";
  CHECK_THROWS_AS(UnitModel(u), UnsolvableUnit);
  u = three_phase("Dyn2");
  CHECK_THROWS_WITH(UnitModel(u), Catch::Contains("clock"));
}

TEST_CASE("factory units pass their guarantees: losses a little below, impedance close", "[sim][unit][design]") {
  int over = 0;
  double sum = 0.0;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    UnitModel m(three_phase("Dyn1"), {seed, false});
    double const p0 = *m.true_value("no_load_loss_w") / 830.0, pk = *m.true_value("load_loss_w") / 3600.0,
                 z = *m.true_value("impedance_percent") / 5.0, i0 = *m.true_value("exciting_current_percent") / 0.6;
    if (p0 > 1.005 || pk > 1.005 || std::abs(z - 1.0) > 0.05 || i0 > 1.0) ++over;
    sum += p0;
  }
  CHECK(over == 0);
  CHECK(sum / 200.0 == Approx(0.96).margin(0.006));
}

TEST_CASE("the same seed makes the same unit, another seed another", "[sim][unit][design]") {
  UnitModel a(three_phase("Dyn1"), {5, false}), b(three_phase("Dyn1"), {5, false}), c(three_phase("Dyn1"), {6, false});
  CHECK(*a.true_value("load_loss_w") == *b.true_value("load_loss_w"));
  CHECK(*a.true_value("load_loss_w") != *c.true_value("load_loss_w"));
}
