// SPDX-License-Identifier: MIT
/// Insulation (breakdown, direct-current behaviour) and heating of the unit model. Closed forms and common practice, no
/// source, unless named.

#include <catch2/catch.hpp>

#include "example_units.hpp"
#include "sim/unit/internals.hpp"
#include "tests/sim/agreement.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;

namespace {

Unit with_levels() {
  Unit u = single_phase();
  u.hv.applied_kv = 34.0;
  u.lv.applied_kv = 10.0;
  return u;
}

/// Applied test on the high-voltage side; seconds until breakdown, or nothing.
std::optional<double> applied(UnitModel& m, double volts_now, double seconds) {
  Network n = m.network();
  n.tie(m.terminal("H1"), m.terminal("H2"));
  n.tie(m.terminal("X1"), earth);
  n.add(NetworkEmf{earth, m.terminal("H1"), volts_now, 2e3, 0.0});
  for (double t = 0.0; t < seconds; t += 0.1) {
    m.solve_ac(n);
    m.advance(0.1);
    if (m.broken_down()) return t;
  }
  return std::nullopt;
}

}  // namespace

TEST_CASE("healthy units withstand their routine dielectric tests", "[sim][unit][insulation]") {
  int broken = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    UnitModel m(with_levels(), {seed, false});
    if (applied(m, 34e3, 60.0)) ++broken;
    Network n = feed_lv(m, 480.0);
    n.frequency_hz = 400.0;
    for (int k = 0; k < 18; ++k) {
      m.solve_ac(n);
      m.advance(1.0);
    }
    if (m.broken_down()) ++broken;
  }
  // Design figure: one in some millions.
  CHECK(broken == 0);
}

TEST_CASE("weak insulation breaks down within the test, at a random time, and the volts collapse",
          "[sim][unit][insulation]") {
  std::vector<double> times;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    UnitModel m(with_levels(), {seed, false});
    m.set_fault("weak-insulation-hv");
    auto const t = applied(m, 34e3, 60.0);
    REQUIRE(t);
    times.push_back(*t);
    // The arc stands: the hold current is what the source can give.
    Network n = m.network();
    n.tie(m.terminal("H1"), m.terminal("H2"));
    n.add(NetworkEmf{earth, m.terminal("H1"), 34e3, 2e3, 0.0});
    AcSolution const& s = m.solve_ac(n);
    CHECK(s.node[static_cast<std::size_t>(m.terminal("H1"))].rms() < 0.2 * 34e3);
    CHECK(s.emf_current[0].rms() > 10.0);
    CHECK(m.breakdowns().front().where == Insulation::hv_to_earth);
  }
  CHECK(*std::max_element(times.begin(), times.end()) > *std::min_element(times.begin(), times.end()) + 0.5);
}

TEST_CASE("a broken-down unit sometimes passes a repeat at lower volts, and is weaker for it",
          "[sim][unit][insulation]") {
  UnitModel m(with_levels(), {3, false});
  m.set_fault("weak-insulation-hv", 1.0);
  double first = 0.0;
  if (auto const t = applied(m, 34e3, 600.0)) first = *t;
  REQUIRE(m.broken_down());
  int const before = m.breakdowns().front().count;
  m.solve_ac(m.network());
  m.advance(0.1);  // volts gone: the arc is out
  m.rest(1.0);
  CHECK_FALSE(m.breakdowns().front().arcing);
  Network n = m.network();
  n.tie(m.terminal("H1"), m.terminal("H2"));
  n.tie(m.terminal("X1"), earth);
  n.add(NetworkEmf{earth, m.terminal("H1"), 34e3, 2e3, 0.0});
  double t = 0.0;
  while (m.breakdowns().front().count == before && t < 600.0) {
    m.solve_ac(n);
    m.advance(0.05);
    t += 0.05;
  }
  CHECK(m.breakdowns().front().count > before);
  INFO("first after " << first << " s, then after " << t << " s");
  CHECK(t < 60.0);
}

TEST_CASE("a turn that breaks down under induced volts becomes a shorted turn", "[sim][unit][insulation]") {
  UnitModel m(with_levels(), {2, false});
  Network n = feed_lv(m, 480.0, 0.05, 5e-5);
  n.frequency_hz = 400.0;
  double const before = m.solve_ac(n).emf_current[0].rms();
  m.set_fault("weak-insulation-turn", 0.6);
  for (int k = 0; k < 180 && !m.broken_down(); ++k) {
    m.solve_ac(n);
    m.advance(0.1);
  }
  REQUIRE(m.broken_down());
  CHECK(m.breakdowns().front().where == Insulation::hv_turn);
  CHECK(m.solve_ac(n).emf_current[0].rms() > 5.0 * before);
}

