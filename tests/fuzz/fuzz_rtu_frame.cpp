// SPDX-License-Identifier: MIT
// Modbus on a serial line takes any bytes for an answer: what it accepts stands in what came as a whole frame with the
// request's unit, function and length and a right checksum, worked out here bit by bit.
#include "drivers/bus/wires.hpp"
#include "tests/fuzz/fuzz_stream.hpp"

using namespace benchward;
using namespace benchward::fuzz;

namespace {

unsigned checksum(std::uint8_t const* bytes, std::size_t size) {
  unsigned remainder = 0xFFFF;
  for (std::size_t i = 0; i < size; ++i) {
    for (unsigned bit = 0; bit < 8; ++bit) {
      unsigned const in = ((static_cast<unsigned>(bytes[i]) >> bit) ^ remainder) & 1u;
      remainder = (remainder >> 1) ^ (in * 0xA001u);
    }
  }
  return remainder;
}

bool stands_in(Bytes const& received, BusRequest const& request, std::vector<std::uint16_t> const& words) {
  std::size_t const length = 5 + 2 * words.size();
  for (std::size_t at = 0; at + length <= received.size(); ++at) {
    auto const* frame = received.data() + at;
    if (frame[0] != request.unit || frame[1] != request.function || frame[2] != 2 * words.size()) continue;
    if (checksum(frame, length - 2) != (frame[length - 2] | (static_cast<unsigned>(frame[length - 1]) << 8))) continue;
    bool same = true;
    for (std::size_t i = 0; i < words.size(); ++i)
      same = same && words[i] == ((static_cast<unsigned>(frame[3 + 2 * i]) << 8) | frame[4 + 2 * i]);
    if (same) return true;
  }
  return false;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  Script script{data, size};
  auto const wire = make_modbus_rtu_wire(opener(script), 19200, false, script.time());
  require(wire->open(1).empty());
  for (int turn = 0; turn < 8 && script.at < size; ++turn) {
    BusRequest request;
    request.function = (script.byte() & 1) != 0 ? 4 : 3;
    request.count = 1 + script.byte() % 125;
    request.unit = 1 + script.byte() % 247;
    WireResult result;
    wire->transact(request, script.now_ns + 1'000'000'000, result);
    if (result.end == WireEnd::answered) {
      require(result.words.size() == static_cast<std::size_t>(request.count));
      require(stands_in(result.received, request, result.words));
    }
    if (result.end == WireEnd::exception) require(result.exception >= 1 && result.exception <= 11);
    if (result.end == WireEnd::lost) break;
  }
  // The fuzzer does not guess checksums: a frame with a right one, whatever stands in it and before it.
  if (size >= 8) {
    BusRequest request;
    request.unit = 1 + data[0] % 247;
    request.count = 1 + data[1] % 125;
    Bytes frame(data + 2, data + size);
    auto const head = std::min<std::size_t>(data[2] % 8, frame.size() - 4);
    auto const sum = checksum(frame.data() + head, frame.size() - head);
    frame.push_back(static_cast<std::uint8_t>(sum & 0xFF));
    frame.push_back(static_cast<std::uint8_t>(sum >> 8));
    std::vector<std::uint16_t> words;
    auto const scan = scan_serial(request, frame, words);
    if (scan.found && scan.verdict.kind == PduVerdict::Kind::good) require(stands_in(frame, request, words));
  }
  return 0;
}
