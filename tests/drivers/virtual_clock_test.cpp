// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <stdexcept>
#include <string>
#include <vector>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>

#include "drivers/time/virtual_clock.hpp"
#include "drivers/time/within.hpp"

using namespace benchward;
namespace asio = boost::asio;

namespace {

/// Runs one coroutine to its end on a virtual clock; rethrows what it threw.
void run(VirtualClock& clock, Task<void> task) {
  asio::io_context io;
  bool done = false;
  std::exception_ptr failure;
  asio::co_spawn(io, std::move(task), [&](std::exception_ptr error) {
    done = true;
    failure = error;
  });
  bool const ended = clock.run(io, [&] { return done; });
  clock.drop_waiters();
  if (failure) std::rethrow_exception(failure);
  REQUIRE(ended);
}

Task<void> note_after(Clock& clock, double s, std::string name, std::vector<std::string>& order) {
  co_await clock.wait(seconds(s));
  order.push_back(name);
}

Task<int> answer_after(Clock& clock, double s, int value) {
  co_await clock.wait(seconds(s));
  co_return value;
}

Task<int> fail_after(Clock& clock, double s) {
  co_await clock.wait(seconds(s));
  throw std::runtime_error("bus lost");
}

}  // namespace

TEST_CASE("virtual time starts at the given instant and jumps to the next waiter", "[drivers][time]") {
  VirtualClock clock(1'893'456'000'000'000);  // 2030-01-01T00:00:00Z
  CHECK(clock.now().monotonic_ns == 0);
  CHECK(clock.now().utc_us == 1'893'456'000'000'000);
  run(clock, clock.wait(hours(10)));
  CHECK(clock.now().monotonic_ns == 36'000'000'000'000);
  CHECK(clock.now().utc_us == 1'893'456'000'000'000 + 36'000'000'000);
}

TEST_CASE("events happen by instant, and at one instant in the order of asking", "[drivers][time]") {
  VirtualClock clock(0);
  std::vector<std::string> order;
  clock.call_at(2'000, [&] { order.push_back("late"); });
  clock.call_at(1'000, [&] { order.push_back("a"); });
  clock.call_at(1'000, [&] { order.push_back("b"); });
  clock.run_until(5'000);
  CHECK(order == std::vector<std::string>{"a", "b", "late"});
  CHECK(clock.now().monotonic_ns == 5'000);
}

TEST_CASE("a repeating callback keeps its period and may cancel itself", "[drivers][time]") {
  VirtualClock clock(0);
  std::vector<std::int64_t> at;
  VirtualClock::Id id = 0;
  id = clock.call_every(100, 50, [&] {
    at.push_back(clock.now().monotonic_ns);
    if (at.size() == 3) clock.cancel(id);
  });
  clock.run_until(1'000);
  CHECK(at == std::vector<std::int64_t>{100, 150, 200});
  CHECK_THROWS_AS(clock.call_every(0, 0, [] {}), std::invalid_argument);
}

TEST_CASE("coroutines and callbacks interleave in time", "[drivers][time]") {
  VirtualClock clock(0);
  std::vector<std::string> order;
  clock.call_at(1'500'000'000, [&] { order.push_back("callback at 1.5"); });
  asio::io_context io;
  int ended = 0;
  auto const count = [&](std::exception_ptr) { ++ended; };
  asio::co_spawn(io, note_after(clock, 2, "two", order), count);
  asio::co_spawn(io, note_after(clock, 1, "one", order), count);
  CHECK(clock.run(io, [&] { return ended == 2; }));
  CHECK(order == std::vector<std::string>{"one", "callback at 1.5", "two"});
}

TEST_CASE("waiting for what never comes is said, not slept through", "[drivers][time]") {
  VirtualClock clock(0);
  asio::io_context io;
  CHECK_FALSE(clock.run(io, [] { return false; }));
}

TEST_CASE("a cancelled wait ends at once and no time passes", "[drivers][time]") {
  VirtualClock clock(0);
  asio::io_context io;
  asio::cancellation_signal stop;
  std::exception_ptr failure;
  bool done = false;
  asio::co_spawn(io, clock.wait(seconds(100)), asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr error) {
                   done = true;
                   failure = error;
                 }));
  clock.call_at(1'000, [&] { stop.emit(asio::cancellation_type::terminal); });
  CHECK(clock.run(io, [&] { return done; }));
  CHECK(clock.now().monotonic_ns == 1'000);
  CHECK(failure != nullptr);
}

TEST_CASE("a step that ends in time gives its value", "[drivers][time]") {
  VirtualClock clock(0);
  run(clock, [](VirtualClock& c) -> Task<void> {
    auto const got = co_await within(c, seconds(2), answer_after(c, 1, 7));
    CHECK(got == 7);
    CHECK(c.now().monotonic_ns == 1'000'000'000);
  }(clock));
}

TEST_CASE("a step that takes too long gives nothing, when the limit is up", "[drivers][time]") {
  VirtualClock clock(0);
  run(clock, [](VirtualClock& c) -> Task<void> {
    auto const got = co_await within(c, seconds(2), answer_after(c, 100, 7));
    CHECK_FALSE(got.has_value());
    CHECK(c.now().monotonic_ns == 2'000'000'000);
  }(clock));
}

TEST_CASE("a step that fails before its limit shows its own fault, not the time-out", "[drivers][time]") {
  VirtualClock clock(0);
  auto const failing = [](VirtualClock& c) -> Task<void> {
    auto const got = co_await within(c, seconds(50), fail_after(c, 1));
    FAIL("got a value out of a failure: " << got.value_or(-1));
  };
  CHECK_THROWS_WITH(run(clock, failing(clock)), "bus lost");
  CHECK(clock.now().monotonic_ns == 1'000'000'000);
}

TEST_CASE("the same program gives the same sequence of events twice", "[drivers][time]") {
  auto const once = [] {
    VirtualClock clock(0);
    std::string log;
    for (int i = 0; i < 200; ++i) {
      clock.call_at((i * 7919) % 97, [&log, i] { log += std::to_string(i) + " "; });
    }
    clock.run_until(1'000);
    return log;
  };
  CHECK(once() == once());
}
