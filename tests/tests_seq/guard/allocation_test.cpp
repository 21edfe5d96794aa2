// SPDX-License-Identifier: MIT
// The guard's thread as the station runs it, on Modbus TCP to a block in a process of its own: what it allocates.
#include <catch2/catch.hpp>

#include <atomic>
#include <cstdlib>
#include <memory>
#include <new>
#include <thread>

#include <time.h>

#include "drivers/bench/bench_document.hpp"
#include "drivers/instruments/bench_io_link.hpp"
#include "tests/benchmarks/latency/block.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/runner.hpp"

using namespace benchward;
using S = GuardState;

namespace {
thread_local std::uint64_t allocated = 0;  // by this thread
}

void* operator new(std::size_t size) {
  ++allocated;
  if (void* made = std::malloc(size)) return made;
  throw std::bad_alloc();
}
void operator delete(void* made) noexcept { std::free(made); }
void operator delete(void* made, std::size_t) noexcept { std::free(made); }

namespace {

/// The machine's clock. The guard's thread calls `sleep_until` after each turn: there its count is read.
class Wall final : public Clock, public WakeClock {
 public:
  Stamp now() const override { return {latency::now_ns(), latency::now_ns() / 1000}; }
  double scale() const noexcept override { return 1.0; }
  Task<void> wait_until(std::int64_t) override { co_return; }  // no coroutine waits here
  std::int64_t wall_ns() const noexcept override { return latency::now_ns(); }
  Stamp bench_now() const noexcept override { return now(); }
  void sleep_until(std::int64_t wall, std::atomic<bool> const& stop) noexcept override {
    count.store(allocated);
    timespec until{};
    until.tv_sec = static_cast<time_t>(wall / 1'000'000'000);
    until.tv_nsec = static_cast<long>(wall % 1'000'000'000);
    if (!stop.load()) ::clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr);
  }
  std::atomic<std::uint64_t> count{0};
};

bool reaches(GuardCore const& core, S state, guard::Stage stage) {
  auto const end = latency::now_ns() + 10'000'000'000;
  while (latency::now_ns() < end) {
    auto const seen = core.snapshot();
    if (seen.machine.at == state && seen.machine.stage == stage) return true;
    std::this_thread::yield();
  }
  return false;
}

}  // namespace

TEST_CASE("once its link is up the guard's thread allocates nothing: arming, energised, trip, earthing, reset",
          "[guard][thread]") {
  auto const bench = read_bench(BENCHWARD_SOURCE_DIR "/tests/benchmarks/latency/bench.json");
  latency::Block block(bench, false);
  block.begin();
  auto link = *bench.link(bench.io.link);
  link.address = block.address();
  Wall wall;
  BenchIoLink io(bench.io, link, wall);
  GuardCore core(guard_declaration(bench, 4242), io, 7);
  StepEnergy step;
  step.test = "allocations";
  step.source = SourcePath::ac_source;
  step.set = volts(20);
  step.ceiling = volts(25);
  step.trip_current = amperes(5);
  step.longest = seconds(20);
  auto const limits = step_limits(step, core.declaration());
  REQUIRE(limits.ok());
  auto permit = std::make_shared<PermitLink>();
  ThreadGuard guard(core, wall, wall, bench.guard.period);
  guard.start();
  REQUIRE(reaches(core, S::safe_earthed, guard::Stage::first));
  CHECK_FALSE(io.last_fault());
  auto const connected = wall.count.load();
  auto const mine = allocated;
  auto const one = std::make_unique<BenchInputs>();
  REQUIRE(allocated == mine + 1);  // the count counts

  core.post_prepare(limits.value());
  REQUIRE(reaches(core, S::armed, guard::Stage::second));
  core.post_close(permit.get());
  REQUIRE(reaches(core, S::ramp_up, guard::Stage::first));
  auto const turns = core.snapshot().turns;
  while (core.snapshot().turns < turns + 50) std::this_thread::yield();
  block.open_gate_at(latency::now_ns());
  REQUIRE(reaches(core, S::tripped, guard::Stage::third));
  block.begin();  // the gate is shut again
  core.post(guard::Request::acknowledge);
  auto const tripped = core.snapshot().turns;
  while (core.snapshot().turns < tripped + 20) std::this_thread::yield();
  CHECK(core.snapshot().turns > 60);
  CHECK(wall.count.load() == connected);
}
