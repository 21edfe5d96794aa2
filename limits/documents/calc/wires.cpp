// SPDX-License-Identifier: MIT
#include <cstdint>

#include <fmt/format.h>

#include "limits/documents/calc/topic.hpp"

namespace benchward::documents {
namespace {

/// Bytes of a hexadecimal text; spaces between bytes are allowed.
std::vector<std::uint8_t> hex_bytes(ObjectReader const& in, std::string const& text) {
  std::vector<std::uint8_t> bytes;
  int high = -1;
  for (char const c : text) {
    int digit = -1;
    if (c >= '0' && c <= '9') digit = c - '0';
    if (c >= 'a' && c <= 'f') digit = c - 'a' + 10;
    if (c >= 'A' && c <= 'F') digit = c - 'A' + 10;
    if (c == ' ' && high < 0) continue;
    if (digit < 0)
      in.fail("document.out-of-range", "bytes",
              "expected bytes as pairs of hexadecimal digits, e.g. \"01 03 00 00 00 0A\"");
    if (high < 0) {
      high = digit;
    } else {
      bytes.push_back(static_cast<std::uint8_t>(high * 16 + digit));
      high = -1;
    }
  }
  if (high >= 0)
    in.fail("document.out-of-range", "bytes", "an odd number of hexadecimal digits: half a byte at the end");
  if (bytes.empty()) in.fail("document.out-of-range", "bytes", "expected at least one byte");
  return bytes;
}

void modbus_crc(ObjectReader& in, JsonWriter& out) {
  auto const text = in.text("bytes", "hexadecimal text");
  in.finish();
  unsigned crc = 0xFFFF;
  for (auto const byte : hex_bytes(in, text)) {
    crc ^= byte;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1u) ? (crc >> 1) ^ 0xA001u : crc >> 1;
  }
  out.field("crc", fmt::format("{:02X}{:02X}", crc & 0xFF, crc >> 8));  // low byte first on the wire
}

}  // namespace

std::vector<Topic> wire_topics() {
  return {{{"modbus-crc",
            "check word of a serial Modbus frame, in the order of the wire",
            "MODBUS over Serial Line V1.02, 6.2.2 CRC generation",
            {{"bytes", "hexadecimal text", "required"}},
            {{"crc", "hexadecimal text, low byte first", "always"}}},
           modbus_crc}};
}

}  // namespace benchward::documents
