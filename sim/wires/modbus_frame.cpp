// SPDX-License-Identifier: MIT
#include "sim/wires/modbus_frame.hpp"

#include <algorithm>

namespace benchward::sim {

namespace {

constexpr std::size_t header_bytes = 7;  // transaction, protocol, length, unit
constexpr std::size_t longest_pdu = 253;
constexpr std::size_t longest_rtu = 256;
constexpr std::size_t shortest_rtu = 4;  // unit, function, check

enum class Length { needs_more, unknown, known };

/// Whole length of a request, check included, as far as the bytes at hand tell.
Length request_length(std::span<std::uint8_t const> bytes, std::size_t& length) {
  if (bytes.size() < 2) return Length::needs_more;
  switch (bytes[1]) {
    case 3:
    case 4:
    case 6:
      length = 8;
      return Length::known;
    case 16:
      if (bytes.size() < 7) return Length::needs_more;
      length = 9u + bytes[6];
      return Length::known;
    case 23:
      if (bytes.size() < 11) return Length::needs_more;
      length = 13u + bytes[10];
      return Length::known;
    default:
      return Length::unknown;
  }
}

bool check_is_right(std::span<std::uint8_t const> frame) {
  auto const crc = rtu_crc(frame.first(frame.size() - 2));
  return frame[frame.size() - 2] == (crc & 0xFF) && frame[frame.size() - 1] == (crc >> 8);
}

RtuFrame frame_of(std::span<std::uint8_t const> bytes) {
  RtuFrame frame;
  frame.unit = bytes[0];
  frame.pdu.assign(bytes.begin() + 1, bytes.end() - 2);
  return frame;
}

}  // namespace

Bytes encode_tcp(TcpFrame const& frame) {
  Bytes bytes;
  bytes.reserve(header_bytes + frame.pdu.size());
  append_word(bytes, frame.transaction);
  append_word(bytes, 0);
  append_word(bytes, static_cast<std::uint16_t>(frame.pdu.size() + 1));
  bytes.push_back(frame.unit);
  bytes.insert(bytes.end(), frame.pdu.begin(), frame.pdu.end());
  return bytes;
}

void TcpFrameReader::feed(std::span<std::uint8_t const> bytes) {
  if (!broken_) pending_.insert(pending_.end(), bytes.begin(), bytes.end());
}

std::optional<TcpFrame> TcpFrameReader::next() {
  if (broken_ || pending_.size() < header_bytes - 1) return std::nullopt;
  std::size_t const length = word_at(pending_, 4);
  if (word_at(pending_, 2) != 0 || length < 2 || length > longest_pdu + 1) {
    broken_ = true;
    pending_.clear();
    return std::nullopt;
  }
  std::size_t const whole = header_bytes - 1 + length;
  if (pending_.size() < whole) return std::nullopt;
  TcpFrame frame;
  frame.transaction = word_at(pending_, 0);
  frame.unit = pending_[6];
  frame.pdu.assign(pending_.begin() + header_bytes, pending_.begin() + static_cast<std::ptrdiff_t>(whole));
  pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(whole));
  return frame;
}

std::uint16_t rtu_crc(std::span<std::uint8_t const> bytes) {
  std::uint16_t crc = 0xFFFF;
  for (auto const byte : bytes) {
    crc = static_cast<std::uint16_t>(crc ^ byte);
    for (int bit = 0; bit < 8; ++bit) {
      bool const carry = (crc & 1) != 0;
      crc = static_cast<std::uint16_t>(crc >> 1);
      if (carry) crc = static_cast<std::uint16_t>(crc ^ 0xA001);
    }
  }
  return crc;
}

Bytes encode_rtu(RtuFrame const& frame) {
  Bytes bytes;
  bytes.reserve(frame.pdu.size() + 3);
  bytes.push_back(frame.unit);
  bytes.insert(bytes.end(), frame.pdu.begin(), frame.pdu.end());
  auto const crc = rtu_crc(bytes);
  bytes.push_back(static_cast<std::uint8_t>(crc & 0xFF));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

void RtuRequestReader::feed(std::span<std::uint8_t const> bytes) {
  pending_.insert(pending_.end(), bytes.begin(), bytes.end());
}

std::optional<RtuFrame> RtuRequestReader::next() {
  // Every place where a whole frame with a right check stands is a frame; what stands before it was noise. A place
  // where a frame could still be on its way is passed by only if a later one is whole.
  std::span<std::uint8_t const> const all(pending_);
  for (std::size_t start = 0; start + shortest_rtu <= all.size(); ++start) {
    auto const rest = all.subspan(start);
    std::size_t length = 0;
    if (request_length(rest, length) != Length::known || length > longest_rtu || rest.size() < length) continue;
    auto const candidate = rest.first(length);
    if (!check_is_right(candidate)) continue;
    auto frame = frame_of(candidate);
    skipped_ += start;
    pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(start + length));
    return frame;
  }
  if (pending_.size() > 2 * longest_rtu) {  // no frame is that long: the oldest bytes are noise for certain
    auto const surplus = pending_.size() - longest_rtu;
    skipped_ += surplus;
    pending_.erase(pending_.begin(), pending_.begin() + static_cast<std::ptrdiff_t>(surplus));
  }
  return std::nullopt;
}

std::optional<RtuFrame> RtuRequestReader::silence() {
  std::optional<RtuFrame> frame;
  if (pending_.size() >= shortest_rtu && pending_.size() <= longest_rtu && check_is_right(pending_)) {
    frame = frame_of(pending_);
  } else {
    skipped_ += pending_.size();
  }
  pending_.clear();
  return frame;
}

}  // namespace benchward::sim
