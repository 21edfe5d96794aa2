// SPDX-License-Identifier: MIT
#include "firmware_host/time/wall_clock.hpp"

#include <fmt/core.h>

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <fstream>

namespace benchward {
namespace {

std::int64_t wall_ns() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

std::int64_t utc_us() {
  return std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::system_clock::now().time_since_epoch())
      .count();
}

}  // namespace

WallClock::WallClock(boost::asio::io_context& io, double scale)
    : io_(io), scale_(scale), start_wall_ns_(wall_ns()), start_utc_us_(utc_us()) {}

Stamp WallClock::now() const {
  auto const elapsed = wall_ns() - start_wall_ns_;
  Stamp stamp;
  if (scale_ == 1.0) {
    // One monotonic clock for the whole machine: guard thread, buses and sequencer compare their times.
    stamp.monotonic_ns = elapsed;
    stamp.utc_us = utc_us();
  } else {
    stamp.monotonic_ns = static_cast<std::int64_t>(static_cast<double>(elapsed) * scale_);
    stamp.utc_us = start_utc_us_ + stamp.monotonic_ns / 1000;
  }
  return stamp;
}

Task<void> WallClock::wait_until(std::int64_t monotonic_ns) {
  boost::asio::steady_timer timer(io_);
  auto const wall = static_cast<std::int64_t>(static_cast<double>(monotonic_ns) / scale_) + start_wall_ns_;
  timer.expires_at(std::chrono::steady_clock::time_point(std::chrono::nanoseconds(wall)));
  co_await timer.async_wait(boost::asio::use_awaitable);
}

std::string boot_id() {
  std::ifstream file("/proc/sys/kernel/random/boot_id");
  std::string id;
  std::getline(file, id);
  return id.empty() ? "unknown-boot" : id;
}

std::string today_utc(Stamp stamp) {
  using namespace std::chrono;
  auto const days_since = floor<days>(sys_time<microseconds>(microseconds(stamp.utc_us)));
  year_month_day const date(days_since);
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                     static_cast<unsigned>(date.day()));
}

}  // namespace benchward
