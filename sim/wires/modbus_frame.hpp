// SPDX-License-Identifier: MIT
#pragma once

/// Frames round a Modbus PDU: the TCP header ("MODBUS Messaging on TCP/IP Implementation Guide V1.0b", 3.1.3) and the
/// serial frame ("MODBUS over Serial Line V1.02", 2.5.1). Both readers take bytes as they come, in any pieces.

#include <cstdint>
#include <optional>
#include <span>

#include "modbus_pdu.hpp"

namespace benchward::sim {

/// One request or answer on TCP.
struct TcpFrame {
  std::uint16_t transaction = 0;
  std::uint8_t unit = 0;
  Bytes pdu;
};

Bytes encode_tcp(TcpFrame const& frame);

/// Cuts a byte stream into frames. A stream carries no mark where a frame begins: after a header that cannot be one,
/// nothing that follows can be trusted, and the connection has to be closed.
class TcpFrameReader {
 public:
  void feed(std::span<std::uint8_t const> bytes);
  /// The next whole frame, if there is one.
  std::optional<TcpFrame> next();
  /// Protocol identifier not 0, or a length that no PDU has (1 to 253 bytes and the unit).
  bool broken() const { return broken_; }

 private:
  Bytes pending_;
  bool broken_ = false;
};

/// CRC-16 of the serial line (polynomial 0xA001 reflected, start 0xFFFF; sent low byte first).
std::uint16_t rtu_crc(std::span<std::uint8_t const> bytes);

/// One request or answer on a serial line.
struct RtuFrame {
  std::uint8_t unit = 0;
  Bytes pdu;
};

Bytes encode_rtu(RtuFrame const& frame);

/// Finds requests in what arrives on a serial line, by length and check of each function, not by silence alone: a
/// frame in pieces is taken, noise before a frame is passed over.
class RtuRequestReader {
 public:
  void feed(std::span<std::uint8_t const> bytes);
  std::optional<RtuFrame> next();
  /// The line has been silent for longer than a frame allows: what is left is a whole frame of a function that has no
  /// length known here (its check is right), or the remains of one that never came, and is dropped.
  std::optional<RtuFrame> silence();
  /// Bytes that were no part of any frame.
  std::uint64_t skipped() const { return skipped_; }
  bool empty() const { return pending_.empty(); }

 private:
  Bytes pending_;
  std::uint64_t skipped_ = 0;
};

}  // namespace benchward::sim
