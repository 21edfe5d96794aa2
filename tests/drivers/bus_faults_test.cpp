// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <atomic>

#include "drivers/bus/bus_core.hpp"
#include "drivers/bus/wires.hpp"
#include "tests/drivers/faulty_line.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

struct Count {
  std::uint64_t corrupted = 0, answered = 0, wrong = 0;
  std::uint64_t by_chance = 0;  ///< altered so that the checksum fits again: nobody on a line could tell
  int slowest_recovery = 0;     ///< requests after a fault until the first right answer
  int opened = 0;
};

enum class Kind { tcp, rtu, text };

/// Asks until so many answers have been made wrong; after each the line is sound for as long as it takes.
Count ask_through(Kind kind, std::uint64_t faults, unsigned seed) {
  FaultDraw draw(seed);
  Count count;
  std::uint32_t turn = 0;
  bool faulty = false;
  Octets before;
  FaultyLine line([&](Octets const& request) -> Pieces {
    ++turn;
    Octets frame;
    if (kind == Kind::text) {
      auto const said = line_of_turn(turn);
      frame.assign(said.begin(), said.end());
    } else if (kind == Kind::tcp) {
      frame = tcp_reply(request, words_pdu(3, words_of_turn(turn)));
    } else {
      frame = glue({5}, words_pdu(3, words_of_turn(turn)));
      frame = rtu_frame(frame);
    }
    auto const earlier = std::exchange(before, frame);
    if (!faulty || earlier.empty()) return {{fault_usual_ns, frame}};
    ++count.corrupted;
    switch (kind) {
      case Kind::tcp:
        return tcp_fault(draw, frame, earlier);
      case Kind::rtu: {
        auto const other = rtu_frame(glue({6}, words_pdu(3, words_of_turn(turn))));
        auto pieces = rtu_fault(draw, frame, other);
        auto const whole = [&](Octets const& bytes) {
          return bytes != frame && bytes != other && bytes.size() == frame.size() &&
                 rtu_frame({bytes.begin(), bytes.end() - 2}) == bytes;
        };
        while (pieces.size() == 1 && whole(pieces.front().bytes)) {
          ++count.by_chance;  // four and more flipped bits fit the 16 bits of the check once in 2^15
          pieces = rtu_fault(draw, frame, other);
        }
        return pieces;
      }
      case Kind::text:
        return text_fault(draw, frame, earlier);
    }
    return {};
  });
  BusDiary diary;
  auto wire = kind == Kind::tcp   ? make_modbus_tcp_wire(line.opener(), line.time())
              : kind == Kind::rtu ? make_modbus_rtu_wire(line.opener(), 19200, false, line.time())
                                  : make_text_wire(line.opener(), false, line.time());
  BusCore core(
      "line", std::move(wire), line.time().now,
      [&] {
        return Stamp{line.now_ns, 0};
      },
      diary);
  BusRequest request;
  request.device = "meter";
  request.unit = 5;
  request.count = fault_words;
  request.line = "MEAS?";
  request.terminator = "\r\n";
  request.attempt = seconds(fault_attempt_ns * 1e-9);
  request.deadline = seconds(2);
  std::atomic<bool> const wanted{false};
  BusReply reply;
  auto const ask = [&] {
    if (core.serve(request, line.now_ns, wanted, reply)) return false;
    ++count.answered;
    auto const expected = line_of_turn(turn);
    bool const right = kind == Kind::text ? reply.line + "\r\n" == expected : reply.words == words_of_turn(turn);
    if (!right) ++count.wrong;
    return true;
  };
  while (count.corrupted < faults) {
    faulty = true;
    ask();
    faulty = false;
    int requests = 1;
    while (!ask() && requests < 100) ++requests;
    count.slowest_recovery = std::max(count.slowest_recovery, requests);
    // One fault at a time: a cut TCP frame and another late one behind it make a whole frame that nobody can tell.
    line.now_ns += 2 * fault_attempt_ns;
  }
  count.opened = line.opened;
  return count;
}

void million(Kind kind, std::uint64_t faults) {
  auto const count = ask_through(kind, faults, 20261125);
  INFO(count.corrupted << " corrupted, " << count.answered << " answered, opened " << count.opened);
  CHECK(count.corrupted >= faults);
  CHECK(count.wrong == 0);
  CHECK(count.slowest_recovery <= 2);
  CHECK(count.answered >= faults);  // the sound ones between them at least
  WARN(count.corrupted << " corrupted answers, " << count.wrong << " wrong values (" << count.by_chance
                       << " more had a right checksum by chance and were drawn again), right again after at most "
                       << count.slowest_recovery << " requests, line opened " << count.opened << " times");
}

}  // namespace

TEST_CASE("pitfall 16: no corrupted or shifted TCP frame gives a wrong value, and two requests later all is well",
          "[drivers][bus][tcp][faults]") {
  million(Kind::tcp, 20'000);
}
TEST_CASE("pitfall 16: no corrupted or shifted serial frame gives a wrong value, and two requests later all is well",
          "[drivers][bus][serial][faults]") {
  million(Kind::rtu, 20'000);
}
TEST_CASE("pitfall 16: no broken or shifted line gives a wrong value, and two requests later all is well",
          "[drivers][bus][text][faults]") {
  million(Kind::text, 20'000);
}
TEST_CASE("a million corrupted frames a transport", "[.][campaign]") {
  million(Kind::tcp, 1'000'000);
  million(Kind::rtu, 1'000'000);
  million(Kind::text, 1'000'000);
}
