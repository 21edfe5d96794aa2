// SPDX-License-Identifier: MIT
// The long forms of the bus tests, on real wires: tests/campaign drivers.
#include <catch2/catch.hpp>

#include <algorithm>
#include <atomic>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <thread>

#include "drivers/bus/bus.hpp"
#include "drivers/bus/wires.hpp"
#include "tests/drivers/faulty_line.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

constexpr std::int64_t listening_ns = fault_attempt_ns;  ///< silence that a bus owes an answer it has given up
constexpr std::uint32_t wire_faults = 10'000, few_wire_faults = 40;
constexpr std::uint32_t most_requests = 60'000;  ///< each has a number of its own, its register address

std::int64_t now_ns() { return WallClock().now().monotonic_ns; }

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

/// What went over the station's end of the wire, and when. A bus is judged by this: the scripted device is itself held
/// up on a busy machine, and a kernel thread hands a pseudo terminal's bytes on.
struct Ear {
  struct Heard {
    std::int64_t at_ns = 0;
    std::uint8_t byte = 0;
  };
  std::mutex mutex;
  std::vector<Heard> heard;                ///< of this round
  std::int64_t sent_ns = 0;                ///< the last request
  bool listened = false;                   ///< the line was listened to and silent for as long as is owed before it
  std::int64_t silent_read_begin_ns = -1;  ///< of the last waiting read, if it heard nothing

  void sends() {
    std::lock_guard const lock(mutex);
    sent_ns = now_ns();
    listened = silent_read_begin_ns >= 0 && sent_ns - silent_read_begin_ns >= listening_ns;
  }
  void read(std::int64_t begin_ns, bool waited, std::uint8_t const* bytes, std::size_t size) {
    std::lock_guard const lock(mutex);
    if (size > 0) silent_read_begin_ns = -1;
    if (size == 0 && waited) silent_read_begin_ns = begin_ns;
    for (std::size_t i = 0; i < size; ++i) heard.push_back({now_ns(), bytes[i]});
  }
  /// When the last byte of this frame had come; nothing if it has not.
  std::optional<std::int64_t> arrival(Octets const& frame) {
    std::lock_guard const lock(mutex);
    auto const at = std::search(heard.begin(), heard.end(), frame.begin(), frame.end(),
                                [](Heard const& one, std::uint8_t byte) { return one.byte == byte; });
    if (at == heard.end()) return std::nullopt;
    return (at + static_cast<std::ptrdiff_t>(frame.size() - 1))->at_ns;
  }
};

class OverheardStream final : public ByteStream {
 public:
  OverheardStream(std::unique_ptr<ByteStream> stream, Ear& ear) : stream_(std::move(stream)), ear_(ear) {}
  ReadEnd read_some(Bytes& into, std::int64_t deadline_ns) override {
    auto const begin_ns = now_ns();
    auto const had = into.size();
    auto const end = stream_->read_some(into, deadline_ns);
    ear_.read(begin_ns, deadline_ns > begin_ns, into.data() + had, into.size() - had);
    return end;
  }
  bool write_all(Bytes const& bytes, std::int64_t deadline_ns) override {
    ear_.sends();
    return stream_->write_all(bytes, deadline_ns);
  }
  bool hung_up() override { return stream_->hung_up(); }

 private:
  std::unique_ptr<ByteStream> stream_;
  Ear& ear_;
};

OpenStream overheard(OpenStream open, Ear& ear) {
  return [open = std::move(open), &ear](std::int64_t deadline_ns, std::string& why) -> std::unique_ptr<ByteStream> {
    auto stream = open(deadline_ns, why);
    if (!stream) return nullptr;
    return std::make_unique<OverheardStream>(std::move(stream), ear);
  };
}

BusRequest asking() {
  BusRequest request;
  request.device = "meter";
  request.unit = 5;
  request.count = fault_words;
  request.terminator = "\r\n";
  request.attempt = seconds(fault_attempt_ns * 1e-9);
  request.deadline = seconds(10);
  return request;
}

/// The device: answers request n with the constant of n, spoilt where the test says so.
struct OnWire {
  std::mutex mutex;
  FaultDraw draw{20261125};
  std::uint32_t corrupted = 0;
  bool faulty = false;
  Octets before;
  std::map<std::uint32_t, std::int64_t> written_ns;  ///< of sound answers

