// SPDX-License-Identifier: MIT
#include "firmware_host/time/guard_wake.hpp"

#include <time.h>

#include <cerrno>

namespace benchward {

std::int64_t GuardWake::wall_ns() const noexcept {
  timespec now{};
  ::clock_gettime(CLOCK_MONOTONIC, &now);
  return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

void GuardWake::sleep_until(std::int64_t wall_ns, std::atomic<bool> const& stop) noexcept {
  timespec until{};
  until.tv_sec = static_cast<time_t>(wall_ns / 1'000'000'000);
  until.tv_nsec = static_cast<long>(wall_ns % 1'000'000'000);
  // A sleep is at most one guard period: who sets `stop` waits no longer than that.
  while (!stop.load(std::memory_order_relaxed) &&
         ::clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr) == EINTR) {
  }
}

}  // namespace benchward
