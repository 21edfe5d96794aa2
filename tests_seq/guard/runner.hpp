// SPDX-License-Identifier: MIT
#pragma once

/// Who gives the guard its turns: a thread of its own on real or scaled time, or the virtual clock.

#include <atomic>
#include <cstdint>
#include <memory>
#include <string>
#include <thread>

#include "../../drivers/time/virtual_clock.hpp"
#include "core_desk.hpp"

namespace benchward {

/// The wall clock, handed in: implemented in firmware_host. Used by the guard's thread alone.
class WakeClock {
 public:
  WakeClock() = default;
  WakeClock(WakeClock const&) = delete;
  WakeClock& operator=(WakeClock const&) = delete;
  virtual ~WakeClock() = default;

  virtual std::int64_t wall_ns() const noexcept = 0;
  /// Sleeps until this absolute instant of wall_ns(), without drift (clock_nanosleep, TIMER_ABSTIME); returns at once
  /// if it has passed, and early when `stop` becomes true.
  virtual void sleep_until(std::int64_t wall_ns, std::atomic<bool> const& stop) noexcept = 0;
  /// Bench time: the wall's, times the scale.
  virtual Stamp bench_now() const noexcept = 0;
  virtual double scale() const noexcept = 0;
};

/// What the operating system let the guard's thread have. Not having it is no fault, but is said.
struct ThreadRights {
  bool realtime = false, memory_locked = false;
  std::string words;  ///< for the log, e.g. "real-time priority refused: Operation not permitted (...)"
};

/// The guard on its own thread. Absolute wake-ups at period over scale of wall time; a turn that comes too late counts
/// as overrun, and one later than the stale limit is a trip (I23), whoever was the cause.
class ThreadGuard final : public CoreDesk {
 public:
  /// Core, clocks outlive it. `clock` is the io_context's; `wake` the thread's.
  ThreadGuard(GuardCore& core, Clock& clock, WakeClock& wake, Duration period);
  /// Ends the thread after one last turn. The block's own watchdog then cuts; call make_safe() before.
  ~ThreadGuard() override;

  /// Starts the thread; returns when its first turn has been made.
  ThreadRights start();

 private:
  void run();

  WakeClock& wake_;
  std::int64_t const wall_period_ns_;
  std::atomic<bool> stop_{false}, began_{false};
  ThreadRights rights_;
  std::thread thread_;
};

/// The guard on the virtual clock: turns are callbacks at every period, in the one thread there is.
class VirtualGuard final : public CoreDesk {
 public:
  VirtualGuard(GuardCore& core, VirtualClock& clock, Duration period);
  ~VirtualGuard() override;

 private:
  VirtualClock& time_;
  VirtualClock::Id turns_ = 0;
};

}  // namespace benchward