  template <class Spoil>
  void answer(DeviceEnd& end, std::uint32_t number, Octets const& frame, Spoil const& spoil) {
    Pieces pieces{{fault_usual_ns, frame}};
    bool spoilt = false;
    {
      std::lock_guard const lock(mutex);
      auto const earlier = std::exchange(before, frame);
      spoilt = faulty && !earlier.empty();
      corrupted += spoilt ? 1 : 0;
      if (spoilt) pieces = spoil(draw, frame, earlier);
    }
    send(end, pieces);
    std::lock_guard const lock(mutex);
    if (!spoilt) written_ns[number] = now_ns();
  }
};

class WireCampaign {
 public:
  WireCampaign(Bus& bus, OnWire& device, Ear& ear, bool text, std::function<Octets(std::uint32_t)> frame_of)
      : bus_(bus), device_(device), ear_(ear), text_(text), frame_of_(std::move(frame_of)) {}

  void run(std::uint32_t faults) {
    while (corrupted() < faults && number_ < most_requests) round();
    CHECK(corrupted() >= faults);
    CHECK(wrong_ == 0);
    CHECK(slowest_ <= 2);
    CHECK(right_ >= faults);
    if (faults >= wire_faults) CHECK(beyond_ + held_up_ < faults / 20);  // else hardly anything was judged
    WARN(corrupted() << " corrupted answers on the wire, " << right_ << " right values, " << wrong_
                     << " wrong, right again after at most " << slowest_ << " requests; not the bus's: " << beyond_
                     << " answers later than twice their time limit and " << listening_ns / 1'000'000
                     << " ms of listened silence, " << held_up_ << " sound answers that came after their time limit");
  }

 private:
  struct Asked {
    std::uint32_t number = 0;
    std::int64_t sent_ns = 0;
  };

  std::uint32_t corrupted() {
    std::lock_guard const lock(device_.mutex);
    return device_.corrupted;
  }

  bool ask(bool faulty) {
    Asked asked{++number_, 0};
    {
      std::lock_guard const lock(device_.mutex);
      device_.faulty = faulty;
    }
    auto request = asking();
    request.address = static_cast<int>(asked.number);
    request.line = "MEAS? " + std::to_string(asked.number);
    auto const answer = get(bus_.ask(request));
    asked.sent_ns = ear_.sent_ns;
    bool right = false;
    if (answer.ok()) {
      auto const is_of = [&](std::uint32_t number) {
        return text_ ? answer.value().line + "\r\n" == line_of_turn(number)
                     : answer.value().words == words_of_turn(number);
      };
      right = is_of(asked.number);
      if (right) {
        ++right_;
      } else {
        judge_wrong(asked, is_of);
      }
    }
    round_.push_back(asked);
    return right;
  }

  /// An answer that belongs to an earlier request, that came when that one had been given up for as long again and the
  /// line had been listened to and silent since: a serial answer bears no number, no bus could know. All else is wrong.
  template <class IsOf>
  void judge_wrong(Asked const& asked, IsOf const& is_of) {
    for (auto const& earlier : round_) {
      if (!is_of(earlier.number)) continue;
      if (ear_.listened && asked.sent_ns - earlier.sent_ns >= fault_attempt_ns + listening_ns) {
        ++beyond_;
        beyond_rule_ = true;
        return;
      }
    }
    ++wrong_;
  }

  void round() {
    round_.clear();
    beyond_rule_ = false;
    {
      std::lock_guard const lock(ear_.mutex);
      ear_.heard.clear();
    }
    ask(true);
    int requests = 0;
    for (bool right = false; !right && requests < 100;) {
      right = ask(false);
      ++requests;
    }
    // A sound answer that reached the station after its time limit says nothing of the bus.
    for (std::size_t i = 1; i + 1 < round_.size(); ++i) {
      if (!too_late(round_[i])) continue;
      --requests;
      ++held_up_;
    }
    // Behind an answer beyond the rule all others may be one out of step.
    if (!beyond_rule_) slowest_ = std::max(slowest_, requests);
  }

  bool too_late(Asked const& asked) {
    auto const limit_ns = asked.sent_ns + fault_attempt_ns;
    if (auto const came_ns = ear_.arrival(frame_of_(asked.number))) return *came_ns > limit_ns;
    std::lock_guard const lock(device_.mutex);
    auto const written = device_.written_ns.find(asked.number);
    return written == device_.written_ns.end() || written->second > limit_ns;
  }

