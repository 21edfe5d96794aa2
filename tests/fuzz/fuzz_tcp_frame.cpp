// SPDX-License-Identifier: MIT
// Modbus TCP takes any bytes for an answer: what it accepts is a frame with the request's own number, unit, function
// and length, judged here anew.
#include "drivers/bus/wires.hpp"
#include "tests/fuzz/fuzz_stream.hpp"

using namespace benchward;
using namespace benchward::fuzz;

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  Script script{data, size};
  auto const wire = make_modbus_tcp_wire(opener(script), script.time());
  require(wire->open(1).empty());
  for (unsigned turn = 1; turn < 8 && script.at < size; ++turn) {
    BusRequest request;
    request.function = (script.byte() & 1) != 0 ? 4 : 3;
    request.count = 1 + script.byte() % 125;
    request.unit = script.byte();
    WireResult result;
    wire->transact(request, script.now_ns + 1'000'000'000, result);
    if (result.end == WireEnd::answered) {
      auto const& frame = result.received;
      auto const count = static_cast<std::size_t>(request.count);
      require(result.words.size() == count && frame.size() == 9 + 2 * count);
      require(frame[0] == 0 && frame[1] == turn && frame[2] == 0 && frame[3] == 0 && frame[6] == request.unit);
      require(frame[7] == request.function && frame[8] == 2 * count);
      for (std::size_t i = 0; i < count; ++i)
        require(result.words[i] == ((static_cast<unsigned>(frame[9 + 2 * i]) << 8) | frame[10 + 2 * i]));
    }
    if (result.end == WireEnd::lost || result.end == WireEnd::noise) break;
  }
  return 0;
}
