// SPDX-License-Identifier: MIT
#include "tests_seq/guard/runner.hpp"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <stdexcept>

#include <pthread.h>
#include <sched.h>
#include <sys/mman.h>

namespace benchward {
namespace {

std::int64_t nanoseconds(Duration period, double scale) {
  double const ns = period.in(seconds)*1e9 / scale;
  if (!(ns >= 1e5) || ns > 1e10) {
    throw std::invalid_argument("the guard's period must be from 0.1 ms to 10 s of wall time");
  }
  return std::llround(ns);
}

/// Real-time priority for this thread and no paging for this process, where permitted.
ThreadRights ask_for_rights() {
  ThreadRights rights;
  sched_param priority{};
  priority.sched_priority = sched_get_priority_min(SCHED_FIFO) + 19;
  int const refused = pthread_setschedparam(pthread_self(), SCHED_FIFO, &priority);
  rights.realtime = refused == 0;
  if (refused != 0) {
    rights.words = std::string("real-time priority refused: ") + std::strerror(refused) +
                   "; the guard's turns may come late under load (allow it with the rtprio limit)";
  }
  rights.memory_locked = mlockall(MCL_CURRENT | MCL_FUTURE) == 0;
  if (!rights.memory_locked) {
    if (!rights.words.empty()) rights.words += ". ";
    rights.words += std::string("memory not locked: ") + std::strerror(errno) +
                    "; paging may delay the guard (allow it with the memlock limit)";
  }
  return rights;
}

}  // namespace

ThreadGuard::ThreadGuard(GuardCore& core, Clock& clock, WakeClock& wake, Duration period)
    : CoreDesk(core, clock, period), wake_(wake), wall_period_ns_(nanoseconds(period, wake.scale())) {}

ThreadGuard::~ThreadGuard() {
  stop_.store(true, std::memory_order_release);
  if (thread_.joinable()) thread_.join();
}

ThreadRights ThreadGuard::start() {
  if (thread_.joinable()) throw std::logic_error("the guard's thread runs already");
  thread_ = std::thread([this] { run(); });
  began_.wait(false, std::memory_order_acquire);
  return rights_;
}

void ThreadGuard::run() {
  rights_ = ask_for_rights();
  auto next = wake_.wall_ns();
  for (bool first = true;; first = false) {
    core().turn(wake_.bench_now());
    if (first) {
      began_.store(true, std::memory_order_release);
      began_.notify_all();
    }
    if (stop_.load(std::memory_order_acquire)) return;
    next += wall_period_ns_;
    // Missed wake-ups are not made up for: the next turn is at the next multiple of the period.
    auto const late = wake_.wall_ns() - next;
    if (late > 0) {
      auto const missed = late / wall_period_ns_ + 1;
      core().overran(static_cast<std::uint64_t>(missed));
      next += missed * wall_period_ns_;
    }
    wake_.sleep_until(next, stop_);
  }
}

VirtualGuard::VirtualGuard(GuardCore& core, VirtualClock& clock, Duration period)
    : CoreDesk(core, clock, period), time_(clock) {
  GuardCore* const turned = &core;
  VirtualClock* const time = &clock;
  turns_ = clock.call_every(clock.now().monotonic_ns, nanoseconds(period, 1.0),
                            [turned, time] { turned->turn(time->now()); });
}

VirtualGuard::~VirtualGuard() { time_.cancel(turns_); }

}  // namespace benchward
