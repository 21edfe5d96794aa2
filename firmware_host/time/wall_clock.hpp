// SPDX-License-Identifier: MIT
#pragma once

/// The real clock, and the scaled clock of a simulated bench on real wires: the one place where time is read.

#include <boost/asio/io_context.hpp>
#include <cstdint>
#include <string>

#include "drivers/time/clock.hpp"

namespace benchward {

/// Bench time runs `scale` times faster than the wall's. At scale 1, UTC is the system's at every call (a clock that is
/// set back shows); at another scale it is the start plus scaled time.
class WallClock final : public Clock {
 public:
  WallClock(boost::asio::io_context& io, double scale);

  Stamp now() const override;
  double scale() const override { return scale_; }
  Task<void> wait_until(std::int64_t monotonic_ns) override;

 private:
  boost::asio::io_context& io_;
  double scale_;
  std::int64_t start_wall_ns_, start_utc_us_;
};

/// Identity of the running system, so that monotonic times of two boots are never compared.
std::string boot_id();

/// Today's date by UTC, ISO.
std::string today_utc(Stamp stamp);

}  // namespace benchward
