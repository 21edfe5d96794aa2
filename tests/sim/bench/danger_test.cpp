// SPDX-License-Identifier: MIT
// Each dangerous moment of the list can happen on this bench, and is then listed; a careful cycle has none.
#include <catch2/catch.hpp>

#include "tests/sim/bench/bench_rig.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::test;

namespace {

/// Energised with the H terminals at 3,600 V to earth.
void to_no_load(Rig& rig, double volts = 240.0) {
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.raise(volts);
  rig.run(4.0);
}
void to_applied(Rig& rig, double volts = 34000.0) {
  rig.bench.set_accessory("X2 tank strap", "on");
  rig.bench.connect(applied_single_phase());
  rig.energise(dielectric);
  auto& set = rig.meter("dielectric-tester");
  set.write("level_set", volts);
  set.write("frequency_set", 60.0);
  set.write("ramp_s", 10.0);
  set.write("trip_current", 0.2);
  set.write("do.set", 1.0);
  rig.run(12.0);
}
void to_direct(Rig& rig, double amperes = 1.0) {
  rig.bench.connect(resistance_single_phase());
  rig.energise(resistance);
  auto& meter = rig.meter("resistance-meter");
  meter.write_text("from", "H1");
  meter.write_text("to", "H2");
  meter.write("do.select", 1.0);
  meter.write("set_current", amperes);
  meter.write("do.set_current", 1.0);
  rig.run(10.0);
}

}  // namespace

TEST_CASE("a careful cycle of every source has no dangerous moment", "[sim][danger]") {
  Rig rig;
  rig.bench.set_accessory("X2 tank strap", "on");
  to_no_load(rig);
  rig.run(10.0);
  rig.make_safe();
  rig.bench.set_gate(true);
  rig.run(5.0);
  to_direct(rig);
  rig.make_safe();
  rig.bench.set_gate(true);
  rig.run(5.0);
  to_applied(rig);
  rig.run(60.0);
  rig.make_safe();
  rig.bench.set_gate(true);
  rig.run(5.0);
  rig.bench.connect(ratio_single_phase());
  rig.energise(ratio);
  auto& meter = rig.meter("ratio-meter");
  for (auto const& [point, word] :
       {std::pair{"feed_from", "H1"}, {"feed_to", "H2"}, {"read_from", "X1"}, {"read_to", "X3"}}) {
    meter.write_text(point, word);
  }
  meter.write("applied_set", 8.0);
  meter.write("do.measure", 1.0);
  rig.run(2.0);
  CHECK(meter.point("ratio").value_or(0.0) == Approx(30.0).epsilon(0.003));
  rig.make_safe();
  rig.bench.set_gate(true);
  rig.run(5.0);
  CHECK(rig.dangers() == "");
}

TEST_CASE("escape through the gate is no dangerous moment while the hard-wired chain acts in time", "[sim][danger]") {
  Rig rig;
  to_no_load(rig);
  rig.bench.set_gate(true);
  rig.run(3.0);
  CHECK(rig.dangers() == "");
  CHECK(rig.terminal("H1") < 1.0);
}

TEST_CASE("a gate open with terminals live is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"contactor-welded", 1.0}, {"contactor-slow-to-open", 5.0}});
  // Both contactors stay: one is welded, the other is the first of a pair that opens late.
  to_no_load(rig);
  rig.bench.set_gate(true);
  rig.run(1.0);
  CHECK_FALSE(rig.bench.truth().energized);  // the second contactor opens in time: nothing is live
  CHECK(rig.dangers() == "");
  SECTION("and with the charge of an applied test left on the unit") {
    Rig charged(single_phase, {{"resistor-failed", 1.0}, {"earth-sticks-open", 1.0}}, 3);
    to_applied(charged);
    charged.bench.set_gate(true);
    charged.run(2.0);
    CHECK(charged.said("gate open with H"));
  }
}

TEST_CASE("a gate that is not locked while the unit is live or the earth not closed is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"gate-lock-failed", 1.0}});
  to_no_load(rig);
  CHECK(rig.said("gate unlocked with H"));
  CHECK(rig.said("gate unlocked before the earth is closed"));
}

TEST_CASE("earth closed with a source on is listed", "[sim][danger]") {
  // The contact lies: it says open, the switch is closed, and the contactors are let in.
  Rig rig(single_phase, {{"earth-contacts-disagree", 1.0}, {"earth-sticks-closed", 1.0}});
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.run(1.0);
  CHECK(rig.said("earth closed with a source on"));
}

