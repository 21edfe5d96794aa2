// SPDX-License-Identifier: MIT
#pragma once

/// What bytes on a serial line cost in time, as pure functions. One byte is 11 bits: start, 8 data, parity or second
/// stop, stop ("MODBUS over Serial Line V1.02", 2.5.1).

#include <cstddef>
#include <cstdint>

namespace benchward::sim {

inline constexpr double bits_per_byte = 11.0;

inline double byte_time_s(int baud) { return bits_per_byte / static_cast<double>(baud); }

/// Silence that ends a frame: 3.5 bytes; 1.75 ms above 19200 baud (2.5.1.1).
inline double frame_silence_s(int baud) { return baud > 19200 ? 0.00175 : 3.5 * byte_time_s(baud); }

/// How many of `count` bytes whose first bit leaves at `start_ns` have left completely at `now_ns`.
inline std::size_t bytes_out(std::int64_t start_ns, std::int64_t now_ns, std::size_t count, int baud) {
  double const elapsed = static_cast<double>(now_ns - start_ns) * 1e-9 / byte_time_s(baud);
  if (elapsed <= 0.0) return 0;
  return elapsed >= static_cast<double>(count) ? count : static_cast<std::size_t>(elapsed);
}

}  // namespace benchward::sim
