// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <atomic>
#include <future>
#include <random>
#include <thread>

#include "drivers/bus/bus.hpp"
#include "drivers/bus/modbus_pdu.hpp"
#include "tests/drivers/wire_bench.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

BusRequest serial_read(int unit, int address, Duration attempt = seconds(2)) {
  BusRequest request;
  request.device = "meter";
  request.operation = "read";
  request.unit = unit;
  request.address = address;
  request.count = 1;
  request.attempt = attempt;
  request.deadline = seconds(4);
  return request;
}

Octets reply_of(std::uint8_t unit, std::uint16_t value) {
  return rtu_frame({unit, 3, 2, static_cast<std::uint8_t>(value >> 8), static_cast<std::uint8_t>(value & 0xFF)});
}

}  // namespace

TEST_CASE("a serial frame carries the checksum of the standard", "[drivers][bus][serial]") {
  // Modbus over serial line V1.02, appendix B, gives the frame 02 07 and its checksum 41 12 (low byte first).
  Octets const bytes{0x02, 0x07};
  CHECK(crc16(bytes.data(), bytes.size()) == 0x1241);
  CHECK(rtu_frame(bytes) == Octets{0x02, 0x07, 0x41, 0x12});
}

TEST_CASE("a read over a serial line gives the words", "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) {
    auto const request = end.read(8);
    if (request == rtu_frame({17, 3, 0, 107, 0, 1})) end.write(reply_of(17, 0x022B));
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto const answer = get(bus.ask(serial_read(17, 107)));
  REQUIRE(answer.ok());
  CHECK(answer.value().words.front() == 0x022B);
}

TEST_CASE("pitfall 3: a reply in pieces is one reply", "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) {
    end.read(8);
    for (auto const byte : reply_of(1, 77)) {
      end.write(Octets{byte});
      std::this_thread::yield();
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(serial_read(1, 0))).value().words.front() == 77);
}

TEST_CASE("pitfall 3: the silence between frames is 3.5 characters, 1.75 ms above 19200 baud",
          "[drivers][bus][serial]") {
  CHECK(silence_s(9600) == Approx(3.5 * 11 / 9600.0));
  CHECK(silence_s(19200) == Approx(3.5 * 11 / 19200.0));
  CHECK(silence_s(115200) == Approx(1.75e-3));
}

TEST_CASE("pitfall 4: a late serial reply never becomes the next value", "[drivers][bus][serial]") {
  std::promise<void> timed_out, sent;
  SerialDevice device([&, late = timed_out.get_future().share()](DeviceEnd& end) {
    end.read(8);
    late.wait();
    end.write(reply_of(1, 111));
    sent.set_value();
    end.read(8);
    end.write(reply_of(1, 222));
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(serial_read(1, 0, milliseconds(40)))).error().id == "bus.timeout");
  timed_out.set_value();
  sent.get_future().wait();
  auto const next = get(bus.ask(serial_read(1, 0)));
  REQUIRE(next.ok());
  CHECK(next.value().words.front() == 222);
}

TEST_CASE("pitfall 6: the echo of an adapter is consumed and compared", "[drivers][bus][serial]") {
  int const how = GENERATE(0, 1, 2);
  SerialDevice device([how](DeviceEnd& end) {
    auto echo = end.read(8);
    auto const reply = reply_of(1, 321);
    if (how == 1) echo[4] = static_cast<std::uint8_t>(echo[4] ^ 0x10);  // a second master on the line
    if (how == 2) {
      echo.insert(echo.end(), reply.begin(), reply.end());  // glued together
      end.write(echo);
    } else {
      end.write(echo);
      end.write(reply);
    }
  });
  WallClock clock;
  Bus bus(device.link("modbus_rtu", true), clock);
  auto const answer = get(bus.ask(serial_read(1, 0)));
  if (how == 1) {
    CHECK(answer.error().id == "bus.collision");
    CHECK(bus.counts().at("meter").collisions == 1);
  } else {
    CHECK(answer.value().words.front() == 321);
  }
}

TEST_CASE("pitfall 7: a broadcast is a write that nobody answers; a broadcast read is refused",
          "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) { CHECK(end.read(11) == rtu_frame({0, 16, 0, 5, 0, 1, 2, 0, 9})); });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(serial_read(0, 1))).error().id == "bus.request");
  auto request = serial_read(0, 5);
  request.command = true;
  request.function = 16;
  request.words = {9};
  CHECK(get(bus.ask(request)).ok());
  device.join();
}

TEST_CASE("pitfall 10: an adapter that is pulled wakes everyone who waits", "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) { end.read(8); });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto const begin = clock.now();
  boost::asio::io_context io;
  std::vector<std::optional<Answer<BusReply>>> answers(3);
  for (int i = 0; i < 3; ++i) {
    boost::asio::co_spawn(io, store(bus.ask(serial_read(1, i, seconds(4))), answers[static_cast<std::size_t>(i)]),
                          [](std::exception_ptr) {});
  }
  io.poll();
  device.unplug();
  io.run();
  std::vector<std::string> ids;
  for (auto const& answer : answers) ids.push_back(answer && !answer->ok() ? answer->error().id : "an answer");
  CHECK(ids == std::vector<std::string>{"bus.lost", "bus.lost", "bus.lost"});
  CHECK(between(begin, clock.now()) < seconds(1));
}

