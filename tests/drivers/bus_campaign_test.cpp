// SPDX-License-Identifier: MIT
// The long forms of the bus tests, on real wires: tests/campaign drivers.
#include <catch2/catch.hpp>

#include <atomic>
#include <mutex>
#include <thread>

#include "drivers/bus/bus.hpp"
#include "tests/drivers/faulty_line.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

/// Sends the pieces in their order, each after its time, or at once where the station speaks first: the worst moment
/// for an answer that is late.
void send(DeviceEnd& end, Pieces const& pieces) {
  std::int64_t passed_ns = 0;
  for (auto const& piece : pieces) {
    if (auto const wait_ns = piece.after_ns - passed_ns; wait_ns > fault_usual_ns)
      end.quiet_for(static_cast<int>(wait_ns / 1'000'000));
    passed_ns = piece.after_ns;
    end.write(piece.bytes);
  }
}

BusRequest asking() {
  BusRequest request;
  request.device = "meter";
  request.unit = 5;
  request.count = fault_words;
  request.line = "MEAS?";
  request.terminator = "\r\n";
  request.attempt = seconds(fault_attempt_ns * 1e-9);
  request.deadline = seconds(10);
  return request;
}

struct OnWire {
  std::mutex mutex;
  FaultDraw draw{20261125};
  std::uint32_t turn = 0, corrupted = 0;
  std::uint64_t overdue = 0;  ///< answers that this test's own device sent later than a late one may be
  std::int64_t asked_ns = 0;
  bool faulty = false, out_of_rule = false;
  Octets before;

  template <class Make, class Spoil>
  void answer(DeviceEnd& end, Make const& make, Spoil const& spoil) {
    Pieces pieces;
    {
      std::lock_guard const lock(mutex);
      ++turn;
      auto frame = make(turn);
      auto const earlier = std::exchange(before, frame);
      if (faulty && !earlier.empty()) {
        ++corrupted;
        pieces = spoil(draw, frame, earlier);
      } else {
        pieces = {{fault_usual_ns, frame}};
      }
    }
    send(end, pieces);
    std::lock_guard const lock(mutex);
    // A machine that holds this thread for longer makes a lateness that no serial bus can know: not judged, counted.
    if (WallClock().now().monotonic_ns - asked_ns < fault_attempt_ns * 9 / 5) return;
    ++overdue;
    out_of_rule = true;
  }
  /// What the next round is; true: nothing of the last one may still be on its way.
  bool set(bool value) {
    std::lock_guard const lock(mutex);
    faulty = value;
    asked_ns = WallClock().now().monotonic_ns;
    return !std::exchange(out_of_rule, false);
  }
};

void ask_on_wire(Bus& bus, OnWire& wire, std::uint32_t faults, bool text) {
  std::uint64_t answered = 0, wrong = 0, not_judged = 0;
  int slowest = 0;
  auto const ask = [&] {
    auto const answer = get(bus.ask(asking()));
    if (!answer.ok()) return false;
    ++answered;
    std::lock_guard const lock(wire.mutex);
    bool const right = text ? answer.value().line + "\r\n" == line_of_turn(wire.turn)
                            : answer.value().words == words_of_turn(wire.turn);
    wrong += right ? 0 : 1;
    return true;
  };
  auto const corrupted = [&] {
    std::lock_guard const lock(wire.mutex);
    return wire.corrupted;
  };
  while (corrupted() < faults) {
    auto const wrong_before = wrong;
    bool in_rule = wire.set(true);
    ask();
    in_rule = wire.set(false) && in_rule;
    int requests = 1;
    for (; !ask() && requests < 100; ++requests) in_rule = wire.set(false) && in_rule;
    in_rule = wire.set(false) && in_rule;
    if (in_rule) {
      slowest = std::max(slowest, requests);
    } else {
      ++not_judged;
      wrong = wrong_before;
    }
  }
  CHECK(wrong == 0);
  CHECK(slowest <= 2);
  WARN(corrupted() << " corrupted answers on the wire, " << answered << " answered, " << wrong << " wrong values ("
                   << not_judged << " rounds not judged: this device was held too long), right again after at most "
                   << slowest << " requests");
}

constexpr std::uint32_t wire_faults = 10'000;

}  // namespace

TEST_CASE("ten thousand corrupted frames on a socket", "[.][wire-campaign][tcp]") {
  OnWire wire;
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      wire.answer(
          end, [&](std::uint32_t n) { return tcp_reply(request, words_pdu(3, words_of_turn(n))); }, tcp_fault);
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  ask_on_wire(bus, wire, wire_faults, false);
}

TEST_CASE("ten thousand corrupted frames on a pseudo terminal", "[.][wire-campaign][rtu]") {
  OnWire wire;
  SerialDevice device([&](DeviceEnd& end) {
    while (end.read(8).size() == 8) {
      wire.answer(
          end, [](std::uint32_t n) { return rtu_frame(glue({5}, words_pdu(3, words_of_turn(n)))); },
          [&](FaultDraw& draw, Octets const& frame, Octets const&) {
            return rtu_fault(draw, frame, rtu_frame(glue({6}, words_pdu(3, words_of_turn(wire.turn)))));
          });
    }
  });
  WallClock clock;
  {
    Bus bus(device.link(), clock);
    ask_on_wire(bus, wire, wire_faults, false);
  }
}

TEST_CASE("ten thousand broken lines on a socket", "[.][wire-campaign][text]") {
  OnWire wire;
  TcpDevice device([&](DeviceEnd& end, int) {
    while (!end.read_line().empty()) {
      wire.answer(
          end,
          [](std::uint32_t n) {
            auto const line = line_of_turn(n);
            return Octets(line.begin(), line.end());
          },
          text_fault);
    }
  });
  WallClock clock;
  Bus bus(device.link("text_tcp"), clock);
  ask_on_wire(bus, wire, wire_faults, true);
}

TEST_CASE("eight threads of ten thousand requests on one bus, no cross-talk", "[.][threads-campaign]") {
  TcpDevice device([](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      end.write(
          tcp_reply(request, words_pdu(3, {word_at(request, 8), static_cast<std::uint16_t>(~word_at(request, 8))})));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  std::atomic<int> wrong{0}, right{0};
  std::vector<std::thread> threads;
  for (int thread = 0; thread < 8; ++thread) {
    threads.emplace_back([&, thread] {
      for (int turn = 0; turn < 10'000; ++turn) {
        auto request = asking();
        request.attempt = seconds(5);
        request.deadline = seconds(60);
        request.address = 8'000 * thread + turn % 8'000;
        request.count = 2;
        auto const answer = get(bus.ask(request));
        auto const expected = static_cast<std::uint16_t>(request.address);
        bool const own = answer.ok() && answer.value().words ==
                                            std::vector<std::uint16_t>{expected, static_cast<std::uint16_t>(~expected)};
        ++(own ? right : wrong);
      }
    });
  }
  for (auto& thread : threads) thread.join();
  CHECK(right == 80'000);
  CHECK(wrong == 0);
}
