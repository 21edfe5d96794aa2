// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <atomic>
#include <mutex>
#include <thread>

#include "plant.hpp"
#include "tests_seq/guard/runner.hpp"

using namespace benchward;
using guard::Request;
using S = GuardState;

namespace {

/// A wall that stands until the test grants it time; the test may make it jump.
class GrantedWall final : public WakeClock {
 public:
  std::int64_t wall_ns() const noexcept override { return now_.load(); }
  void sleep_until(std::int64_t wall, std::atomic<bool> const& stop) noexcept override {
    while (granted_.load() < wall && !stop.load()) std::this_thread::yield();
    auto now = now_.load();
    while (now < wall && !now_.compare_exchange_weak(now, wall)) {
    }
  }
  Stamp bench_now() const noexcept override { return {now_.load() * 4, now_.load() * 4 / 1000}; }
  double scale() const noexcept override { return 4.0; }
  void grant(std::int64_t ns) { granted_.fetch_add(ns); }
  void jump(std::int64_t ns) {
    granted_.fetch_add(ns);
    now_.fetch_add(ns);
  }
  std::int64_t granted() const { return granted_.load(); }

 private:
  std::atomic<std::int64_t> now_{0}, granted_{0};
};

/// Not used here: the desk's coroutines have their own test on the virtual clock.
class NoClock final : public Clock {
 public:
  Stamp now() const override { return {}; }
  double scale() const override { return 1.0; }
  Task<void> wait_until(std::int64_t) override { co_return; }
};

/// The small bench, shared with the test's thread.
struct SharedPlant final : BenchLink {
  guard::proof::Plant plant;
  std::mutex mutex;
  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override {
    std::lock_guard const hold(mutex);
    return plant.exchange(outputs, now_ns);
  }
};

/// Grants one turn after the other until the condition holds.
template <class Condition>
void turns_until(GrantedWall& wall, GuardCore const& core, Condition const& holds) {
  for (int turn = 0; turn < 20'000; ++turn) {
    if (holds(core.snapshot())) return;
    auto const before = core.snapshot().turns;
    wall.grant(2'500'000);  // one period of 10 ms at four times
    while (core.snapshot().turns == before) std::this_thread::yield();
  }
  FAIL("not reached");
}
void wait_for(GrantedWall& wall, GuardCore const& core, S state, guard::Stage stage = guard::Stage::first) {
  turns_until(wall, core, [&](auto const& seen) { return seen.machine.at == state && seen.machine.stage == stage; });
}

}  // namespace

TEST_CASE("the guard runs on its own thread: posts, permit, snapshots and events cross without a lock",
          "[guard][thread]") {
  SharedPlant link;
  link.plant.relay = true;
  auto permit = std::make_shared<PermitLink>();
  GrantedWall wall;
  NoClock clock;
  GuardCore core(link.plant.declaration, link, 5);
  ThreadGuard desk(core, clock, wall, milliseconds(10));
  auto const rights = desk.start();
  CHECK((rights.realtime || !rights.words.empty()));
  CHECK((rights.memory_locked || !rights.words.empty()));

  // A second reader, as the panel would be.
  std::atomic<bool> stop{false};
  std::atomic<std::uint64_t> reads{0};
  std::thread reader([&] {
    std::uint64_t last = 0;
    while (!stop.load()) {
      auto const seen = core.snapshot();
      if (seen.turns < last) std::terminate();  // a torn or older snapshot
      last = seen.turns;
      reads.fetch_add(1);
    }
  });

  while (reads.load() == 0) std::this_thread::yield();
  wait_for(wall, core, S::safe_earthed);
  core.post_prepare(guard::proof::full_step());
  wait_for(wall, core, S::armed, guard::Stage::second);
  core.post_close(permit.get());
  wait_for(wall, core, S::ramp_up);
  CHECK(permit->live);
  permit->returned = true;
  wait_for(wall, core, S::safe_earthed);
  CHECK_FALSE(permit->live);
  CHECK_FALSE(core.snapshot().trip.happened);
  GuardEvent event;
  int entered = 0;
  while (core.take_event(event)) entered += event.kind == GuardEventKind::state ? 1 : 0;
  CHECK(entered >= 9);
  stop = true;
  reader.join();
}

TEST_CASE("a guard's turn later than the stale limit is a trip, whoever was the cause; missed turns are counted",
          "[guard][thread]") {
  SharedPlant link;
  link.plant.relay = true;
  auto permit = std::make_shared<PermitLink>();
  GrantedWall wall;
  NoClock clock;
  GuardCore core(link.plant.declaration, link, 5);
  ThreadGuard desk(core, clock, wall, milliseconds(10));
  desk.start();
  wait_for(wall, core, S::safe_earthed);
  core.post_prepare(guard::proof::full_step());
  wait_for(wall, core, S::armed, guard::Stage::second);
  core.post_close(permit.get());
  wait_for(wall, core, S::ramp_up);
  wall.jump(300'000'000);  // 1.2 s of bench time
  turns_until(wall, core, [](auto const& seen) { return seen.machine.at == S::tripped; });
  CHECK(core.snapshot().trip.first == 23);
  turns_until(wall, core, [](auto const& seen) { return seen.overruns > 50; });  // published with the next turn
  CHECK(core.snapshot().overruns > 50);
}
