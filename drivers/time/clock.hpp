// SPDX-License-Identifier: MIT
#pragma once

/// Time, handed in. Nothing below firmware_host reads a clock. Three kinds exist: real, scaled (a simulated bench on
/// real wires), virtual (one thread, time jumps to the next waiter).

#include <cstdint>

#include "../../limits/quantity.hpp"
#include "../../limits/reading.hpp"
#include "../task.hpp"

namespace benchward {

class Clock {
 public:
  Clock() = default;
  Clock(Clock const&) = delete;
  Clock& operator=(Clock const&) = delete;
  virtual ~Clock() = default;

  /// Bench time: on a scaled clock it runs `scale()` times faster than the wall's.
  virtual Stamp now() const = 0;
  virtual double scale() const = 0;

  /// Resumes at, or as soon as possible after, the instant. Ends early with operation_aborted on cancellation.
  virtual Task<void> wait_until(std::int64_t monotonic_ns) = 0;

  Task<void> wait(Duration duration) {
    return wait_until(now().monotonic_ns + static_cast<std::int64_t>(duration.in(seconds)*1e9));
  }
};

/// Duration between two stamps by the monotonic clock.
inline Duration between(Stamp earlier, Stamp later) {
  return seconds(static_cast<double>(later.monotonic_ns - earlier.monotonic_ns) * 1e-9);
}

}  // namespace benchward
