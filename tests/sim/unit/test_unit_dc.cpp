// SPDX-License-Identifier: MIT
/// Direct current through the unit model against closed forms (common practice, no source, unless named).

#include <catch2/catch.hpp>

#include "example_units.hpp"
#include "sim/unit/internals.hpp"
#include "tests/sim/agreement.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;
using benchward::sim::testing::apart;

namespace {

Network direct(UnitModel const& m, std::string const& plus, std::string const& minus, double amperes, double limit) {
  Network n = m.network();
  n.add(NetworkCurrentSource{m.terminal(minus), m.terminal(plus), amperes, limit, 1.0});
  n.tie(m.terminal(minus), earth);
  return n;
}

}  // namespace

TEST_CASE("a settled direct current reads the winding's resistance at its temperature", "[sim][unit][dc]") {
  UnitModel m(three_phase("Dyn1"), {1, true});
  m.soak(31.0);
  Network n = direct(m, "X1", "X0", 10.0, 20.0);
  for (int k = 0; k < 3000; ++k) m.step_dc(n, 0.01);
  DcSolution const& s = m.step_dc(n, 0.01);
  double const reading = s.between(m.terminal("X1"), m.terminal("X0")) / s.current_source_amperes[0];
  // Copper: (234.5 + 31) / (234.5 + 20).
  double const expected = *m.true_value("resistance_ohm X1-X0") * (234.5 + m.temperatures().lv_c) / (234.5 + 20.0);
  CHECK(apart("settled direct current", "Dyn1", "resistance X1-X0 at 31 degC", reading, expected,
              "copper's temperature law, 10 CFR 431 appendix A") < 2e-5);
}

TEST_CASE("line resistances of wye, delta and taps are what their coils make of them", "[sim][unit][dc]") {
  UnitModel m(three_phase("Dyn1"), {7, false});
  Design const& d = m.internals().design;
  double const a = d.hv_ohm_20 * d.hv_ohm_spread[0], b = d.hv_ohm_20 * d.hv_ohm_spread[1],
               c = d.hv_ohm_20 * d.hv_ohm_spread[2];
  // Coil of limb 1 stands between H1 and H3, of limb 2 between H2 and H1, of limb 3 between H3 and H2.
  CHECK(*m.true_value("resistance_ohm H1-H3") == Approx(a * (b + c) / (a + b + c)));
  CHECK(*m.true_value("resistance_ohm H1-H2") == Approx(b * (a + c) / (a + b + c)));
  double const x1 = *m.true_value("resistance_ohm X1-X0"), x2 = *m.true_value("resistance_ohm X2-X0");
  CHECK(*m.true_value("resistance_ohm X1-X2") == Approx(x1 + x2));
  m.set_tap(1);
  CHECK(*m.true_value("resistance_ohm H1-H3") == Approx(1.05 * a * (b + c) / (a + b + c)).epsilon(2e-3));
}

TEST_CASE("below saturation the current rises as a coil of one inductance charges", "[sim][unit][dc]") {
  UnitModel m(single_phase(), {1, true});
  m.soak(20.0);
  // Leakage path: the other winding short-circuited, so the core hardly counts: L = leakage, R = both resistances.
  Network n = m.network();
  n.add(NetworkEmf{m.terminal("H2"), m.terminal("H1"), 1.0, 1e-6, 0.0});
  short_lv(m, n);
  Design const& d = m.internals().design;
  double const a = 30.0 * 30.0;
  double const ohm = d.hv_ohm_20 + a * 2.0 * d.lv_part_ohm_20 + a * 1e-7;
  double const henry = d.hv_leakage_h + a * 2.0 * d.lv_part_leakage_h;
  double time = 0.0;
  for (int k = 0; k < 1000; ++k) {
    DcSolution const& s = m.step_dc(n, 4e-6);
    time += 4e-6;
    if (k % 200 == 199)
      CHECK(apart("direct current charging, other side shorted", "Ii0", "current, V/R (1 - exp(-tR/L))",
                  s.emf_amperes[0], 1.0 / ohm * (1.0 - std::exp(-time * ohm / henry)), "closed form") < 1e-3);
  }
}

TEST_CASE("a current source at its volts limit magnetises the core by volt-seconds", "[sim][unit][dc]") {
  UnitModel m(single_phase(), {1, true});
  Network n = direct(m, "H1", "H2", 0.4, 50.0);
  double const rated_linkage = 7200.0 * std::sqrt(2.0) / (2.0 * pi * 60.0);  // volt-seconds at the crest of rated flux
  double linkage = 0.0;
  for (int k = 0; k < 20; ++k) {
    DcSolution const& s = m.step_dc(n, 0.01);
    REQUIRE(s.current_source_limited[0]);
    linkage += 0.01 * (s.between(m.terminal("H1"), m.terminal("H2")) - 9.45 * s.current_source_amperes[0]);
  }
  CHECK(apart("current source at its volts limit", "Ii0", "flux from volt-seconds", m.step_dc(n, 1e-6).limb_flux[0],
              linkage / rated_linkage, "closed form") < 2e-3);
}

