// SPDX-License-Identifier: MIT
#include "drivers/bus/modbus_pdu.hpp"

#include <fmt/format.h>

namespace benchward {
namespace {

void put_word(Bytes& bytes, unsigned value) {
  bytes.push_back(static_cast<std::uint8_t>(value >> 8));
  bytes.push_back(static_cast<std::uint8_t>(value & 0xFFu));
}
unsigned word_at(std::uint8_t const* bytes) { return (static_cast<unsigned>(bytes[0]) << 8) | bytes[1]; }

bool reads(BusRequest const& request) { return request.function == 3 || request.function == 4; }

PduVerdict foreign(std::string why) {
  PduVerdict verdict;
  verdict.why = std::move(why);
  return verdict;
}

/// Bytes of the PDU of a good answer.
std::size_t good_size(BusRequest const& request) {
  return reads(request) ? 2 + 2 * static_cast<std::size_t>(request.count) : 5;
}

}  // namespace

std::string refuse_request(BusRequest const& request, bool serial) {
  if (request.function != 3 && request.function != 4 && request.function != 6 && request.function != 16) {
    return fmt::format("function {} is not spoken here", request.function);
  }
  if (request.unit < 0 || request.unit > (serial ? 247 : 255))
    return fmt::format("unit {} does not exist", request.unit);
  if (serial && request.unit == 0 && reads(request)) return "unit 0 is broadcast: nobody answers a read";
  if (request.address < 0 || request.address > 65535) return fmt::format("register {} does not exist", request.address);
  auto const words = static_cast<int>(request.words.size());
  if (reads(request) && (request.count < 1 || request.count > 125))
    return fmt::format("{} words in one read, 1 to 125", request.count);
  if (request.function == 6 && words != 1) return "function 6 writes one word";
  if (request.function == 16 && (words < 1 || words > 123))
    return fmt::format("{} words in one write, 1 to 123", words);
  return {};
}

void put_pdu(BusRequest const& request, Bytes& into) {
  into.push_back(static_cast<std::uint8_t>(request.function));
  put_word(into, static_cast<unsigned>(request.address));
  if (reads(request)) {
    put_word(into, static_cast<unsigned>(request.count));
  } else if (request.function == 6) {
    put_word(into, request.words.front());
  } else {
    put_word(into, static_cast<unsigned>(request.words.size()));
    into.push_back(static_cast<std::uint8_t>(2 * request.words.size()));
    for (auto const word : request.words) put_word(into, word);
  }
}

PduVerdict judge_pdu(BusRequest const& request, std::uint8_t const* pdu, std::size_t size,
                     std::vector<std::uint16_t>& words) {
  words.clear();
  if (size == 0) return foreign("an empty answer");
  if (pdu[0] == (request.function | 0x80)) {
    if (size != 2) return foreign(fmt::format("a refusal of {} bytes", size));
    // Codes of the standard, section 7: anything else is a flipped bit in the function rather than a refusal.
    if (pdu[1] < 1 || pdu[1] > 11) return foreign(fmt::format("a refusal with the unknown code {}", pdu[1]));
    PduVerdict verdict;
    verdict.kind = PduVerdict::Kind::exception;
    verdict.exception = pdu[1];
    return verdict;
  }
  if (pdu[0] != request.function) return foreign(fmt::format("function {} instead of {}", pdu[0], request.function));
  if (size != good_size(request)) return foreign(fmt::format("{} bytes instead of {}", size, good_size(request)));
  PduVerdict verdict;
  if (reads(request)) {
    if (pdu[1] != 2 * request.count)
      return foreign(fmt::format("a byte count of {} instead of {}", pdu[1], 2 * request.count));
    for (int i = 0; i < request.count; ++i) words.push_back(static_cast<std::uint16_t>(word_at(pdu + 2 + 2 * i)));
  } else {
    auto const expected = request.function == 6 ? static_cast<unsigned>(request.words.front())
                                                : static_cast<unsigned>(request.words.size());
    if (word_at(pdu + 1) != static_cast<unsigned>(request.address) || word_at(pdu + 3) != expected) {
      return foreign("the confirmation of another write");
    }
  }
  verdict.kind = PduVerdict::Kind::good;
  return verdict;
}

std::string words_of_exception(int code) {
  switch (code) {
    case 1:
      return "the device does not know this function (exception 1)";
    case 2:
      return "the device has no such register (exception 2)";
    case 3:
      return "the device does not take this value (exception 3)";
    case 4:
      return "the device failed at it (exception 4)";
    case 5:
      return "the device needs longer (exception 5)";
    case 6:
      return "the device is busy (exception 6)";
    case 10:
      return "the gateway has no path to the device (exception 10)";
    case 11:
      return "the device behind the gateway does not answer (exception 11)";
    default:
      return fmt::format("the device refuses (exception {})", code);
  }
}

std::uint16_t crc16(std::uint8_t const* bytes, std::size_t size) {
  unsigned crc = 0xFFFF;
  for (std::size_t i = 0; i < size; ++i) {
    crc ^= bytes[i];
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1u) != 0 ? (crc >> 1) ^ 0xA001u : crc >> 1;
  }
  return static_cast<std::uint16_t>(crc);
}

void put_serial_frame(BusRequest const& request, Bytes& into) {
  into.assign(1, static_cast<std::uint8_t>(request.unit));
  put_pdu(request, into);
  auto const crc = crc16(into.data(), into.size());
  into.push_back(static_cast<std::uint8_t>(crc & 0xFFu));
  into.push_back(static_cast<std::uint8_t>(crc >> 8));
}

std::size_t serial_reply_size(BusRequest const& request) { return good_size(request) + 3; }

SerialScan scan_serial(BusRequest const& request, Bytes const& received, std::vector<std::uint16_t>& words) {
  SerialScan scan;
  for (std::size_t at = 0; at + 5 <= received.size(); ++at) {
    if (received[at] != request.unit) continue;
    bool const exception = received[at + 1] == (request.function | 0x80);
    if (!exception && received[at + 1] != request.function) continue;
    auto const length = 1 + (exception ? 2 : good_size(request)) + 2;
    if (at + length > received.size()) continue;  // more may come, or this is not where it begins
    // A refusal is the last that comes. Five bytes that look like one inside something longer are not.
    if (exception && at + length != received.size()) continue;
    auto const* frame = received.data() + at;
    auto const crc = static_cast<unsigned>(frame[length - 2]) | (static_cast<unsigned>(frame[length - 1]) << 8);
    if (crc != crc16(frame, length - 2)) continue;
    auto verdict = judge_pdu(request, frame + 1, length - 3, words);
    if (verdict.kind == PduVerdict::Kind::foreign) {
      scan.verdict = std::move(verdict);  // a whole frame that answers something else
      continue;
    }
    scan.found = true;
    scan.verdict = std::move(verdict);
    scan.noise_before = at;
    scan.length = length;
    return scan;
  }
  return scan;
}

double silence_s(int baud) { return baud > 19200 ? 1.75e-3 : 3.5 * 11.0 / baud; }

}  // namespace benchward
