// SPDX-License-Identifier: MIT
#pragma once

/// Modbus protocol data units and serial frames, pure (Modbus application protocol V1.1b3, sections 6 and 7; Modbus
/// over serial line V1.02, 2.5.1). libmodbus opens, closes and sends; what comes back is judged here, so that noise,
/// echo and stale replies are told apart, which the library does not do.

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "request.hpp"

namespace benchward {

using Bytes = std::vector<std::uint8_t>;

/// Why a request cannot be sent at all; empty: it can. `serial`: unit 0 is broadcast there.
std::string refuse_request(BusRequest const& request, bool serial);
/// Appends function code and data.
void put_pdu(BusRequest const& request, Bytes& into);

struct PduVerdict {
  enum class Kind { good, exception, foreign } kind = Kind::foreign;
  int exception = 0;
  std::string why;  ///< foreign: what does not fit the request
};
/// `words`: those of a good answer to a read, else left empty.
PduVerdict judge_pdu(BusRequest const& request, std::uint8_t const* pdu, std::size_t size,
                     std::vector<std::uint16_t>& words);
/// "the device is busy" for exception 6, and so on.
std::string words_of_exception(int code);

/// CRC of a serial frame, low byte sent first.
std::uint16_t crc16(std::uint8_t const* bytes, std::size_t size);
/// Unit, PDU, CRC, instead of what was there.
void put_serial_frame(BusRequest const& request, Bytes& into);

/// Bytes of a serial frame that answers `request` and is no refusal.
std::size_t serial_reply_size(BusRequest const& request);

/// Looks for the reply to `request` anywhere in what came: unit, function, length and checksum must fit. Bytes before
/// it are noise.
struct SerialScan {
  bool found = false;
  PduVerdict verdict;
  std::size_t noise_before = 0, length = 0;
};
SerialScan scan_serial(BusRequest const& request, Bytes const& received, std::vector<std::uint16_t>& words);

/// Seconds of silence that end a frame: 3.5 characters of 11 bits, 1.75 ms above 19,200 baud.
double silence_s(int baud);

}  // namespace benchward
