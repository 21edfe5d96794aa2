// SPDX-License-Identifier: MIT
#pragma once

/// From the bench document (JSON; schema beside this file) to `Bench`, and from the simulator's ready line to the
/// addresses of its links. The reader is the only judge: what it lets through, guard and drivers rely on.

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "bench.hpp"

namespace benchward {

/// Reads and judges a bench document. Throws DocumentError (limits/documents/document_error.hpp) with ids
/// `document.*` (form), and
/// `bench.link-unknown`, `bench.address-taken`, `bench.address-form`, `bench.io-link-shared`,
/// `bench.instrument-unknown`, `bench.role-mismatch`, `bench.source-missing`, `bench.signal-unknown`,
/// `bench.signal-place`, `bench.input-taken`, `bench.condition-missing`, `bench.condition-contradiction`,
/// `bench.condition-needed`, `bench.time-floor`, `bench.watchdog`, `bench.heartbeat`, `bench.threshold`,
/// `bench.serial-too-slow`, `bench.envelope`, `bench.calibration`, `bench.profile`.
Bench read_bench(std::string const& path);
/// The same from text; `file` stands in messages, and profile paths are relative to its folder.
Bench parse_bench(std::string_view text, std::string const& file);

/// What the simulator prints when it is ready (house form): the addresses of its links.
struct ReadyLine {
  bool simulated = false;
  double time_scale = 1.0;
  std::uint64_t seed = 0;
  std::string hands, control;                ///< "HOST:PORT"; empty if the line does not say
  std::map<std::string, std::string> links;  ///< link name -> address
};
ReadyLine read_ready_line(std::string const& path);
ReadyLine parse_ready_line(std::string_view text, std::string const& name);

/// The bench with the addresses of a ready line. Throws DocumentError `bench.not-simulated` if the bench is not marked
/// simulated (or the line is not), `bench.ready-line` if a link of the bench has no address, one is unknown, or its
/// kind differs, and `bench.scale` if the guard's stale limit at that time scale is under 25 ms of wall time.
Bench with_links(Bench bench, ReadyLine const& ready);

/// A link's address taken apart. Forms: `modbus-tcp://HOST:PORT`,
/// `modbus-rtu:///dev/NAME?baud=9600&parity=none&stop=1`, `text:///dev/NAME?baud=9600`, `text-tcp://HOST:PORT`.
struct LinkAddress {
  std::string kind;  ///< "modbus_tcp", "modbus_rtu", "text", "text_tcp"
  std::string host;  ///< IPv6 in brackets in the address, without here
  int port = 0;
  std::string device;
  int baud = 9600;
  char parity = 'N';  ///< 'N', 'E', 'O'
  int stop_bits = 1;
};
/// Throws std::invalid_argument with words for the person who wrote it.
LinkAddress parse_link_address(std::string const& address);

/// Seconds that one exchange of the I/O map takes on a serial line at this speed (11 bits a character): request, reply
/// and two silences of 3.5 characters.
double serial_exchange_s(IoMap const& io, int baud);

}  // namespace benchward
