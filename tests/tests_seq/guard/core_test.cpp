// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <algorithm>
#include <array>
#include <random>
#include <vector>

#include "plant.hpp"
#include "tests_seq/guard/core.hpp"

using namespace benchward;
using guard::Request;
using guard::Stage;
using S = GuardState;

namespace {

/// A core on the small bench, a turn every 10 ms.
struct Rig {
  guard::proof::Plant plant;
  GuardCore core{plant.declaration, plant, 0x1234};
  std::int64_t now_ms = 0;
  PermitLink permit;

  void turn() {
    core.turn({now_ms * 1'000'000, now_ms * 1000});
    now_ms += 10;
  }
  S state() const { return core.snapshot().machine.at; }
  Stage stage() const { return core.snapshot().machine.stage; }
  /// Turns until the state is there; the time it took, or -1.
  std::int64_t until(S wanted, std::int64_t at_most_ms = 100'000) {
    auto const began = now_ms;
    while (state() != wanted) {
      if (now_ms - began > at_most_ms) return -1;
      turn();
    }
    return now_ms - began;
  }
  void run(std::int64_t ms) {
    for (std::int64_t t = 0; t < ms; t += 10) turn();
  }
  void arm(guard::StepLimits const& step = guard::proof::full_step()) {
    REQUIRE(until(S::safe_earthed) >= 0);
    core.post_prepare(step);
    turn();
    REQUIRE(until(S::armed) >= 0);
    while (stage() == Stage::first) turn();
    REQUIRE(state() == S::armed);
  }
  void energise(guard::StepLimits const& step = guard::proof::full_step()) {
    arm(step);
    plant.path = static_cast<int>(step.source);
    core.post_close(&permit);
    turn();
    REQUIRE(until(S::ramp_up, 1000) >= 0);
    run(1000);
    core.post(Request::reached);
    turn();
    REQUIRE(state() == S::hold);
    run(1000);
    REQUIRE(state() == S::hold);
  }
  void press_reset() {
    plant.reset_pressed = true;
    run(300);
    plant.reset_pressed = false;
    run(20);
  }
  std::vector<GuardEvent> events() {
    std::vector<GuardEvent> all;
    for (GuardEvent event; core.take_event(event);) all.push_back(event);
    return all;
  }
  ~Rig() {
    CHECK_FALSE(plant.earth_on_live);
    CHECK_FALSE(plant.unlocked_live);
  }
};

}  // namespace

