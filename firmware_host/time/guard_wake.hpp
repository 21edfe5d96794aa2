// SPDX-License-Identifier: MIT
#pragma once

/// The wall clock of the guard's own thread.

#include "firmware_host/time/wall_clock.hpp"
#include "tests_seq/guard/runner.hpp"

namespace benchward {

class GuardWake final : public WakeClock {
 public:
  /// Bench time is the station's clock: guard, buses and sequencer compare their times.
  explicit GuardWake(WallClock const& clock) : clock_(clock) {}

  std::int64_t wall_ns() const noexcept override;
  void sleep_until(std::int64_t wall_ns, std::atomic<bool> const& stop) noexcept override;
  Stamp bench_now() const noexcept override { return clock_.now(); }
  double scale() const noexcept override { return clock_.scale(); }

 private:
  WallClock const& clock_;
};

}  // namespace benchward
