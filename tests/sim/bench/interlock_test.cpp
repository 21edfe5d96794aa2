// SPDX-License-Identifier: MIT
// The hard-wired chain acts whatever the station writes. Times: simulation parameters of the demo bench.
#include <catch2/catch.hpp>

#include "tests/sim/bench/bench_rig.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::test;

namespace {

/// Seconds until a source's contactors are no longer both closed, in steps of a millisecond; 10 if never.
double time_to_open(Rig& rig) {
  auto const begin = rig.now_ns;
  while (rig.now_ns - begin < 10'000'000'000) {
    rig.now_ns += 1'000'000;
    rig.bench.advance_to(rig.now_ns);
    if (!rig.bench.truth().energized) break;
  }
  return static_cast<double>(rig.now_ns - begin) * 1e-9;
}

}  // namespace

TEST_CASE("an opened gate drops the contactors within their drop-out time though the outputs stay on",
          "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  REQUIRE(rig.bench.truth().energized);
  rig.bench.set_gate(true);
  CHECK(time_to_open(rig) <= 0.06);
  rig.run(2.0);
  CHECK_FALSE(rig.bench.truth().energized);
  CHECK_FALSE(rig.in.chain_closed);
}

TEST_CASE("the chain stays open after a gate was opened under power until reset is pressed and released",
          "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.bench.set_gate(true);
  rig.run(0.5);
  rig.bench.set_gate(false);
  rig.run(1.0);
  CHECK_FALSE(rig.in.chain_closed);
  rig.bench.press("reset");
  rig.run(0.1);
  CHECK(rig.in.reset_pressed);
  CHECK_FALSE(rig.in.chain_closed);  // still held down
  rig.run(1.0);
  CHECK_FALSE(rig.in.reset_pressed);
  CHECK(rig.in.chain_closed);
}

TEST_CASE("an emergency stop drops the contactors and needs release and reset", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.bench.press("estop");
  CHECK(time_to_open(rig) <= 0.06);
  rig.run(0.2);
  CHECK_FALSE(rig.in.stop_a);
  rig.bench.press("reset");
  rig.run(1.0);
  CHECK_FALSE(rig.in.chain_closed);
  rig.bench.press("release-estop");
  rig.bench.press("reset");
  rig.run(1.0);
  CHECK(rig.in.chain_closed);
}

TEST_CASE("without a changing heartbeat the I/O block drops its outputs after the watchdog time", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  SECTION("the station goes on writing the same heartbeat") { rig.beats = false; }
  SECTION("the station writes nothing at all") { rig.beats = rig.writes = false; }
  auto const begin = rig.now_s();
  while (rig.bench.truth().energized && rig.now_s() < begin + 10.0) rig.run(0.01);
  CHECK(rig.now_s() - begin >= 0.99);
  CHECK(rig.now_s() - begin <= 1.0 + 0.05 + 0.03);  // watchdog, drop-out, three turns
  rig.run(2.0);
  CHECK(rig.bench.truth().earth_switch == "closed");
  CHECK(rig.dangers() == "");
}

TEST_CASE("a watchdog time of zero would hold the outputs for ever", "[sim][interlock]") {
  Rig rig(single_phase, {{"watchdog-disabled", std::nullopt}});
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  CHECK(rig.in.watchdog_ms == 0);
  rig.beats = false;
  rig.run(5.0);
  CHECK(rig.bench.truth().energized);
  CHECK(rig.said("no live heartbeat"));
}

TEST_CASE("contactors do not close before a heartbeat was seen", "[sim][interlock]") {
  Rig rig;
  rig.writes = false;
  rig.out.first[ac] = rig.out.second[ac] = rig.out.open_earth = true;
  rig.run(3.0);
  CHECK_FALSE(rig.bench.truth().energized);
  CHECK(rig.bench.truth().earth_switch == "closed");
}

TEST_CASE("the contactors of a strong source do not close while the earth switch is not open", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.bench.set_gate(false);
  rig.out.first[ac] = rig.out.second[ac] = true;
  rig.run(1.0);
  CHECK_FALSE(rig.bench.truth().energized);
  rig.out.open_earth = true;
  rig.run(2.0);
  CHECK(rig.bench.truth().energized);
}

