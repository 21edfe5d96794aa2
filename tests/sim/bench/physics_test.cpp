// SPDX-License-Identifier: MIT
#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "limits/documents/document_error.hpp"
#include "sim/bench/simulation_parameters.hpp"
#include "tests/sim/bench/bench_rig.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::test;

namespace {

double truth_of(SimBench const& bench, std::string const& name) {
  for (auto const& [known, value] : bench.true_values()) {
    if (known == name) return value;
  }
  FAIL("no true value " << name);
  return 0.0;
}

void set_up(Rig& rig, double wiring, double volts, double amperes) {
  auto& analyser = rig.meter("power-analyser");
  analyser.write("wiring", wiring);
  analyser.write("voltage_range", volts);
  analyser.write("current_range", amperes);
  analyser.write("do.set_up", 1.0);
}

}  // namespace

TEST_CASE("the analyser's watts at rated volts are the unit's no-load loss within the declared errors",
          "[sim][physics]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  set_up(rig, 0, 300, 5);
  rig.raise(240.0);
  rig.run(5.0);
  auto& analyser = rig.meter("power-analyser");
  double const volts = analyser.point("volts_average.1").value();
  double const watts = analyser.point("active.1").value() * std::pow(240.0 / volts, 2.5);
  CHECK(watts == Approx(truth_of(rig.bench, "no_load_loss_w")).epsilon(0.02));  // 20 degC there, 22 here; wave
  CHECK(analyser.point("frequency").value() == Approx(60.0).epsilon(0.001));
}

TEST_CASE("load loss measured holds the shorting bar's own loss besides the unit's", "[sim][physics]") {
  // Closed form: a bar of R ohm at I ampere takes I^2 R (Joule).
  Rig rig;
  Connection shorted = load_loss_single_phase();
  rig.bench.connect(shorted);
  rig.energise(ac);
  set_up(rig, 0, 300, 10);
  rig.raise(155.0);
  rig.run(4.0);
  auto& analyser = rig.meter("power-analyser");
  double const clean = analyser.point("active.1").value() / std::pow(analyser.point("amperes.1").value(), 2);
  double const added = 0.5e-3;  // 0.5 milliohm
  rig.bench.set_fault({"shorting-bar-poor", added * 1e3});
  rig.run(1.0);
  double const poor = analyser.point("active.1").value() / std::pow(analyser.point("amperes.1").value(), 2);
  CHECK(poor - clean == Approx(added * 30.0 * 30.0).epsilon(0.05));  // seen through the ratio squared
}

TEST_CASE("the unit's own exciting current flattens the wave of a soft supply", "[sim][physics]") {
  Rig stiff;
  stiff.bench.connect(no_load_single_phase());
  stiff.energise(ac);
  set_up(stiff, 0, 300, 5);
  stiff.raise(240.0);
  stiff.run(4.0);
  Rig soft(single_phase, {{"soft-supply", 5000.0}});
  soft.bench.connect(no_load_single_phase());
  soft.energise(ac);
  set_up(soft, 0, 300, 5);
  soft.raise(240.0);
  soft.run(4.0);
  auto const form = [](Rig& rig) {
    auto& analyser = rig.meter("power-analyser");
    return analyser.point("volts_rms.1").value() / analyser.point("volts_average.1").value();
  };
  CHECK(std::abs(form(stiff) - 1.0) < 1e-3);
  CHECK(std::abs(form(soft) - 1.0) > std::abs(form(stiff) - 1.0) + 1e-3);
}

TEST_CASE("the volts of a supply that fails are gone at once, whatever opens afterwards", "[sim][physics]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.raise(240.0);
  rig.run(4.0);
  REQUIRE(rig.terminal("H1") > 1000.0);
  rig.bench.set_fault({"supply-fails", 0.0});
  rig.run(0.02);
  CHECK(rig.terminal("H1") == 0.0);
  CHECK(rig.in.output_mv < 1000);
  rig.out.first[ac] = rig.out.second[ac] = false;
  rig.run(0.3);
  CHECK(rig.terminal("H1") == 0.0);
}

TEST_CASE("the volts of a ratio meter that is switched off are gone at once", "[sim][physics]") {
  Rig rig;
  rig.bench.connect(ratio_single_phase());
  rig.energise(ratio);
  auto& meter = rig.meter("ratio-meter");
  meter.write_text("feed_from", "H1");
  meter.write_text("feed_to", "H2");
  meter.write_text("read_from", "X1");
  meter.write_text("read_to", "X3");
  meter.write("applied_set", 80.0);
  meter.write("do.measure", 1.0);
  rig.run(1.0);
  REQUIRE(rig.terminal("H1") + rig.terminal("H2") > 10.0);
  meter.write("do.output_off", 1.0);
  rig.run(0.02);
  CHECK(rig.terminal("H1") + rig.terminal("H2") == 0.0);
}

