// SPDX-License-Identifier: MIT
#pragma once

/// A frame as it went over a wire: what a bus keeps in its ring and a record of an INVALID attempt carries.

#include <cstdint>
#include <string>
#include <vector>

namespace benchward {

struct LoggedFrame {
  std::int64_t monotonic_ns = 0;  ///< of the clock handed in: before it was sent, or when the whole answer was there
  std::string device;             ///< the bench document's name
  bool sent = false;              ///< by the station; else received
  std::vector<std::uint8_t> bytes;
};

/// "01 03 00 00": bytes as people read them.
std::string spaced_hex(std::vector<std::uint8_t> const& bytes);

}  // namespace benchward
