// SPDX-License-Identifier: MIT
#pragma once

/// What is asked of a bus and what it answers, as plain data. Time limits here are wall time: a cable does not run
/// faster on a scaled clock.

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "../../limits/quantity.hpp"
#include "../../limits/reading.hpp"
#include "../fault.hpp"
#include "../permit.hpp"
#include "../roles/logged_frame.hpp"

namespace benchward {

struct BusRequest {
  std::string device;     ///< the bench document's name, for counts and faults
  std::string operation;  ///< "read sample": for people

  bool command = false;                  ///< goes before reads that wait, and is never repeated
  int retries = 0;                       ///< of a read, on a time-out or noise
  Duration attempt = milliseconds(500);  ///< one request and its reply
  Duration deadline = seconds(2);        ///< from asking to the answer, waiting, draining and retries included
  Duration gap;  ///< silence on a serial line before this device is spoken to, besides the protocol's

  bool energising = false;  ///< needs `permit` to be live, looked at again just before the first byte is sent
  std::shared_ptr<PermitLink const> permit;

  // Modbus
  int unit = 1;                      ///< 0 on a serial line is broadcast: writes only, nobody answers
  int function = 3;                  ///< 3, 4 (read), 6, 16 (write)
  int address = 0;                   ///< zero-based
  int count = 0;                     ///< words to read
  std::vector<std::uint16_t> words;  ///< words to write

  // Text
  std::string line;  ///< without terminator
  std::string terminator = "\n";
  bool expects_reply = true;
};

struct BusReply {
  std::vector<std::uint16_t> words;
  std::string line;
  Stamp received;
  Duration round_trip;  ///< wall time from the first byte sent to the last received
};

/// Counts of one device on a bus since the bus was opened.
struct DeviceCounts {
  std::uint64_t asked = 0;  ///< requests that reached the wire, repetitions included
  std::uint64_t answered = 0;
  std::uint64_t timeouts = 0;
  std::uint64_t noise = 0;                          ///< answers that were none: checksum, length, unit, garbled line
  std::uint64_t collisions = 0;                     ///< echo that differed from what was sent
  std::uint64_t exceptions = 0;                     ///< refusals of the device itself
  std::uint64_t noisy = 0;                          ///< answered, with noise before the answer that was skipped
  std::uint64_t stale = 0;                          ///< replies to something asked earlier, thrown away
  std::uint64_t lost = 0;                           ///< link lost while this device was spoken to
  Duration fastest = seconds(1e9), slowest, total;  ///< round trips of the answered

  /// Part of the requests that went wrong.
  double error_rate() const {
    return asked == 0 ? 0.0 : static_cast<double>(timeouts + noise + collisions + lost) / static_cast<double>(asked);
  }
};

}  // namespace benchward