TEST_CASE("a charge left by an applied test decays as its resistance and capacitance say", "[sim][physics]") {
  // Closed form: v = v0 exp(-t / RC).
  Rig rig(single_phase, {{"earth-sticks-open", 1.0}, {"resistor-failed", 1.0}}, 5);
  rig.bench.connect(applied_single_phase());
  rig.energise(dielectric);
  auto& set = rig.meter("dielectric-tester");
  set.write("level_set", 20000.0);
  set.write("ramp_s", 5.0);
  set.write("do.set", 1.0);
  rig.run(8.0);
  rig.out.first[dielectric] = rig.out.second[dielectric] = false;
  rig.run(0.2);
  double const before = rig.terminal("H1");
  REQUIRE(before > 100.0);
  rig.run(1.0);
  double const one = rig.terminal("H1") / before;
  rig.run(1.0);
  double const two = rig.terminal("H1") / before;
  CHECK(two == Approx(one * one).epsilon(0.02));
  CHECK(one < 1.0);
}

TEST_CASE("direct current charges the core, settles to volts over ohms, and decays into the short", "[sim][physics]") {
  Rig rig;
  rig.bench.connect(resistance_single_phase());
  rig.energise(resistance);
  auto& meter = rig.meter("resistance-meter");
  meter.write_text("from", "H1");
  meter.write_text("to", "H2");
  REQUIRE(meter.write("do.select", 1.0));
  meter.write("set_current", 1.0);
  REQUIRE(meter.write("do.set_current", 1.0));
  rig.run(0.1);
  double const early = rig.bench.truth().dc_current_a;
  rig.run(15.0);
  CHECK(early < rig.bench.truth().dc_current_a);
  CHECK(rig.bench.truth().dc_current_a == Approx(1.0).epsilon(0.001));
  double const ohm = meter.point("volts").value() / meter.point("current").value();
  double const at_20 = truth_of(rig.bench, "resistance_ohm H1-H2");
  // The winding stands at the room's 22 degC: copper rises by 1 / (234.5 + 20) a kelvin (10 CFR 431 appendix A, 3.5).
  CHECK(ohm == Approx(at_20 * (234.5 + 22.0) / (234.5 + 20.0)).epsilon(0.003));
  CHECK_FALSE(meter.write("do.select", 1.0));  // not under current
  rig.out.ramp_permitted = rig.out.open_short = false;
  rig.run(10.0);
  CHECK(std::abs(rig.bench.truth().dc_current_a) < 1e-4);
  CHECK(rig.in.short_closed);
  CHECK(rig.dangers() == "");
}

TEST_CASE("a source over its current limit trips itself and says so", "[sim][physics]") {
  Rig rig;
  rig.bench.connect(load_loss_single_phase());
  rig.energise(ac);
  REQUIRE(rig.raise(160.0, 1, 60.0, 5.0, 3.0));
  rig.run(8.0);
  CHECK(rig.meter("ac-source").point("tripped").value_or(0.0) == 1.0);
  CHECK_FALSE(rig.in.source_healthy);
  CHECK(rig.bench.truth().output_voltage_v < 1.0);
}

TEST_CASE("unknown keys of the simulation object are refused with their path", "[sim]") {
  Bench bench = demo_bench();
  bench.simulation_json = R"({"lead_ohms": 0.001})";
  CHECK_THROWS_WITH(read_simulation_parameters(bench), Catch::Contains("/simulation") && Catch::Contains("lead_ohm"));
  bench.simulation_json = R"({"lead_ohm": -1})";
  CHECK_THROWS_AS(read_simulation_parameters(bench), DocumentError);
}

TEST_CASE("the same seed gives the same readings, another one gives others", "[sim]") {
  auto const reading = [](std::uint64_t seed) {
    Rig rig(single_phase, {}, seed);
    rig.bench.connect(no_load_single_phase());
    rig.energise(ac);
    set_up(rig, 0, 300, 5);
    rig.raise(240.0);
    rig.run(4.0);
    return rig.meter("power-analyser").point("active.1").value();
  };
  CHECK(std::abs(reading(7) - reading(7)) == 0.0);
  CHECK(std::abs(reading(7) - reading(8)) > 1e-6);
}
