// SPDX-License-Identifier: MIT
/// Every family of units that the factory builds, as circuits: where its terminals are and that its volts, losses and
/// resistances come out. Expected relations are common practice, no source.

#include <catch2/catch.hpp>

#include <filesystem>

#include "example_units.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;

TEST_CASE("a single-phase unit with one high-voltage bushing has its other end on the tank", "[sim][unit][family]") {
  Unit u = single_phase();
  u.hv_neutral = NeutralKind::on_tank;
  UnitModel m(u, {1, true});
  m.soak(20.0);
  CHECK(m.terminal("H2") == earth);
  CHECK(m.hv_terminals() == std::vector<std::string>{"H1"});
  AcSolution const& s = m.solve_ac(feed_lv(m, 240.0));
  CHECK(s.node[static_cast<std::size_t>(m.terminal("H1"))].rms() == Approx(7200.0).epsilon(2e-3));
  CHECK(total_watts(s) == Approx(66.0).epsilon(3e-3));
  CHECK(100.0 * mean_amperes(s) / (25e3 / 240.0) == Approx(0.6).epsilon(8e-3));
}

TEST_CASE("a joined neutral is one bushing under three names", "[sim][unit][family]") {
  Unit u = three_phase("YNyn0", CoreForm::five_limb);
  u.hv_neutral = u.lv_neutral = NeutralKind::joined;
  u.bushings = {{"H0X0", "spade", false}};
  UnitModel m(u, {1, true});
  CHECK(m.terminal("H0") == m.terminal("X0"));
  CHECK(m.terminal("H0X0") == m.terminal("X0"));
  Network n = feed_lv(m, 480.0);
  AcSolution const& s = m.solve_ac(n);
  CHECK(s.node[static_cast<std::size_t>(m.terminal("H1"))].rms() == Approx(12470.0 / root_three).epsilon(5e-3));
  CHECK(total_watts(s) == Approx(830.0).epsilon(5e-3));
}

TEST_CASE("loop feed bushings of a phase are one point", "[sim][unit][family]") {
  UnitModel m(three_phase("Dyn1"), {1, true});
  CHECK(m.terminal("H1A") == m.terminal("H1"));
  CHECK(m.terminal("H3B") == m.terminal("H3"));
  CHECK_THROWS_WITH(m.terminal("H4"), Catch::Contains("H4") && Catch::Contains("H1, H2, H3"));
}

TEST_CASE("two sections run in series or in parallel", "[sim][unit][family]") {
  Unit u = single_phase();
  u.lv_form = LowVoltageForm::series_parallel;
  UnitModel m(u, {1, true});
  CHECK(std::abs(ratio(m, "H1", "H2", "X1", "X2", 80.0)) == Approx(60.0).epsilon(2e-3));
  CHECK(std::abs(ratio(m, "H1", "H2", "X3", "X4", 80.0)) == Approx(60.0).epsilon(2e-3));
  CHECK(*m.true_value("resistance_ohm X1-X2") == Approx(*m.true_value("resistance_ohm X3-X4")));
  CHECK_FALSE(m.true_value("resistance_ohm X1-X4"));  // nothing joins the sections inside
  m.soak(20.0);
  Network series = m.network();
  series.tie(m.terminal("X2"), m.terminal("X3"));
  series.add(NetworkEmf{m.terminal("X4"), m.terminal("X1"), 240.0, 1e-6, 0.0});
  series.tie(m.terminal("X2"), earth);
  CHECK(total_watts(m.solve_ac(series)) == Approx(66.0).epsilon(3e-3));
  Network parallel = m.network();
  parallel.tie(m.terminal("X1"), m.terminal("X3"));
  parallel.tie(m.terminal("X2"), m.terminal("X4"));
  parallel.add(NetworkEmf{m.terminal("X2"), m.terminal("X1"), 120.0, 1e-6, 0.0});
  parallel.tie(m.terminal("X2"), earth);
  CHECK(total_watts(m.solve_ac(parallel)) == Approx(66.0).epsilon(3e-3));
}

TEST_CASE("a delta with a tapped leg halves that leg", "[sim][unit][family]") {
  Unit u = three_phase("Dd0", CoreForm::three_limb, 150.0, 12470.0, 240.0);
  u.guarantees = {};
  u.lv_form = LowVoltageForm::mid_tapped_leg;
  UnitModel m(u, {1, true});
  AcSolution const& s = m.solve_ac(feed_lv(m, 240.0));
  Wave const a = s.between(m.terminal("X1"), m.terminal("X4")), b = s.between(m.terminal("X4"), m.terminal("X3"));
  CHECK(a.rms() == Approx(120.0).epsilon(2e-3));
  CHECK(b.rms() == Approx(120.0).epsilon(2e-3));
  CHECK(s.between(m.terminal("X2"), m.terminal("X4")).rms() == Approx(208.0).epsilon(3e-3));
  m.set_fault("center-tap-off", 1.0);
  AcSolution const& off = m.solve_ac(feed_lv(m, 240.0));
  CHECK(off.between(m.terminal("X1"), m.terminal("X4")).rms() >
        1.01 * off.between(m.terminal("X4"), m.terminal("X3")).rms());
}

