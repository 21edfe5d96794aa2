// SPDX-License-Identifier: MIT
#include "drivers/bus/byte_stream.hpp"

#include <algorithm>
#include <chrono>
#include <thread>
#include <utility>

namespace benchward {

WireTime sleeping_time(WallTime now) {
  auto sleep = [now](std::int64_t until_ns) {
    if (auto const left = until_ns - now(); left > 0) std::this_thread::sleep_for(std::chrono::nanoseconds(left));
  };
  return {std::move(now), std::move(sleep)};
}

bool drain_stream(ByteStream& stream, std::int64_t quiet_ns, std::int64_t deadline_ns, WallTime const& now) {
  Bytes thrown_away;
  for (;;) {
    thrown_away.clear();
    auto const until = std::min(now() + quiet_ns, deadline_ns);
    switch (stream.read_some(thrown_away, until)) {
      case ReadEnd::some:
        break;
      case ReadEnd::lost:
        return false;
      case ReadEnd::timeout:
        return until < deadline_ns || quiet_ns == 0;
    }
  }
}

}  // namespace benchward