TEST_CASE("pitfall 11: a port that another program holds is refused with its holder", "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd&) {});
  device.join();
  int const other = ::open(device.path().c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  REQUIRE(::flock(other, LOCK_EX | LOCK_NB) == 0);
  WallClock clock;
  Bus bus(device.link(), clock);
  auto const answer = get(bus.ask(serial_read(1, 0)));
  CHECK(answer.error().id == "bus.connect");
  CHECK_THAT(answer.error().what, Catch::Contains("held by process " + std::to_string(::getpid())) ||
                                      Catch::Contains("held by another program"));
  ::close(other);
}

TEST_CASE("pitfall 16: noise before a reply is skipped, a broken reply is asked for again", "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) {
    end.read(8);
    auto reply = reply_of(1, 55);
    reply.insert(reply.begin(), {0x00, 0xFF, 0x01, 0x03});
    end.write(reply);
    end.read(8);
    auto broken = reply_of(1, 66);
    broken[3] = static_cast<std::uint8_t>(broken[3] ^ 0x01);
    end.write(broken);
    end.read(8);
    end.write(reply_of(1, 67));
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(serial_read(1, 0))).value().words.front() == 55);
  auto request = serial_read(1, 0);  // a time limit that a crowded machine keeps too
  request.retries = 2;
  CHECK(get(bus.ask(request)).value().words.front() == 67);
  CHECK(bus.counts().at("meter").noise == 1);
  CHECK(bus.counts().at("meter").noisy == 1);
}

TEST_CASE("pitfall 16: a broken reply that came whole is asked for again at once, not when its time is over",
          "[drivers][bus][serial]") {
  SerialDevice device([](DeviceEnd& end) {
    for (int i = 0; i < 3; ++i) {
      end.read(8);
      auto reply = reply_of(3, 77);
      if (i < 2) reply[3] ^= 4;
      end.write(reply);
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto request = serial_read(3, 0, seconds(3));  // waited out, two attempts are all the time there is
  request.retries = 2;
  request.deadline = seconds(5);
  auto const answer = get(bus.ask(request));
  REQUIRE(answer.ok());
  CHECK(answer.value().words.front() == 77);
}

TEST_CASE("pitfall 16: of 200,000 frames with one bit in a hundred flipped none gives a wrong value",
          "[drivers][bus][serial]") {
  std::mt19937 draw(20260101);
  std::bernoulli_distribution flipped(0.01), extra(0.1);
  auto request = serial_read(5, 0);
  request.count = 2;
  int right = 0, wrong = 0, wrong_refusal = 0;
  for (int i = 0; i < 200'000; ++i) {
    auto const high = static_cast<std::uint16_t>(i >> 8), low = static_cast<std::uint16_t>(i * 40503);
    auto frame = rtu_frame({5, 3, 4, static_cast<std::uint8_t>(high >> 8), static_cast<std::uint8_t>(high & 0xFF),
                            static_cast<std::uint8_t>(low >> 8), static_cast<std::uint8_t>(low & 0xFF)});
    for (auto& byte : frame) {
      for (int bit = 0; bit < 8; ++bit) {
        if (flipped(draw)) byte = static_cast<std::uint8_t>(byte ^ (1u << bit));
      }
    }
    if (extra(draw)) frame.insert(frame.begin(), static_cast<std::uint8_t>(draw() & 0xFF));
    std::vector<std::uint16_t> words;
    auto const scan = scan_serial(request, frame, words);
    if (!scan.found) continue;
    if (scan.verdict.kind == PduVerdict::Kind::exception) {
      ++wrong_refusal;
    } else {
      ++(words == std::vector<std::uint16_t>{high, low} ? right : wrong);
    }
  }
  CHECK(wrong == 0);
  CHECK(wrong_refusal == 0);
  CHECK(right > 80'000);  // 0.99^72 = 48 % of frames have no flip at all
  CHECK(right < 110'000);
}

TEST_CASE("a text device is asked in lines and answers in lines", "[drivers][bus][text]") {
  SerialDevice device([](DeviceEnd& end) {
    CHECK(end.read_line() == "*IDN?");
    end.write("DEMO,ONE,7,1.0\r\n");
    CHECK(end.read_line() == "OUTP OFF");
    CHECK(end.read_line() == "MEAS?");
    end.write("1.5,");
    end.write("2.5\n");
  });
  WallClock clock;
  Bus bus(device.link("text"), clock);
  BusRequest request;
  request.device = "meter";
  request.line = "*IDN?";
  CHECK(get(bus.ask(request)).value().line == "DEMO,ONE,7,1.0");
  request.line = "OUTP OFF";
  request.expects_reply = false;
  request.command = true;
  CHECK(get(bus.ask(request)).ok());
  request.line = "MEAS?";
  request.expects_reply = true;
  request.command = false;
  CHECK(get(bus.ask(request)).value().line == "1.5,2.5");
  request.line = "two\nlines";
  CHECK(get(bus.ask(request)).error().id == "bus.request");
}

TEST_CASE("pitfall 4: a late line never becomes the next value", "[drivers][bus][text]") {
  std::promise<void> timed_out, sent;
  TcpDevice device([&, late = timed_out.get_future().share()](DeviceEnd& end, int connection) {
    if (connection > 0) return;
    end.read_line();
    late.wait();
    end.write("111\n");
    sent.set_value();
    end.read_line();
    end.write("222\n");
    end.read_line();
  });
  WallClock clock;
  Bus bus(device.link("text_tcp"), clock);
  BusRequest request;
  request.device = "meter";
  request.line = "MEAS?";
  request.attempt = milliseconds(40);
  CHECK(get(bus.ask(request)).error().id == "bus.timeout");
  timed_out.set_value();
  sent.get_future().wait();
  request.attempt = seconds(2);
  request.deadline = seconds(4);
  CHECK(get(bus.ask(request)).value().line == "222");
}