TEST_CASE("a dual-voltage winding follows its outside switch", "[sim][unit][family]") {
  Unit u = single_phase(50.0, 14400.0, 240.0);
  u.guarantees = {};
  u.hv.dual = DualVoltage{volts(14400.0), volts(7200.0), 1};
  u.switches = {{"dual voltage switch", "", "1"}};
  UnitModel m(u, {1, true});
  double const high = std::abs(ratio(m, "H1", "H2", "X1", "X3", 80.0));
  double const ohm = *m.true_value("resistance_ohm H1-H2");
  m.set_accessory("dual voltage switch", "2");
  CHECK(std::abs(ratio(m, "H1", "H2", "X1", "X3", 80.0)) == Approx(high / 2.0).epsilon(2e-3));
  // Two sections in parallel instead of in series: a quarter of the resistance, and the switch's own contacts as
  // before.
  CHECK(*m.true_value("resistance_ohm H1-H2") == Approx(ohm / 4.0).epsilon(0.02));
  CHECK_THROWS_AS(m.set_dual_voltage(3), std::invalid_argument);
}

TEST_CASE("an arrester left on conducts under induced volts, and does not at rated", "[sim][unit][family]") {
  Unit u = single_phase();
  u.arresters = {{"arrester H1", "H1", "on"}};
  UnitModel m(u, {1, true});
  Network n = feed_lv(m, 240.0, 0.05, 5e-5);
  n.tie(m.terminal("H2"), earth);
  double const usual = m.solve_ac(n).emf_current[0].rms();
  CHECK(usual < 1.0);
  n.frequency_hz = 400.0;
  scale_sources(n, 3.6);
  double const burdened = m.solve_ac(n).emf_current[0].rms();
  m.set_accessory("arrester H1", "off");
  CHECK(m.solve_ac(n).emf_current[0].rms() < 0.1 * burdened);
}

TEST_CASE("units of every size, metal, frequency and core solve without guarantees", "[sim][unit][family]") {
  double const kva = GENERATE(5.0, 10.0, 50.0, 167.0, 833.0);
  double const hertz_now = GENERATE(50.0, 60.0);
  CAPTURE(kva, hertz_now);
  Unit u = single_phase(kva);
  u.guarantees = {};
  u.rated_frequency = hertz(hertz_now);
  u.lv.metal = Metal::aluminum;
  UnitModel m(u, {3, false});
  AcSolution const& s = m.solve_ac(feed_lv(m, 240.0));
  CHECK(s.converged);
  CHECK(total_watts(s) > 0.0);
  for (double three : {45.0, 300.0, 2500.0, 5000.0})
    for (CoreForm form : {CoreForm::three_limb, CoreForm::five_limb, CoreForm::shell, CoreForm::three_single_cores})
      for (std::string const group : {"Dyn1", "YNyn0", "Yzn5"}) {
        CAPTURE(three, group);
        Unit t = three_phase(group, form, three);
        t.guarantees = {};
        t.hv.metal = Metal::aluminum;
        t.rated_frequency = hertz(hertz_now);
        UnitModel big(t, {4, false});
        AcSolution const& b = big.solve_ac(feed_lv(big, 480.0));
        CHECK(b.converged);
        CHECK(total_watts(b) == Approx(*big.true_value("no_load_loss_w")).epsilon(0.01));
      }
}

TEST_CASE("every demo unit document becomes a unit that keeps its guarantees", "[sim][unit][family]") {
  int count = 0;
  for (auto const& entry : std::filesystem::directory_iterator(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units")) {
    if (entry.path().extension() != ".json") continue;
    CAPTURE(entry.path().filename().string());
    Unit const u = read_unit(entry.path().string());
    for (std::uint64_t seed = 1; seed <= 5; ++seed) {
      UnitModel m(u, {seed, false});
      if (u.guarantees.no_load_loss)
        CHECK(*m.true_value("no_load_loss_w") < 1.01 * u.guarantees.no_load_loss->in(watts));
      if (u.guarantees.load_loss) CHECK(*m.true_value("load_loss_w") < 1.01 * u.guarantees.load_loss->in(watts));
      if (u.guarantees.exciting_current_percent)
        CHECK(*m.true_value("exciting_current_percent") < 1.01 * *u.guarantees.exciting_current_percent);
    }
    ++count;
  }
  CHECK(count >= 2);
}