TEST_CASE("a whole cycle: start, prepare, warning, energise, stop, earthed, and the lock is held all the way",
          "[guard][core]") {
  Rig rig;
  auto const start = rig.until(S::safe_earthed);
  CHECK(start >= 30'000);  // no relay on this bench: the resistor's full time after a start (rule 13)
  CHECK(rig.core.snapshot().machine.owed == guard::Owed::restart);
  CHECK(rig.core.snapshot().simulated);

  rig.core.post_prepare(guard::proof::full_step());
  CHECK(rig.until(S::warning) >= 0);
  CHECK(rig.plant.out.lock_gate);
  auto const warning = rig.until(S::armed);
  CHECK(warning >= 5000);
  CHECK(warning <= 5100);
  CHECK(rig.plant.earth_ms == 0);
  while (rig.stage() == Stage::first) rig.turn();
  CHECK(rig.plant.earth_ms == 500);

  rig.core.post_close(&rig.permit);
  CHECK_FALSE(rig.permit.live);
  CHECK(rig.until(S::ramp_up, 500) >= 0);
  CHECK(rig.permit.live);
  rig.run(1000);
  CHECK(rig.core.snapshot().output_mv == 1'000'000);
  rig.core.post(Request::reached);
  rig.run(2000);
  CHECK(rig.state() == S::hold);

  rig.core.post(Request::stop);
  rig.turn();
  CHECK(rig.state() == S::ramp_down);
  CHECK_FALSE(rig.permit.live);
  CHECK(rig.until(S::discharge, 2000) >= 0);
  auto const discharge = rig.until(S::earthing);
  CHECK(discharge >= 2000);  // I30: dwell 2 s
  CHECK(rig.until(S::safe_earthed) >= 500);
  rig.turn();
  rig.turn();
  CHECK_FALSE(rig.plant.out.lock_gate);
  CHECK(rig.core.snapshot().machine.owed == guard::Owed::nothing);
  CHECK_FALSE(rig.core.snapshot().trip.happened);
  CHECK(rig.core.events_lost() == 0);
}

TEST_CASE("an emergency stop at full volts: contactors off within two turns, earth by itself, first-out kept",
          "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.events();
  rig.plant.stop_pressed = true;
  rig.turn();  // seen
  CHECK(rig.state() == S::tripped);
  CHECK_FALSE(rig.permit.live);
  rig.turn();  // sent
  CHECK_FALSE(rig.plant.out.first[1]);
  CHECK_FALSE(rig.plant.out.second[1]);
  rig.run(10'000);  // nobody presses anything
  CHECK(rig.state() == S::tripped);
  CHECK(rig.stage() == Stage::third);
  CHECK(rig.plant.earth_ms == 0);
  auto const trip = rig.core.snapshot().trip;
  CHECK(trip.first == 1);
  CHECK(trip.in_state == S::hold);
  CHECK(trip.output_mv == 1'000'000);

  SECTION("reset and acknowledgement with the button still pressed do nothing") {
    rig.press_reset();
    rig.core.post(Request::acknowledge);
    rig.run(1000);
    CHECK(rig.state() == S::tripped);
  }
  SECTION("only cause gone, reset released and acknowledgement together lead to SAFE_EARTHED") {
    rig.plant.stop_pressed = false;
    rig.run(100);
    rig.core.post(Request::acknowledge);
    rig.run(1000);
    CHECK(rig.state() == S::tripped);
    rig.press_reset();
    CHECK(rig.state() == S::safe_earthed);
    rig.run(60'000);
    CHECK(rig.state() == S::safe_earthed);  // reset never restarts
  }
  auto const events = rig.events();
  CHECK(std::count_if(events.begin(), events.end(), [](auto const& e) { return e.kind == GuardEventKind::trip; }) == 1);
  auto const frozen = rig.core.take_frozen();
  REQUIRE(frozen.size() > 90);
  CHECK(frozen.back().monotonic_ns - frozen.front().monotonic_ns >= 900'000'000);
  CHECK(frozen.back().inputs.stop_a == false);
  CHECK(frozen.front().inputs.stop_a);
  CHECK(rig.core.take_frozen().empty());
}

TEST_CASE("a gate that is opened at any moment of a run trips, and the bench makes itself safe", "[guard][core]") {
  for (std::int64_t after = 0; after < 14'000; after += 130) {
    Rig rig;
    rig.plant.relay = true;
    rig.until(S::safe_earthed);
    rig.core.post_prepare(guard::proof::full_step());
    std::int64_t const began = rig.now_ms;
    bool opened = false;
    for (int n = 0; n < 3600; ++n) {
      if (!opened && rig.now_ms - began >= after) opened = rig.plant.gate_open = true;
      if (rig.state() == S::armed && rig.stage() == Stage::second) rig.core.post_close(&rig.permit);
      if (rig.state() == S::ramp_up && rig.core.snapshot().output_mv == 1'000'000) rig.core.post(Request::reached);
      if (rig.state() == S::hold && rig.core.snapshot().energised_ms > 3000) rig.core.post(Request::stop);
      rig.turn();
    }
    INFO("gate opened " << after << " ms after PREPARE");
    CHECK(opened);
    bool const safe = rig.state() == S::safe_earthed || (rig.state() == S::tripped && rig.stage() == Stage::third);
    CHECK(safe);
    CHECK(rig.plant.earth_ms == 0);
    CHECK_FALSE(rig.plant.live());
    if (rig.state() == S::tripped) CHECK(rig.core.snapshot().trip.first == 2);
  }
}

TEST_CASE("a permit given back, or dropped by an unwinding holder, is the step's own stop", "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.permit.returned = true;
  rig.turn();
  CHECK(rig.state() == S::ramp_down);
  CHECK(rig.until(S::safe_earthed) >= 0);
  CHECK_FALSE(rig.core.snapshot().trip.happened);
}

TEST_CASE("a regulator that does not come down is category 0 at the bound, or earlier when it stands still",
          "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.plant.regulator_stuck = true;
  rig.core.post(Request::stop);
  auto const stuck = rig.until(S::tripped, 20'000);
  CHECK(stuck >= 2000);
  CHECK(stuck <= 2100);
  CHECK(rig.core.snapshot().trip.first == 14);

  Rig slow;
  slow.energise();
  slow.plant.ramp_per_ms = 1'000'000 / 40'000.0;  // falls, but would take 40 s
  slow.core.post(Request::stop);
  auto const late = slow.until(S::tripped, 20'000);
  CHECK(late >= 15'000);
  CHECK(late <= 15'100);
  CHECK(slow.core.snapshot().trip.first == 17);
}

TEST_CASE("a welded contactor locks out and trips the upstream breaker; only the supervisor's path leads out",
          "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.plant.weld_first = rig.plant.weld_second = true;
  rig.plant.stop_pressed = true;
  rig.turn();
  CHECK(rig.state() == S::tripped);
  auto const late = rig.until(S::lockout, 1000);
  CHECK(late >= 200);
  CHECK(late <= 250);
  rig.turn();
  CHECK(rig.plant.out.trip_breaker);
  CHECK(rig.plant.out.siren);
  auto const trip = rig.core.snapshot().trip;
  CHECK(trip.first == 1);
  REQUIRE(trip.later_count > 0);
  CHECK(std::count(trip.later.begin(), trip.later.end(), 11) == 1);
  rig.plant.volts_mv = 0;  // the breaker has cut
  rig.run(60'000);
  CHECK(rig.state() == S::lockout);
  rig.press_reset();
  rig.core.post(Request::acknowledge);
  rig.core.post(Request::release);  // the weld is still there
  rig.run(100);
  CHECK(rig.state() == S::lockout);
  rig.plant.weld_first = rig.plant.weld_second = rig.plant.stop_pressed = false;
  rig.run(1000);
  rig.core.post(Request::release);
  rig.run(20);
  CHECK(rig.state() == S::unknown);
  CHECK(rig.until(S::safe_earthed) >= 29'900);
  rig.plant.earth_on_live = false;  // both contactors of the source were welded: earthed after the breaker had cut
}

TEST_CASE("one welded contactor is found by the normal stop, whichever it is, in two stops", "[guard][core]") {
  for (bool const first : {true, false}) {
    Rig rig;
    rig.plant.relay = true;
    (first ? rig.plant.weld_first : rig.plant.weld_second) = true;
    rig.energise();
    rig.core.post(Request::stop);
    rig.run(5000);
    CHECK(rig.state() == S::lockout);
    CHECK(rig.core.snapshot().trip.first == 11);
  }
}

TEST_CASE("a dead voltage channel is noticed on the way up, and never proves LOW", "[guard][core]") {
  Rig rig;
  rig.arm();
  rig.plant.channel_dead = true;
  rig.core.post_close(&rig.permit);
  auto const noticed = rig.until(S::tripped, 10'000);
  CHECK(noticed >= 2000);
  CHECK(rig.core.snapshot().trip.first == 14);
  CHECK(rig.until(S::lockout, 60'000) >= 0);  // LOW cannot be proven: treat as live, test by hand
  auto const earthed = rig.now_ms;
  while (rig.plant.earth_ms != 0 && rig.now_ms - earthed < 60'000) rig.turn();
  CHECK(rig.plant.earth_ms == 0);  // and yet it earths, after the resistor's time
}

TEST_CASE("a dead current channel, without which over-current cannot be seen, trips", "[guard][core]") {
  Rig rig;
  rig.plant.current_dead = true;
  rig.arm();
  rig.core.post_close(&rig.permit);
  rig.until(S::ramp_up);
  auto const noticed = rig.until(S::tripped, 10'000);
  CHECK(noticed >= 2000);
  CHECK(noticed < 3000);
  CHECK(rig.core.snapshot().trip.first == 24);
}

TEST_CASE("with a voltage relay a channel that was never seen to work is seconded", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  CHECK(rig.until(S::safe_earthed, 5000) >= 0);  // proven at once, no full resistor time
  CHECK(rig.core.snapshot().machine.owed == guard::Owed::nothing);
  rig.arm();
  rig.core.post_close(&rig.permit);
  rig.until(S::ramp_up);
  rig.core.post(Request::stop);  // stopped before any volts
  rig.turn();
  CHECK(rig.until(S::safe_earthed, 10'000) >= 0);
}

TEST_CASE("a warning counts only while the block answers: a lamp that may not be lit warns nobody", "[guard][core]") {
  std::int64_t took[2] = {};
  for (bool const dead : {false, true}) {
    Rig rig;
    rig.plant.relay = true;
    REQUIRE(rig.until(S::safe_earthed) >= 0);
    rig.core.post_prepare(guard::proof::full_step());
    REQUIRE(rig.until(S::warning) >= 0);
    rig.plant.dead_link = dead;
    rig.run(300);
    rig.plant.dead_link = false;
    REQUIRE(rig.until(S::armed) >= 0);
    took[dead ? 1 : 0] = rig.now_ms;
  }
  CHECK(took[1] - took[0] >= 290);
}

TEST_CASE("a trip reaches the block in the turn that saw its cause, not in the one after", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.energise();
  rig.plant.gate_open = true;
  rig.plant.chain_cut = false;
  rig.turn();
  CHECK(rig.state() == S::tripped);
  CHECK_FALSE(rig.plant.out.first[1]);
  CHECK_FALSE(rig.plant.out.second[1]);
  auto const exchanges = rig.plant.exchanges;
  rig.turn();
  CHECK(rig.plant.exchanges == exchanges + 1);
}

TEST_CASE("a turn later than the stale limit sends no energy again: the block may have cut meanwhile",
          "[guard][core]") {
  for (std::int64_t const late_ms : {1010, 5000}) {
    Rig rig;
    rig.plant.relay = true;
    rig.energise();
    REQUIRE(rig.plant.out.first[1]);
    rig.now_ms += late_ms;
    rig.turn();
    // What the block got in that very turn, before its image was judged.
    CHECK_FALSE(rig.plant.out.first[1]);
    CHECK_FALSE(rig.plant.out.second[1]);
    CHECK_FALSE(rig.plant.out.ramp_permitted);
    CHECK_FALSE(rig.plant.out.open_earth);  // the watchdog's second is over: the block has let it go
    CHECK(rig.plant.out.resistor);
    CHECK(rig.state() == S::tripped);
    CHECK(rig.core.snapshot().trip.first == 23);
    CHECK_FALSE(rig.permit.live);
  }
}

TEST_CASE("volts that are gone after a turn that came too late are no flash-over: the unit is not blamed",
          "[guard][core]") {
  auto step = guard::proof::full_step();
  step.stop = StopWay::dielectric;
  Rig rig;
  rig.plant.relay = true;
  rig.energise(step);
  SECTION("this program stood still, its block cut") {
    rig.now_ms += 2000;
    rig.turn();
    CHECK(rig.core.snapshot().trip.first == 23);
  }
  SECTION("it looked on: a flash-over") {
    rig.plant.volts_mv = 0;
    rig.turn();
    CHECK(rig.core.snapshot().trip.first == 15);
  }
  REQUIRE(rig.state() == S::tripped);
}

TEST_CASE("a late turn and a late answer are one silence: what the block did in it is not the cause", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.energise();
  rig.plant.chain_cut = true;  // as its watchdog does
  auto const first_after = [&](int turn_ms, int answer_ms) {
    rig.now_ms += turn_ms;
    rig.plant.answer_late_ms = answer_ms;
    rig.turn();
    REQUIRE(rig.state() == S::tripped);
    return int{rig.core.snapshot().trip.first};
  };
  SECTION("each is shorter than the stale limit, both together are longer") { CHECK(first_after(550, 480) == 23); }
  SECTION("together they are shorter") { CHECK(first_after(400, 400) != 23); }
}

TEST_CASE("a link lost while energised trips at the stale limit and is not made safe on paper", "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.plant.dead_link = true;
  auto const lost = rig.until(S::tripped, 5000);
  CHECK(lost >= 1000);
  CHECK(lost <= 1050);
  CHECK(rig.core.snapshot().trip.first == 23);
  SECTION("it comes back: the bench is made safe") {
    rig.run(500);
    rig.plant.dead_link = false;
    rig.run(10'000);
    CHECK(rig.state() == S::tripped);
    CHECK(rig.stage() == Stage::third);
  }
  SECTION("it does not come back: locked out") {
    CHECK(rig.until(S::lockout, 60'000) >= 0);
    rig.plant.dead_link = false;
    rig.run(60'000);
    CHECK(rig.plant.earth_ms == 0);
  }
}

TEST_CASE("another owner's number in the heartbeat word locks out", "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.plant.foreign = 4711;
  rig.turn();
  CHECK(rig.state() == S::lockout);
  CHECK(rig.core.snapshot().trip.first == guard::foreign_owner);
}

TEST_CASE("a hard-wired chain that is open keeps the earth closed and is said; one that opens trips, and is no lockout",
          "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.until(S::safe_earthed);
  rig.plant.chain_cut = true;
  rig.core.post_prepare(guard::proof::full_step());
  rig.run(40'000);
  CHECK(rig.state() == S::safe_earthed);
  CHECK((rig.core.snapshot().refused & guard::bit(guard::chain_open)) != 0);
  rig.plant.chain_cut = false;
  rig.arm();
  rig.plant.chain_cut = true;
  rig.run(10'000);
  CHECK(rig.state() == S::tripped);
  CHECK(rig.stage() == Stage::third);
  CHECK(rig.core.snapshot().trip.first == guard::chain_open);
}

TEST_CASE("earth that does not close again locks out", "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.plant.earth_stuck = true;
  rig.core.post(Request::stop);
  CHECK(rig.until(S::lockout, 20'000) >= 0);
  CHECK(rig.core.snapshot().trip.first == 8);
  rig.plant.earth_stuck = false;
}

TEST_CASE(
    "an unbroken area goes from stop to ARMED without warning, lock held, and a second step needs its declaration",
    "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.core.post(Request::stop_hold);
  rig.turn();
  auto const back = rig.until(S::armed, 10'000);
  CHECK(back > 0);
  CHECK(back < 4000);  // the round through SAFE_EARTHED costs some 13 s
  CHECK(rig.stage() == Stage::third);
  CHECK(rig.plant.earth_ms == 500);
  rig.core.post_close(&rig.permit);
  rig.run(100);
  CHECK(rig.state() == S::armed);  // no declaration, no energy
  auto second = guard::proof::full_step();
  second.ceiling_mv = 1'050'000;
  rig.core.post_prepare(second);
  rig.turn();
  CHECK(rig.stage() == Stage::second);
  rig.core.post_close(&rig.permit);
  CHECK(rig.until(S::ramp_up, 1000) >= 0);
  rig.plant.target_mv = 1'060'000;
  CHECK(rig.until(S::tripped, 2000) >= 0);  // by the new ceiling
  CHECK(rig.core.snapshot().trip.first == 16);
}

TEST_CASE("a held area that nobody uses ends earthed", "[guard][core]") {
  Rig rig;
  rig.energise();
  rig.core.post(Request::stop_hold);
  rig.turn();
  rig.until(S::armed);
  CHECK(rig.until(S::safe_earthed, 40'000) >= 30'000);
}

TEST_CASE("direct current: short closed, current measured gone for its time, then contactors, then earth",
          "[guard][core]") {
  Rig rig;
  auto const step = guard::proof::full_step(SourcePath::resistance);
  rig.plant.path = 3;
  rig.energise(step);
  CHECK(rig.plant.current_ua > 900'000);
  CHECK(rig.plant.out.open_short);
  rig.core.post(Request::stop);
  rig.turn();
  rig.turn();
  CHECK_FALSE(rig.plant.out.open_short);
  auto const decayed = rig.until(S::discharge, 15'000);
  CHECK(decayed >= 2000);
  CHECK(rig.plant.current_ua < 10'000);
  CHECK(rig.until(S::safe_earthed, 10'000) >= 0);
  CHECK_FALSE(rig.plant.out.open_short);

  Rig broken;
  broken.plant.path = 3;
  broken.energise(step);
  broken.plant.short_stuck_open = true;
  broken.core.post(Request::stop);
  CHECK(broken.until(S::tripped, 20'000) >= 0);
  CHECK(broken.until(S::lockout, 60'000) >= 0);
}

TEST_CASE("after an insulation test the resistor serves four times the time applied", "[guard][core]") {
  Rig rig;
  auto const step = guard::proof::full_step(SourcePath::insulation);
  rig.arm(step);
  rig.plant.path = 5;
  rig.core.post_close(&rig.permit);
  rig.until(S::ramp_up);
  rig.run(5000);
  auto const applied = rig.core.snapshot().energised_ms;
  rig.core.post(Request::stop);
  rig.turn();
  CHECK(rig.until(S::discharge, 2000) >= 0);
  auto const discharge = rig.until(S::earthing, 60'000);
  CHECK(discharge >= 4 * static_cast<std::int64_t>(applied));
  CHECK(discharge <= 4 * static_cast<std::int64_t>(applied) + 1500);
  CHECK(rig.until(S::safe_earthed) >= 0);
}

TEST_CASE("a step that stands longer than it declared trips", "[guard][core]") {
  Rig rig;
  auto step = guard::proof::full_step();
  step.longest_ms = 5000;
  rig.energise(step);
  CHECK(rig.until(S::tripped, 6000) >= 0);
  CHECK(rig.core.snapshot().trip.first == 33);
}

TEST_CASE("a stop drops every wish that was posted before it", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.until(S::safe_earthed);
  rig.core.post_prepare(guard::proof::full_step());
  auto const ticket = rig.core.post(Request::safe);
  rig.turn();
  CHECK(rig.core.snapshot().handled >= ticket);
  rig.run(10'000);
  CHECK(rig.state() == S::safe_earthed);
}

TEST_CASE("a missing permissive keeps the area unlocked and says so; the window ends it", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.plant.gate_open = true;
  rig.until(S::safe_earthed);
  rig.events();
  rig.core.post_prepare(guard::proof::full_step());
  rig.run(1000);
  CHECK(rig.state() == S::securing);
  CHECK_FALSE(rig.plant.out.lock_gate);
  CHECK((rig.core.snapshot().missing & guard::bit(2)) != 0);
  CHECK(rig.until(S::safe_earthed, 40'000) >= 28'000);
  CHECK((rig.core.snapshot().refused & guard::bit(2)) != 0);
  auto const events = rig.events();
  CHECK(std::any_of(events.begin(), events.end(), [](auto const& e) { return e.kind == GuardEventKind::refused; }));
}

TEST_CASE("an overflow of the event ring is counted, never waited for", "[guard][core]") {
  Rig rig;
  rig.plant.relay = true;
  rig.until(S::safe_earthed);
  for (int n = 0; n < 200; ++n) {
    rig.core.post_prepare(guard::proof::full_step());
    rig.turn();
    rig.core.post(Request::stop);
    rig.turn();
  }
  CHECK(rig.core.events_lost() > 0);
  CHECK(rig.events().size() == 256);
}

TEST_CASE("half a million turns of anybody pressing anything never make a dangerous moment", "[guard][core]") {
  std::mt19937_64 random(20300101);
  std::array<bool, guard_state_count> seen{};
  for (int run = 0; run < 25; ++run) {
    Rig rig;
    rig.plant.relay = true;
    for (int n = 0; n < 20'000; ++n) {
      auto const dice = random() % 4000;
      if (dice < 6) rig.core.post(static_cast<Request>(1 + random() % 9));
      if (dice < 100 || (dice < 2000 && rig.state() == S::safe_earthed))
        rig.core.post_prepare(guard::proof::full_step());
      if (rig.state() == S::armed && dice < 1000) rig.core.post_close(&rig.permit);
      if (rig.state() == S::hold && dice < 20) rig.core.post(dice < 10 ? Request::stop : Request::stop_hold);
      if (rig.state() == S::ramp_up && dice < 40) rig.core.post(Request::reached);
      if (rig.state() == S::tripped && dice < 40) rig.core.post(Request::acknowledge);
      if (dice == 3997) rig.plant.stop_pressed = true;
      if (dice == 3998) rig.plant.gate_open = true;
      if (dice < 20) rig.plant.stop_pressed = rig.plant.gate_open = false;
      if (random() % 40 == 0) rig.plant.reset_pressed = !rig.plant.reset_pressed;
      rig.turn();
      seen[static_cast<std::size_t>(rig.state())] = true;
      if (rig.plant.earth_on_live || rig.plant.unlocked_live) break;
      // Three turns after the gate opened: one to see, one to send, the contactors' own time.
      if (rig.plant.gate_open && rig.plant.live()) REQUIRE(rig.state() == S::tripped);
      if (rig.state() == S::lockout) break;  // too many resets: a supervisor's business
    }
  }
  // The walk means something only if it has been about.
  for (int state = static_cast<int>(S::safe_earthed); state < guard_state_count; ++state) {
    INFO("state " << state);
    CHECK(seen[static_cast<std::size_t>(state)]);
  }
}