  Bus& bus_;
  OnWire& device_;
  Ear& ear_;
  bool text_;
  std::function<Octets(std::uint32_t)> frame_of_;
  std::uint32_t number_ = 0;
  std::vector<Asked> round_;
  bool beyond_rule_ = false;
  std::uint64_t right_ = 0, wrong_ = 0, beyond_ = 0, held_up_ = 0;
  int slowest_ = 0;
};

WireTime wall_time() { return sleeping_time(now_ns); }

Octets rtu_answer(int unit, std::uint32_t number) {
  return rtu_frame(glue({static_cast<std::uint8_t>(unit)}, words_pdu(3, words_of_turn(number))));
}

/// Four and more flipped bits fit the 16 bits of the check once in 2^15; nobody on a line could tell: drawn again.
Pieces rtu_fault_that_shows(FaultDraw& draw, Octets const& frame, Octets const& other) {
  for (;;) {
    auto pieces = rtu_fault(draw, frame, other);
    if (pieces.size() != 1) return pieces;
    auto const& bytes = pieces.front().bytes;
    bool const fits = bytes.size() == frame.size() && rtu_frame({bytes.begin(), bytes.end() - 2}) == bytes;
    if (!fits || bytes == frame || bytes == other) return pieces;
  }
}

void corrupt_on_socket(std::uint32_t faults) {
  OnWire wire;
  Ear ear;
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      auto const number = word_at(request, 8);
      wire.answer(end, number, tcp_reply(request, words_pdu(3, words_of_turn(number))), tcp_fault);
    }
  });
  WallClock clock;
  auto opened = overheard(open_modbus_tcp(parse_link_address(device.link().address), now_ns), ear);
  Bus bus("link", make_modbus_tcp_wire(std::move(opened), wall_time()), clock);
  WireCampaign campaign(bus, wire, ear, false, [](std::uint32_t n) { return words_pdu(3, words_of_turn(n)); });
  campaign.run(faults);
}

void corrupt_on_terminal(std::uint32_t faults) {
  OnWire wire;
  Ear ear;
  SerialDevice device([&](DeviceEnd& end) {
    for (auto request = end.read(8); request.size() == 8; request = end.read(8)) {
      auto const number = word_at(request, 2);
      wire.answer(end, number, rtu_answer(5, number), [&](FaultDraw& draw, Octets const& frame, Octets const&) {
        return rtu_fault_that_shows(draw, frame, rtu_answer(6, number));
      });
    }
  });
  WallClock clock;
  {
    auto opened = overheard(open_modbus_rtu(parse_link_address(device.link().address), now_ns), ear);
    Bus bus("line", make_modbus_rtu_wire(std::move(opened), 115'200, false, wall_time()), clock);
    WireCampaign campaign(bus, wire, ear, false, [](std::uint32_t n) { return rtu_answer(5, n); });
    campaign.run(faults);
  }
}

void corrupt_lines(std::uint32_t faults) {
  OnWire wire;
  Ear ear;
  auto const said = [](std::uint32_t n) {
    auto const line = line_of_turn(n);
    return Octets(line.begin(), line.end());
  };
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto line = end.read_line(); !line.empty(); line = end.read_line()) {
      auto const number = static_cast<std::uint32_t>(std::stoul(line.substr(line.find(' ') + 1)));
      wire.answer(end, number, said(number), text_fault);
    }
  });
  WallClock clock;
  auto opened = overheard(open_text(parse_link_address(device.link("text_tcp").address), now_ns), ear);
  Bus bus("link", make_text_wire(std::move(opened), false, wall_time()), clock);
  WireCampaign campaign(bus, wire, ear, true, said);
  campaign.run(faults);
}

}  // namespace

TEST_CASE("pitfall 16: corrupted answers on a socket, a pseudo terminal and in lines give no wrong value",
          "[drivers][bus][faults]") {
  SECTION("Modbus TCP") { corrupt_on_socket(few_wire_faults); }
  SECTION("Modbus on a pseudo terminal") { corrupt_on_terminal(few_wire_faults); }
  SECTION("lines of text") { corrupt_lines(few_wire_faults); }
}

TEST_CASE("ten thousand corrupted frames on a socket", "[.][wire-campaign][tcp]") { corrupt_on_socket(wire_faults); }
TEST_CASE("ten thousand corrupted frames on a pseudo terminal", "[.][wire-campaign][rtu]") {
  corrupt_on_terminal(wire_faults);
}
TEST_CASE("ten thousand broken lines on a socket", "[.][wire-campaign][text]") { corrupt_lines(wire_faults); }

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