TEST_CASE("insulation resistance: charge, absorption, leakage; a short forgets less than it seems",
          "[sim][unit][insulation]") {
  UnitModel m(with_levels(), {1, true});
  m.soak(20.0);
  InsulationConnection meter{WindingTie::driven, WindingTie::earthed, 2500.0, 1e5};
  std::vector<double> current;
  for (int second = 1; second <= 60; ++second) {
    InsulationReading const r = m.step_insulation(meter, 1.0);
    current.push_back(r.meter_amperes);
    CHECK(r.hv_volts == Approx(2500.0).epsilon(1e-3));
  }
  double const ohm_15 = 2500.0 / current[14], ohm_60 = 2500.0 / current[59];
  CHECK(ohm_60 > 1.05 * ohm_15);
  CHECK(ohm_60 > 1e9);
  // Short for a second, then leave it alone: the slow charge comes back.
  InsulationConnection shorted{WindingTie::earthed, WindingTie::earthed, 0.0, 1e5};
  m.step_insulation(shorted, 1.0);
  CHECK(std::abs(m.hv_charge_volts()) < 1.0);
  m.rest(30.0);
  CHECK(m.hv_charge_volts() > 50.0);
  UnitModel wet(with_levels(), {1, true});
  wet.soak(20.0);
  wet.set_fault("moisture");
  InsulationReading reading;
  for (int second = 1; second <= 60; ++second) reading = wet.step_insulation(meter, 1.0);
  CHECK(2500.0 / reading.meter_amperes < 0.1 * ohm_60);
}

TEST_CASE("charging through a resistor follows exp(-t/RC)", "[sim][unit][insulation]") {
  UnitModel m(with_levels(), {1, true});
  InsulationConnection meter{WindingTie::driven, WindingTie::earthed, 1000.0, 1e8};
  double const farad = m.capacitance_hv_f();
  double t = 0.0;
  for (int k = 0; k < 200; ++k) {
    InsulationReading const r = m.step_insulation(meter, 5e-4);
    t += 5e-4;
    // Absorption and leakage are small in so short a time.
    if (k % 50 == 49)
      CHECK(benchward::sim::testing::apart("insulation charged through a resistor", "Ii0", "volts, V (1 - exp(-t/RC))",
                                           r.hv_volts, 1000.0 * (1.0 - std::exp(-t / (1e8 * farad))),
                                           "closed form; absorption is the rest") < 0.03);
  }
}

TEST_CASE("a strap left on shorts the insulation meter", "[sim][unit][insulation]") {
  Unit u = with_levels();
  u.straps = {{"strap", "X2", "on"}};
  UnitModel m(u, {1, true});
  InsulationConnection meter{WindingTie::earthed, WindingTie::driven, 500.0, 1e5};
  CHECK(m.step_insulation(meter, 1.0).meter_amperes == Approx(5e-3));
  m.set_accessory("strap", "off");
  for (int k = 0; k < 30; ++k) m.step_insulation(meter, 1.0);
  CHECK(m.step_insulation(meter, 1.0).meter_amperes < 1e-6);
}

TEST_CASE("copper at rated current warms by 2.1 K a minute at 55 degC", "[sim][unit][heat]") {
  UnitModel m(single_phase(), {1, true});
  m.set_ambient(55.0);
  m.soak(55.0);
  Network n = feed_hv(m, 7200.0 * 0.02);
  short_lv(m, n);
  scale_sources(n, 25e3 / 7200.0 / mean_amperes(m.solve_ac(n)));
  double const start = m.temperatures().hv_c;
  for (int k = 0; k < 1000; ++k) {
    m.solve_ac(n);
    m.advance(0.01);
  }
  // Ten seconds: a sixth of 2.1 K, a little lost to the liquid.
  CHECK(m.temperatures().hv_c - start == Approx(2.1 / 6.0).epsilon(0.03));
  double const first = total_watts(m.solve_ac(n));
  for (int k = 0; k < 6000; ++k) {
    m.solve_ac(n);
    m.advance(0.01);
  }
  // Fed by constant volts over an impedance that is mostly reactance, the loss rises with the copper's resistance,
  // slower.
  double const warm = total_watts(m.solve_ac(n));
  CHECK(warm > 1.001 * first);
  CHECK(warm < 1.008 * first);
  m.rest(8.0 * 3600.0);
  CHECK(m.temperatures().hv_c == Approx(55.0).margin(0.5));
}

TEST_CASE("a warm unit stands in layers and cools over hours", "[sim][unit][heat]") {
  UnitModel m(single_phase(), {1, true});
  m.set_ambient(22.0);
  m.warm(25.0);
  CHECK(m.temperatures().oil_top_c - m.temperatures().oil_bottom_c > 5.0);
  CHECK(m.temperatures().hv_c > 40.0);
  m.rest(6.0 * 3600.0);
  CHECK(m.temperatures().oil_top_c - m.temperatures().oil_bottom_c < 2.0);
  CHECK(m.temperatures().hv_c < 26.0);
}