TEST_CASE("a closed delta on the other side is a second, slower time constant", "[sim][unit][dc]") {
  auto const settling = [](std::string const& group) {
    UnitModel m(three_phase(group), {1, true});
    Network n = direct(m, "X1", "X0", 30.0, 30.0);
    double const truth = *m.true_value("resistance_ohm X1-X0");
    m.soak(20.0);
    double time = 0.0, last_off = 0.0;
    for (int k = 0; k < 4000; ++k) {
      DcSolution const& s = m.step_dc(n, 0.01);
      time += 0.01;
      double const r = s.between(m.terminal("X1"), m.terminal("X0")) / s.current_source_amperes[0];
      if (std::abs(r / truth - 1.0) > 2e-3) last_off = time;
    }
    return last_off;
  };
  CHECK(settling("Dyn1") > 2.0 * settling("YNyn0"));
}

TEST_CASE("an opened direct current kicks by the flux that falls, and leaves remanence", "[sim][unit][dc]") {
  UnitModel m(single_phase(), {1, true});
  Network n = direct(m, "H1", "H2", 0.4, 50.0);
  for (int k = 0; k < 500; ++k) m.step_dc(n, 0.01);
  double const before = m.step_dc(n, 0.01).limb_flux[0];
  CHECK(before > 1.1);
  CHECK(m.step_dc(n, 0.01).stored_joules > 0.1);
  Network const opened = m.network();
  DcSolution const& s = m.step_dc(opened, 0.01);
  double const kick = std::abs(s.node_volts_peak[static_cast<std::size_t>(m.terminal("H1"))]) +
                      std::abs(s.node_volts_peak[static_cast<std::size_t>(m.terminal("H2"))]);
  // Flux that fell times the winding's rated linkage over the 10 ms of the arc.
  double const fell = before - m.remanence()[0];
  CHECK(kick == Approx(fell * 7200.0 * std::sqrt(2.0) / (2.0 * pi * 60.0) / 0.01).epsilon(0.02));
  CHECK(kick > 1000.0);
  CHECK(m.remanence()[0] > 0.4);
  CHECK(m.remanence()[0] < 1.0);
  m.rest(100.0);
  CHECK(m.remanence()[0] > 0.4);
}

TEST_CASE("a freewheel lets the current die slowly and the energy goes into its resistance", "[sim][unit][dc]") {
  UnitModel m(single_phase(), {1, true});
  Network n = direct(m, "H1", "H2", 0.4, 50.0);
  for (int k = 0; k < 500; ++k) m.step_dc(n, 0.01);
  double const stored = m.step_dc(n, 0.01).stored_joules;
  n.current_sources[0].set_amperes = 0.0;
  double burnt = 0.0, last = 0.4;
  for (int k = 0; k < 4000; ++k) {
    DcSolution const& s = m.step_dc(n, 0.01);
    double const i = s.current_source_amperes[0];
    CHECK(i <= last + 1e-9);
    CHECK(s.between(m.terminal("H1"), m.terminal("H2")) >= -0.41);
    burnt += 0.01 * i * i * (1.0 + 9.45);
    last = i;
  }
  CHECK(last < 0.01);
  // What was stored above the remanent state comes out; hysteresis keeps some.
  CHECK(burnt > 0.6 * stored);
  CHECK(burnt < 1.4 * stored);
}

TEST_CASE("a trip under volts leaves remanence by its angle, a smooth ramp down wipes it out", "[sim][unit][core]") {
  UnitModel m(single_phase(), {1, true});
  Network n = feed_lv(m, 240.0);
  auto const hold = [&](double hold_s) {
    for (int k = 0; k < static_cast<int>(hold_s * 100.0); ++k) {
      m.solve_ac(n);
      m.advance(0.01);
    }
  };
  hold(0.5);
  m.interrupt(pi / 2.0);  // volts through zero: flux at its crest
  double const at_crest = m.remanence()[0];
  CHECK(std::abs(at_crest) > 0.4);
  hold(6.0);
  m.interrupt(0.0);  // volts at the crest: flux through zero
  CHECK(std::abs(m.remanence()[0]) < 0.3 * std::abs(at_crest));
  m.set_remanence({0.7, 0.0, 0.0});
  CHECK(m.remanence()[0] == Approx(0.7).epsilon(1e-3));
  for (int k = 0; k <= 1000; ++k) {
    n.emfs[0].volts = 240.0 * (k < 500 ? k / 500.0 : (1000 - k) / 500.0);
    m.solve_ac(n);
    m.advance(0.01);
  }
  CHECK(std::abs(m.remanence()[0]) < 0.03);
}

TEST_CASE("remanence makes the first seconds at rated volts draw more", "[sim][unit][core]") {
  UnitModel m(single_phase(), {1, true});
  Network const n = feed_lv(m, 240.0, 0.02, 5e-5);
  double const usual = m.solve_ac(n).emf_current[0].rms();
  UnitModel magnetised(single_phase(), {1, true});
  magnetised.set_fault("remanence");
  double const first = magnetised.solve_ac(n).emf_current[0].rms();
  CHECK(first > 5.0 * usual);
  for (int k = 0; k < 800; ++k) {
    magnetised.solve_ac(n);
    magnetised.advance(0.01);
  }
  CHECK(magnetised.solve_ac(n).emf_current[0].rms() == Approx(usual).epsilon(0.02));
}