TEST_CASE("green shown with anything live or unearthed is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"green-lamp-wrong", 1.0}});
  rig.bench.connect(no_load_single_phase());
  rig.arm();
  rig.run(0.5);
  CHECK(rig.said("green lamp lit with the earth not closed"));
}

TEST_CASE("energised with no warning given is listed", "[sim][danger]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.bench.set_gate(false);
  rig.out.lock_gate = rig.out.red = rig.out.open_earth = true;  // no siren, no waiting
  rig.run(1.5);
  rig.close(ac);
  rig.raise(240.0);
  rig.run(4.0);
  CHECK(rig.said("no warning"));
}

TEST_CASE("a source closed away from zero is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"regulator-not-at-zero", 20.0}});
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  CHECK(rig.said("closed away from zero"));
}

TEST_CASE("two sources on the unit are listed", "[sim][danger]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.close(ratio);
  rig.run(1.0);
  CHECK(rig.said("two sources"));
}

TEST_CASE("a meter left on the high side is listed as beyond its rating, and seen by the hook", "[sim][danger]") {
  Rig rig(single_phase, {{"meter-left-on-hv", 1.0}});
  to_no_load(rig);
  CHECK(rig.said("beyond its rating"));
  CHECK_FALSE(rig.in.source[ratio].isolated);
}

TEST_CASE("exchanged leads of the ratio meter put thousands of volts on the high side and are listed",
          "[sim][danger]") {
  Rig rig(single_phase, {{"ratio-leads-swapped", 1.0}});
  rig.bench.connect(ratio_single_phase());
  rig.energise(ratio);
  auto& meter = rig.meter("ratio-meter");
  for (auto const& [point, word] :
       {std::pair{"feed_from", "H1"}, {"feed_to", "H2"}, {"read_from", "X1"}, {"read_to", "X3"}}) {
    meter.write_text(point, word);
  }
  meter.write("applied_set", 80.0);
  meter.write("do.measure", 1.0);
  rig.run(0.9);
  CHECK(rig.terminal("H1") + rig.terminal("H2") > 1500.0);  // 80 V x 30
  CHECK(rig.said("beyond its rating"));
  rig.run(1.0);
  CHECK_FALSE(meter.point("ratio").has_value());
  CHECK(meter.point("over_range").value_or(0.0) == 1.0);
}

TEST_CASE("leads moved under volts or direct current are listed at once", "[sim][danger]") {
  Rig rig;
  SECTION("volts") {
    to_no_load(rig);
    rig.bench.disconnect_all();
    CHECK(rig.said("leads taken off with"));
  }
  SECTION("direct current") {
    to_direct(rig);
    rig.bench.connect(no_load_single_phase());
    CHECK(rig.said("of direct current in the winding"));
  }
  SECTION("tap changer") {
    to_no_load(rig);
    rig.bench.set_tap(2);
    CHECK(rig.said("tap changer moved"));
  }
}

TEST_CASE("the shorting contact opened above the flux limit, or direct current broken, is listed", "[sim][danger]") {
  Rig rig;
  SECTION("the contact opens again while current decays") {
    to_direct(rig);
    rig.out.open_short = false;
    rig.run(0.1);
    rig.out.open_short = true;
    rig.run(0.2);
    CHECK(rig.said("shorting contact opened with"));
  }
  SECTION("the contactors open with the shorting contact stuck open") {
    rig.bench.set_fault({"short-sticks-open", 1.0});
    to_direct(rig);
    rig.out.first[resistance] = rig.out.second[resistance] = false;
    rig.run(0.5);
    CHECK(rig.said("direct current broken"));
  }
}

TEST_CASE("a current transformer's secondary open under current is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"ct-secondary-open", 1.0}});
  to_no_load(rig);
  CHECK(rig.said("secondary open"));
}

TEST_CASE("a terminal above its insulation's ceiling is listed", "[sim][danger]") {
  Rig rig;
  to_applied(rig, 70000.0);
  CHECK(rig.said("above its insulation's ceiling"));
}

TEST_CASE("a terminal live that the connection code does not list, or declares earthed, is listed", "[sim][danger]") {
  Rig rig;
  rig.out.live_terminals = terminal_bits({"X1", "X3"});
  rig.out.earthed_terminals = terminal_bits({"H2"});
  to_no_load(rig);
  CHECK(rig.said("does not list it: H"));
  CHECK(rig.said("declared earthed: H2"));
}

