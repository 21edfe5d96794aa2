// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <exception>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/cancellation_state.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/this_coro.hpp>

#include "plant.hpp"
#include "tests_seq/guard/runner.hpp"

using namespace benchward;
namespace asio = boost::asio;
using S = GuardState;

namespace {

/// Desk, core and small bench on the virtual clock. Members end in the reverse order: clock before io_context.
struct Room {
  asio::io_context io;
  std::unique_ptr<VirtualClock> clock = std::make_unique<VirtualClock>(0);
  guard::proof::Plant plant;
  GuardCore core{plant.declaration, plant, 77};
  std::unique_ptr<VirtualGuard> desk = std::make_unique<VirtualGuard>(core, *clock, milliseconds(10));

  Room() { plant.relay = true; }
  ~Room() {
    desk.reset();
    clock.reset();
    CHECK_FALSE(plant.earth_on_live);
    CHECK_FALSE(plant.unlocked_live);
  }
  double now_s() const { return between({}, clock->now()).in(seconds); }

  /// Runs one coroutine to its end; rethrows.
  void run(std::function<Task<void>()> body) {
    bool done = false;
    std::exception_ptr thrown;
    asio::co_spawn(io, body(), [&](std::exception_ptr error) {
      thrown = error;
      done = true;
    });
    auto const limit = clock->now().monotonic_ns + 600'000'000'000;
    bool const ended = clock->run(io, [&] { return done || clock->now().monotonic_ns > limit; });
    REQUIRE(ended);
    REQUIRE(done);
    if (thrown) std::rethrow_exception(thrown);
  }
};

StepEnergy no_load() {
  StepEnergy step;
  step.test = "no_load";
  step.source = SourcePath::ac_source;
  step.set = volts(1000);
  step.ceiling = volts(1100);
  step.highest_ratio = 30.0;
  step.trip_current = amperes(10);
  step.longest = seconds(60);
  step.live_terminals = 0x6;
  return step;
}

Task<void> energise_and_stop(Room& room) {
  auto step = no_load();
  auto prepared = co_await room.desk->prepare(std::move(step));
  REQUIRE(prepared.ok());
  CHECK(room.desk->status().state == S::armed);
  auto closed = co_await room.desk->close();
  REQUIRE(closed.ok());
  auto permit = std::move(closed).value();
  CHECK(permit.live());
  co_await room.clock->wait(seconds(1));
  room.desk->reached();
  co_await room.clock->wait(seconds(1));
  CHECK(room.desk->status().state == S::hold);
  CHECK(room.desk->status().output.in(volts) == Approx(1000));
  CHECK(room.desk->status().area == AreaStatus::in_operation);
  auto stopped = co_await room.desk->stop(false);
  CHECK(stopped.ok());
  CHECK_FALSE(permit.live());
  auto const status = room.desk->status();
  CHECK(status.state == S::safe_earthed);
  CHECK(status.earth_proven);
  CHECK(status.simulated);
}

Task<void> refused(Room& room, StepEnergy step, std::string words) {
  auto prepared = co_await room.desk->prepare(std::move(step));
  REQUIRE_FALSE(prepared.ok());
  CHECK(prepared.error().id == "guard.refused");
  CHECK_THAT(prepared.error().words, Catch::Contains(words));
}

Task<void> trip_and_acknowledge(Room& room) {
  auto step = no_load();
  auto prepared = co_await room.desk->prepare(std::move(step));
  REQUIRE(prepared.ok());
  auto closed = co_await room.desk->close();
  REQUIRE(closed.ok());
  auto permit = std::move(closed).value();
  co_await room.clock->wait(seconds(1));
  room.plant.stop_pressed = true;
  co_await room.desk->changed(seconds(5));
  CHECK(room.desk->status().state == S::tripped);
  CHECK_FALSE(permit.live());
  auto stopped = co_await room.desk->stop(false);
  REQUIRE_FALSE(stopped.ok());
  CHECK(stopped.error().id == "guard.tripped");
  CHECK(stopped.error().trip.first.number == 1);
  CHECK(stopped.error().trip.in_state == S::ramp_up);
  CHECK(room.desk->status().earth_proven);
  auto missing = room.desk->status().missing;
  REQUIRE(missing.size() >= 3);
  CHECK(missing.front().number == 1);
  CHECK(missing.front().words == "Emergency stop pressed or faulty");
  room.plant.stop_pressed = false;
  room.clock->call_at(room.clock->now().monotonic_ns + 3'000'000'000, [&room] { room.plant.reset_pressed = true; });
  room.clock->call_at(room.clock->now().monotonic_ns + 3'500'000'000, [&room] { room.plant.reset_pressed = false; });
  auto acknowledged = co_await room.desk->acknowledge("A. Person");
  CHECK(acknowledged.ok());
  CHECK(room.desk->status().state == S::safe_earthed);
}

Task<void> prepared_and_closed(Room& room, bool& energised) {
  auto step = no_load();
  auto prepared = co_await room.desk->prepare(std::move(step));
  REQUIRE(prepared.ok());
  auto closed = co_await room.desk->close();
  REQUIRE(closed.ok());
  auto permit = std::move(closed).value();
  energised = true;
  co_await room.clock->wait(hours(1));
}

/// A run as the sequencer writes it: whatever ends the body, the bench is made safe.
Task<void> aborted_run(Room& room, bool& energised, bool& made_safe) {
  std::exception_ptr why;
  try {
    co_await prepared_and_closed(room, energised);
  } catch (...) {
    why = std::current_exception();
  }
  // Without these two lines the co_await below would throw at once, and the shutdown would be skipped.
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  co_await asio::this_coro::throw_if_cancelled(false);
  co_await room.desk->make_safe("operator");
  made_safe = room.desk->status().earth_proven;
  if (why) std::rethrow_exception(why);
}

Task<void> unwound(Room& room) {
  bool energised = false;
  auto body = [&room, &energised]() -> Task<void> {
    auto step = no_load();
    auto prepared = co_await room.desk->prepare(std::move(step));
    REQUIRE(prepared.ok());
    auto closed = co_await room.desk->close();
    REQUIRE(closed.ok());
    auto permit = std::move(closed).value();
    energised = permit.live();
    co_await room.clock->wait(seconds(1));
  };
  auto running = body();
  co_await std::move(running);  // the permit dies with the body
  CHECK(energised);
  co_await room.clock->wait(milliseconds(50));
  CHECK(room.desk->status().state == S::ramp_down);
  co_await room.clock->wait(seconds(8));
  CHECK(room.desk->status().state == S::safe_earthed);
  CHECK_FALSE(room.desk->status().trip.happened);
}

Task<void> unbroken_area(Room& room) {
  for (int round = 0; round < 3; ++round) {
    auto step = no_load();
    step.set = volts(900 + 100 * round);
    step.ceiling = step.set * 1.1;
    room.plant.target_mv = static_cast<std::int32_t>(step.set.in(millivolts));
    double const before = room.now_s();
    auto prepared = co_await room.desk->prepare(std::move(step));
    REQUIRE(prepared.ok());
    if (round > 0) CHECK(room.now_s() - before < 0.1);
    auto closed = co_await room.desk->close();
    REQUIRE(closed.ok());
    auto permit = std::move(closed).value();
    co_await room.clock->wait(seconds(1));
    auto stopped = co_await room.desk->stop(true);
    CHECK(stopped.ok());
    CHECK(room.desk->status().state == S::armed);
    CHECK(room.plant.out.lock_gate);
    CHECK(room.plant.out.red);
  }
  auto stopped = co_await room.desk->stop(false);
  CHECK(stopped.ok());
  CHECK(room.desk->status().state == S::safe_earthed);
}

Task<void> locked_out(Room& room) {
  co_await room.clock->wait(seconds(5));
  room.plant.foreign = 999;
  co_await room.clock->wait(seconds(1));
  CHECK(room.desk->status().state == S::lockout);
  auto step = no_load();
  auto prepared = co_await room.desk->prepare(std::move(step));
  REQUIRE_FALSE(prepared.ok());
  CHECK(prepared.error().id == "guard.lockout");
  auto nobody = co_await room.desk->release_lockout("", "");
  CHECK_FALSE(nobody.ok());
  auto standing = co_await room.desk->release_lockout("S. Visor", "owner found");
  CHECK_FALSE(standing.ok());
  CHECK_THAT(standing.error().words, Catch::Contains("the cause is still there"));
  room.plant.foreign = 0;
  co_await room.clock->wait(seconds(1));
  auto released = co_await room.desk->release_lockout("S. Visor", "owner found");
  CHECK(released.ok());
  CHECK(room.desk->status().state == S::safe_earthed);
}

}  // namespace

TEST_CASE("prepare, close, measure, stop: the desk answers when each is proven", "[guard][desk]") {
  Room room;
  room.run([&] { return energise_and_stop(room); });
}

TEST_CASE("a step that cannot be declared is refused in words", "[guard][desk]") {
  Room room;
  auto step = no_load();
  SECTION("ceiling below the voltage") {
    step.ceiling = volts(900);
    room.run([&] { return refused(room, step, "ceiling"); });
  }
  SECTION("no source") {
    step.source = SourcePath::none;
    room.run([&] { return refused(room, step, "source path"); });
  }
  SECTION("no end") {
    step.longest = seconds(0);
    room.run([&] { return refused(room, step, "longest time"); });
  }
  SECTION("not a number") {
    step.set = volts(std::nan(""));
    room.run([&] { return refused(room, step, "voltage"); });
  }
  SECTION("no over-current limit") {
    step.trip_current = amperes(0);
    room.run([&] { return refused(room, step, "I15"); });
  }
  SECTION("ratio below one") {
    step.highest_ratio = 0.5;
    room.run([&] { return refused(room, step, "ratio"); });
  }
  SECTION("stop way of another source") {
    step.stop = StopWay::direct_current;
    room.run([&] { return refused(room, step, "short and decay"); });
  }
  SECTION("the gate stays open") {
    room.plant.gate_open = true;
    room.run([&] { return refused(room, step, "I02 Close the gate"); });
  }
  SECTION("the block does not answer") {
    room.plant.dead_link = true;
    room.run([&] { return refused(room, step, "does not answer"); });
  }
}

TEST_CASE("a trip is left by reset and acknowledgement alone, and the desk waits for them", "[guard][desk]") {
  Room room;
  room.run([&] { return trip_and_acknowledge(room); });
}

TEST_CASE("a run that is cancelled is still made safe", "[guard][desk]") {
  Room room;
  asio::cancellation_signal cancel;
  bool energised = false, made_safe = false, done = false;
  std::exception_ptr thrown;
  asio::co_spawn(room.io, aborted_run(room, energised, made_safe),
                 asio::bind_cancellation_slot(cancel.slot(), [&](std::exception_ptr error) {
                   thrown = error;
                   done = true;
                 }));
  room.clock->call_at(20'000'000'000, [&] {
    CHECK(energised);
    CHECK(room.plant.live());
    cancel.emit(asio::cancellation_type::terminal);
  });
  CHECK(room.clock->run(room.io, [&] { return done; }));
  CHECK(made_safe);
  CHECK(room.now_s() > 20.0);
  CHECK_FALSE(room.plant.live());
  CHECK(thrown != nullptr);
}

TEST_CASE("a second cancellation while the bench is made safe changes nothing", "[guard][desk]") {
  Room room;
  asio::cancellation_signal cancel;
  bool energised = false, made_safe = false, done = false;
  asio::co_spawn(room.io, aborted_run(room, energised, made_safe),
                 asio::bind_cancellation_slot(cancel.slot(), [&](std::exception_ptr) { done = true; }));
  for (std::int64_t at_ms = 20'000; at_ms < 24'000; at_ms += 500) {
    room.clock->call_at(at_ms * 1'000'000, [&] { cancel.emit(asio::cancellation_type::terminal); });
  }
  CHECK(room.clock->run(room.io, [&] { return done; }));
  CHECK(made_safe);
}

TEST_CASE("a permit that dies with its holder brings the step's own stop, without a trip", "[guard][desk]") {
  Room room;
  room.run([&] { return unwound(room); });
}

TEST_CASE("steps on one connection follow each other on an unbroken area", "[guard][desk]") {
  Room room;
  room.run([&] { return unbroken_area(room); });
}

TEST_CASE("a lockout is released by a supervisor with a reason, once the cause is gone", "[guard][desk]") {
  Room room;
  room.run([&] { return locked_out(room); });
}
