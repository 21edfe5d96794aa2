// SPDX-License-Identifier: MIT
#include "tests/drivers/faulty_line.hpp"

namespace benchward::test {
namespace {

Pieces usual(Octets frame) { return {{fault_usual_ns, std::move(frame)}}; }
Pieces late(Octets frame) { return {{fault_attempt_ns + fault_attempt_ns / 2, std::move(frame)}}; }

Octets without_head(Octets const& frame, std::size_t n) {
  return {frame.begin() + static_cast<std::ptrdiff_t>(n), frame.end()};
}
Octets without_tail(Octets const& frame, std::size_t n) {
  return {frame.begin(), frame.end() - static_cast<std::ptrdiff_t>(n)};
}

}  // namespace

Octets glue(Octets first, Octets const& second) {
  first.insert(first.end(), second.begin(), second.end());
  return first;
}

// Modbus TCP has no check of its own: what TCP carries is right. Wrong are heads, lengths, order and time; the words
// themselves are left alone, for nobody could know.
Pieces tcp_fault(FaultDraw& draw, Octets frame, Octets const& before) {
  switch (draw.below(9)) {
    case 0:
      draw.flip(frame, 0, 9);  // transaction, protocol, length, unit, function, byte count
      return usual(frame);
    case 1:
      return usual(glue(draw.rubbish(12), frame));
    case 2:
      return usual(without_head(frame, 1 + draw.below(8)));
    case 3:
      return usual(without_tail(frame, 1 + draw.below(frame.size() - 1)));
    case 4:
      return late(frame);
    case 5:
      return usual(before);  // the answer before once more, and nothing else
    case 6:
      return draw.split(frame, fault_attempt_ns / 3);
    case 7:
      return usual(glue(before, frame));
    default:
      return {};
  }
}

Pieces rtu_fault(FaultDraw& draw, Octets frame, Octets const& other_unit) {
  switch (draw.below(10)) {
    case 0:
    case 1:
      draw.flip(frame, 0, frame.size());
      return usual(frame);
    case 2:
      return usual(glue(draw.rubbish(6), frame));
    case 3:
      frame.erase(frame.begin() + static_cast<std::ptrdiff_t>(draw.below(frame.size())));
      return usual(frame);
    case 4:
      return usual(without_tail(frame, 1 + draw.below(frame.size() - 1)));
    case 5:
      return late(frame);
    case 6:
      return usual(other_unit);
    case 7:
      return draw.split(frame, fault_attempt_ns / 3);
    case 8:
      return usual(draw.rubbish(40));
    default:
      return {};
  }
}

// A line of text has no check either. Its parity shows a wrong byte (which then arrives as 0); order, ends and time are
// for the bus to see.
Pieces text_fault(FaultDraw& draw, Octets line, Octets const& before) {
  switch (draw.below(8)) {
    case 0:
    case 1:
      line[draw.below(line.size() - 1)] = 0;
      return usual(line);
    case 2:
      return usual(glue({static_cast<std::uint8_t>(0x80 | draw.byte())}, line));
    case 3:
      return usual(without_tail(line, 1 + draw.below(line.size() - 1)));
    case 4:
      return late(line);
    case 5:
      return draw.split(line, fault_attempt_ns / 3);
    case 6:
      return usual(glue(before, line));
    default:
      return {};
  }
}

std::vector<std::uint16_t> words_of_turn(std::uint32_t n) {
  auto const scattered = n * 2654435761u;
  return {static_cast<std::uint16_t>(n >> 16), static_cast<std::uint16_t>(n & 0xFFFF),
          static_cast<std::uint16_t>(scattered >> 16), static_cast<std::uint16_t>(scattered & 0xFFFF)};
}

std::string line_of_turn(std::uint32_t n) {
  return std::to_string(n) + "," + std::to_string(n * 2654435761u) + "V,1\r\n";
}

}  // namespace benchward::test
