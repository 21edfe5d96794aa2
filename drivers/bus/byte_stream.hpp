// SPDX-License-Identifier: MIT
#pragma once

/// Bytes in and out of one open link, with deadlines of wall time. On a bench they stand on a descriptor
/// (descriptor.hpp); a test may hand in one whose time it owns, and a million faults pass in seconds.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "modbus_pdu.hpp"

namespace benchward {

/// Monotonic wall nanoseconds, handed in.
using WallTime = std::function<std::int64_t()>;

enum class ReadEnd { some, timeout, lost };

class ByteStream {
 public:
  ByteStream() = default;
  ByteStream(ByteStream const&) = delete;
  ByteStream& operator=(ByteStream const&) = delete;
  virtual ~ByteStream() = default;

  /// Appends what has come, waiting for at least one byte until the deadline (0: does not wait).
  virtual ReadEnd read_some(Bytes& into, std::int64_t deadline_ns) = 0;
  /// False: the link is gone or did not take it in time.
  virtual bool write_all(Bytes const& bytes, std::int64_t deadline_ns) = 0;
  /// Whether the other end has gone.
  virtual bool hung_up() = 0;
};

/// Opens a link: the stream, or nothing with the reason in `why`.
using OpenStream = std::function<std::unique_ptr<ByteStream>(std::int64_t deadline_ns, std::string& why)>;

/// How a wire knows time and lets it pass.
struct WireTime {
  WallTime now;
  std::function<void(std::int64_t until_ns)> sleep_until;
};
/// The thread sleeps until `now()` says so.
WireTime sleeping_time(WallTime now);

/// Silence after which nothing more comes that nobody asked for: an adapter hands on what it has each 16 ms.
inline constexpr std::int64_t unasked_quiet_ns = 20'000'000;

/// Reads and throws away until quiet for this long. False: not quiet before the deadline, or lost.
bool drain_stream(ByteStream& stream, std::int64_t quiet_ns, std::int64_t deadline_ns, WallTime const& now);

}  // namespace benchward