TEST_CASE("a strap left on a winding under applied voltage trips the dielectric set before it is dangerous",
          "[sim][danger]") {
  Rig rig;
  rig.bench.set_accessory("X2 tank strap", "on");
  Connection applied = applied_single_phase();
  applied.feed = {{"X2"}};
  applied.earth = {"H1"};
  rig.bench.connect(applied);
  rig.energise(dielectric);
  auto& set = rig.meter("dielectric-tester");
  set.write("level_set", 10000.0);
  set.write("trip_current", 0.05);
  set.write("ramp_s", 10.0);
  set.write("do.set", 1.0);
  rig.run(12.0);
  // The strap is a short to earth: the set cannot raise the level and trips; it never was above 1 kV.
  CHECK(rig.meter("dielectric-tester").point("tripped").value_or(0.0) == 1.0);
}

TEST_CASE("an arrester left on while a winding is stressed is listed, one that was taken off is not", "[sim][danger]") {
  for (bool const left_on : {true, false}) {
    CAPTURE(left_on);
    Rig rig("units/single-phase-overhead-25kva-breaker.json");
    for (char const* arrester : {"arrester H1", "arrester H2"})
      REQUIRE(rig.bench.set_accessory(arrester, left_on ? "on" : "off").empty());
    rig.bench.connect(no_load_single_phase());
    rig.energise(ac);
    // Rated volts at more than 1.3 times rated frequency: an induced test on its way up, below what an arrester limits.
    rig.raise(240.0, 1, 120.0);
    rig.run(4.0);
    CHECK(rig.said("arrester on") == left_on);
  }
}

TEST_CASE("insulation that recharges from absorption after a short discharge is listed, after a long one it does not",
          "[sim][danger]") {
  for (bool const long_earthed : {false, true}) {
    CAPTURE(long_earthed);
    Rig rig(single_phase, {}, 1, insulation_bench());
    rig.bench.set_accessory("X2 tank strap", "off");
    rig.bench.connect(insulation_single_phase());
    rig.energise(insulation);
    auto& meter = rig.meter("insulation-meter");
    meter.write("test_voltage_set", 5000.0);
    meter.write("do.start", 1.0);
    rig.run(60.0);
    CHECK(meter.point("resistance").value_or(0.0) > 1e9);
    meter.write("do.stop", 1.0);
    rig.out.ramp_permitted = false;
    rig.out.resistor = true;
    rig.run(1.0);
    rig.out.first[insulation] = rig.out.second[insulation] = false;
    rig.run(2.5);
    rig.out.open_earth = false;
    rig.run(1.5);
    rig.out.resistor = false;
    CHECK(rig.dangers() == "");
    if (long_earthed) rig.run(3600.0);
    // The earth is opened again with no source on: what the dielectric has soaked up comes back to the terminals.
    rig.out.lock_gate = rig.out.red = rig.out.open_earth = true;
    rig.run(120.0);
    INFO(rig.dangers());
    CHECK(rig.said("recharged after discharge") == !long_earthed);
  }
}

TEST_CASE("earth opened with a person inside is listed", "[sim][danger]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.bench.set_gate(true);
  rig.bench.enter_area(true);
  rig.bench.set_gate(false);
  rig.out.open_earth = rig.out.red = true;
  rig.run(2.0);
  CHECK(rig.said("person inside"));
}

TEST_CASE("a unit that broke down and is energised again is listed, until another unit stands there", "[sim][danger]") {
  Rig rig(single_phase, {{"weak-insulation-to-earth", 40.0}});
  to_applied(rig);
  rig.run(3.0);
  CHECK(rig.meter("dielectric-tester").point("tripped").value_or(0.0) == 1.0);
  rig.make_safe();
  REQUIRE(rig.dangers() == "");
  rig.bench.set_gate(true);
  to_no_load(rig);
  CHECK(rig.said("broken down"));
}

TEST_CASE("volts that rise with no command are listed", "[sim][danger]") {
  Rig rig(single_phase, {{"regulator-runs-on", 3.0}});
  to_no_load(rig, 120.0);
  rig.run(5.0);
  CHECK(rig.said("volts risen with no command"));
}

TEST_CASE("no live heartbeat while energised is listed", "[sim][danger]") {
  Rig rig(single_phase, {{"watchdog-disabled", 1.0}});
  to_no_load(rig);
  rig.beats = false;
  rig.run(3.0);
  CHECK(rig.said("no live heartbeat"));
}