TEST_CASE("the earth switch does not close onto a source that is still connected", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.out.open_earth = false;
  rig.run(3.0);
  CHECK(rig.bench.truth().energized);
  CHECK(rig.bench.truth().earth_switch == "open");
  rig.out.first[ac] = rig.out.second[ac] = false;
  rig.run(1.5);
  CHECK(rig.bench.truth().earth_switch == "closed");
}

TEST_CASE("contactors close only from zero, the limit switch in series says so", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.arm();
  rig.out.ramp_permitted = true;
  rig.run(0.1);
  REQUIRE(rig.raise(100.0));
  rig.run(4.0);
  rig.out.first[ac] = rig.out.second[ac] = true;
  rig.run(1.0);
  CHECK_FALSE(rig.bench.truth().energized);
  CHECK_FALSE(rig.in.regulator_at_zero);
}

TEST_CASE("green is lit only with every contactor open, the earth closed and red off", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.run(0.1);
  CHECK(rig.in.green_lit);
  rig.out.red = true;
  rig.run(0.1);
  CHECK_FALSE(rig.in.green_lit);
  rig.energise(ac);
  rig.out.red = false;
  rig.run(0.1);
  CHECK_FALSE(rig.in.green_lit);
  rig.out.red = true;
  rig.make_safe();
  CHECK(rig.in.green_lit);
}

TEST_CASE("the gate's bolt stays until the earth is closed whatever the station asks", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  rig.out.lock_gate = false;
  rig.run(1.0);
  CHECK(rig.in.gate_locked[0]);
  rig.out.lock_gate = true;
  rig.make_safe();
  CHECK_FALSE(rig.in.gate_locked[0]);
  CHECK(rig.dangers() == "");
}

TEST_CASE("lowering the ramp permit makes a source run itself down with its contactors closed", "[sim][interlock]") {
  Rig rig;
  rig.bench.connect(no_load_single_phase());
  rig.energise(ac);
  REQUIRE(rig.raise(240.0));
  rig.run(4.0);
  REQUIRE(rig.bench.truth().output_voltage_v == Approx(240.0).epsilon(0.01));
  rig.out.ramp_permitted = false;
  rig.run(2.0);
  CHECK(rig.bench.truth().output_voltage_v == Approx(120.0).epsilon(0.05));
  rig.run(2.5);
  CHECK(rig.bench.truth().output_voltage_v < 0.1);
  CHECK(rig.in.regulator_at_zero);
  CHECK(rig.bench.truth().energized);
  CHECK_FALSE(rig.raise(240.0));  // not permitted: refused
}

TEST_CASE("a slow contactor closes late and a welded one stays closed", "[sim][interlock]") {
  SECTION("slow") {
    Rig rig(single_phase, {{"contactor-slow-to-close", 1.5}});
    rig.bench.connect(no_load_single_phase());
    rig.arm();
    rig.out.first[ac] = true;
    rig.run(1.2);
    CHECK(rig.in.source[ac].first_open);
    rig.run(0.5);
    CHECK_FALSE(rig.in.source[ac].first_open);
  }
  SECTION("welded") {
    Rig rig(single_phase, {{"contactor-welded", std::nullopt}});
    rig.bench.connect(no_load_single_phase());
    rig.energise(ac);
    rig.out.first[ac] = rig.out.second[ac] = false;
    rig.run(1.0);
    CHECK_FALSE(rig.in.source[ac].first_open);
    CHECK(rig.in.source[ac].second_open);
    CHECK_FALSE(rig.bench.truth().energized);  // the other one has opened
  }
}

TEST_CASE("a simulated block answers a challenge and says its seed", "[sim][interlock]") {
  Rig rig(single_phase, {}, 0x12345678u);
  rig.out.challenge = 4242;
  rig.run(0.02);
  CHECK(rig.in.challenge_answer == simulated_answer(4242));
  CHECK(rig.in.seed_high == 0x1234);
  CHECK(rig.in.seed_low == 0x5678);
  CHECK(rig.in.owner_echo == 77);
  auto const scan = rig.in.scan;
  rig.run(0.02);
  CHECK(rig.in.scan != scan);
}

TEST_CASE("a fault that does not exist is refused with the nearest name", "[sim]") {
  CHECK_THROWS_WITH(Rig(single_phase, {{"shorted-trun", std::nullopt}}), Catch::Contains("shorted-turn"));
}
