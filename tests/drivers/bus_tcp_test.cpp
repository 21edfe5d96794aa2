// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <future>
#include <mutex>
#include <thread>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>

#include "drivers/bus/bus.hpp"
#include "tests/drivers/wire_bench.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

BusRequest read_request(int address, int count = 1, Duration attempt = seconds(2)) {
  BusRequest request;
  request.device = "meter";
  request.operation = "read";
  request.address = address;
  request.count = count;
  request.attempt = attempt;
  request.deadline = seconds(4);
  return request;
}
BusRequest write_request(int address, std::uint16_t value) {
  auto request = read_request(address, 0);
  request.operation = "write";
  request.command = true;
  request.function = 16;
  request.words = {value};
  return request;
}

Octets confirmation(Octets const& request) { return {request.begin() + 7, request.begin() + 12}; }

}  // namespace

TEST_CASE("a read over TCP gives the words, their time and the round trip", "[drivers][bus][tcp]") {
  TcpDevice device([](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      // Function 3, zero-based address 107, 2 words: bytes from the Modbus application protocol V1.1b3, 6.3.
      if (request == Octets{request[0], request[1], 0, 0, 0, 6, 17, 3, 0, 107, 0, 2})
        end.write(tcp_reply(request, words_pdu(3, {0x022B, 0x0064})));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto request = read_request(107, 2);
  request.unit = 17;
  auto const answer = get(bus.ask(request));
  REQUIRE(answer.ok());
  CHECK(answer.value().words == std::vector<std::uint16_t>{0x022B, 0x0064});
  CHECK(answer.value().received.monotonic_ns > 0);
  CHECK(answer.value().round_trip > seconds(0));
  CHECK(bus.counts().at("meter").answered == 1);
  auto const frames = bus.frames();
  REQUIRE(frames.size() == 2);
  CHECK(frames[0].sent);
  CHECK_FALSE(frames[1].sent);
  CHECK(spaced_hex(frames[0].bytes).substr(6) == "00 00 00 06 11 03 00 6B 00 02");
  CHECK(spaced_hex(frames[1].bytes).substr(6) == "00 00 00 07 11 03 04 02 2B 00 64");
  CHECK(frames[0].monotonic_ns < frames[1].monotonic_ns);
  CHECK(frames[1].monotonic_ns == answer.value().received.monotonic_ns);
}

TEST_CASE("pitfall 4: a late TCP reply never becomes the next value", "[drivers][bus][tcp]") {
  TcpDevice device([](DeviceEnd& end, int) {
    auto const first = end.read_tcp_request();
    auto const second = end.read_tcp_request();
    if (second.empty()) return;
    end.write(tcp_reply(first, words_pdu(3, {111})));
    end.write(tcp_reply(second, words_pdu(3, {222})));
    end.read_tcp_request();
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto const late = get(bus.ask(read_request(5, 1, milliseconds(30))));
  REQUIRE_FALSE(late.ok());
  CHECK(late.error().id == "bus.timeout");
  auto const next = get(bus.ask(read_request(5)));
  REQUIRE(next.ok());
  CHECK(next.value().words.front() == 222);
  CHECK(bus.counts().at("meter").stale == 1);
}

TEST_CASE("pitfall 5: the deadline is a real one, retries included", "[drivers][bus][tcp]") {
  TcpDevice device([](DeviceEnd& end, int) {
    while (!end.read_tcp_request().empty()) {
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto request = read_request(0, 1, milliseconds(40));
  request.retries = 1000;
  request.deadline = milliseconds(150);
  auto const begin = clock.now();
  auto const answer = get(bus.ask(request));
  auto const took = between(begin, clock.now());
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().id == "bus.timeout");
  CHECK(took >= milliseconds(150));
  CHECK(took < seconds(1));  // some 150 ms on a free machine; a loaded one may be late in waking up
}

TEST_CASE("pitfall 7: unit numbers 0 to 255 go over TCP as they are, and another's answer is none",
          "[drivers][bus][tcp]") {
  TcpDevice device([](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      auto reply = tcp_reply(request, words_pdu(3, {request[6]}));
      if (request[6] == 9) reply[6] = 8;
      end.write(reply);
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  for (int const unit : {0, 1, 247, 255}) {
    auto request = read_request(0);
    request.unit = unit;
    CHECK(get(bus.ask(request)).value().words.front() == unit);
  }
  auto request = read_request(0);
  request.unit = 9;
  CHECK(get(bus.ask(request)).error().id == "bus.noise");
  request.unit = 256;
  CHECK(get(bus.ask(request)).error().id == "bus.request");
}

TEST_CASE("pitfall 8: eight threads on one bus each get their own constants", "[drivers][bus][tcp]") {
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
      for (int turn = 0; turn < 100; ++turn) {
        auto request = read_request(1000 * (thread + 1) + turn, 2);
        request.deadline = seconds(30);
        auto const answer = get(bus.ask(request));
        auto const expected = static_cast<std::uint16_t>(request.address);
        bool const own = answer.ok() && answer.value().words ==
                                            std::vector<std::uint16_t>{expected, static_cast<std::uint16_t>(~expected)};
        ++(own ? right : wrong);
      }
    });
  }
  for (auto& thread : threads) thread.join();
  CHECK(right == 800);
  CHECK(wrong == 0);
}

namespace {

/// Starts several requests at once, in this order, and gives their answers in the same order.
std::vector<std::string> ask_all(
    Bus& bus, std::vector<BusRequest> requests, std::function<void()> const& started = [] {}) {
  boost::asio::io_context io;
  std::vector<std::optional<Answer<BusReply>>> answers(requests.size());
  for (std::size_t i = 0; i < requests.size(); ++i) {
    boost::asio::co_spawn(io, store(bus.ask(requests[i]), answers[i]), [](std::exception_ptr) {});
  }
  io.poll();
  started();
  io.run();
  std::vector<std::string> ids;
  for (auto const& answer : answers) ids.push_back(!answer ? "cancelled" : answer->ok() ? "ok" : answer->error().id);
  return ids;
}

}  // namespace

TEST_CASE("pitfall 8: commands go before reads that wait", "[drivers][bus][tcp]") {
  std::promise<void> all_waiting;
  auto waiting = all_waiting.get_future().share();
  std::mutex mutex;
  std::vector<int> order;
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      {
        std::lock_guard const lock(mutex);
        order.push_back(word_at(request, 8));
      }
      waiting.wait();
      end.write(tcp_reply(request, request[7] == 3 ? words_pdu(3, {1}) : confirmation(request)));
    }
  });
  WallClock clock;
  {
    Bus bus(device.link(), clock);
    std::vector<BusRequest> const requests{read_request(1), read_request(2), read_request(3), write_request(4, 7)};
    auto const ids = ask_all(bus, requests, [&] { all_waiting.set_value(); });
    CHECK(ids == std::vector<std::string>{"ok", "ok", "ok", "ok"});
  }
  std::lock_guard const lock(mutex);
  REQUIRE(order.size() == 4);
  auto const command = std::find(order.begin(), order.end(), 4);
  CHECK(command - order.begin() <= 1);  // at most behind the read that was on the wire already
}

TEST_CASE("a permit withdrawn while a command waits means that nothing is sent", "[drivers][bus][tcp][permit]") {
  std::promise<void> withdrawn;
  auto gone = withdrawn.get_future().share();
  std::atomic<int> writes{0};
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      if (request[7] == 16) ++writes;
      gone.wait();
      end.write(tcp_reply(request, request[7] == 3 ? words_pdu(3, {1}) : confirmation(request)));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto link = std::make_shared<PermitLink>();
  link->live = true;
  auto energise = write_request(100, 1);
  energise.energising = true;
  energise.permit = link;
  // Held on the wire by a read first, so that the permit goes while the command waits.
  auto holder = read_request(1);
  holder.command = true;
  std::vector<BusRequest> const requests{holder, energise};
  auto const ids = ask_all(bus, requests, [&] {
    link->live = false;
    withdrawn.set_value();
  });
  CHECK(ids == std::vector<std::string>{"ok", "permit.withdrawn"});
  CHECK(writes == 0);
  SECTION("and with the permit live again it is sent, once") {
    link->live = true;
    CHECK(get(bus.ask(energise)).ok());
    CHECK(writes == 1);
  }
  SECTION("an energising request without any permit is refused") {
    energise.permit.reset();
    CHECK(get(bus.ask(energise)).error().id == "permit.withdrawn");
    CHECK(writes == 0);
  }
}

TEST_CASE("pitfall 9: nothing that waited for a lost connection is sent after it is back", "[drivers][bus][tcp]") {
  std::promise<void> queued;
  auto all_queued = queued.get_future().share();
  std::mutex mutex;
  std::vector<int> seen_after;
  TcpDevice device([&](DeviceEnd& end, int connection) {
    auto request = end.read_tcp_request();
    if (connection == 0) {
      all_queued.wait();
      return;  // closes: the cable is cut with writes waiting
    }
    for (; !request.empty(); request = end.read_tcp_request()) {
      {
        std::lock_guard const lock(mutex);
        seen_after.push_back(word_at(request, 8));
      }
      end.write(tcp_reply(request, words_pdu(3, {1})));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  std::vector<BusRequest> const requests{read_request(1), write_request(2, 1), write_request(3, 1), write_request(4, 1),
                                         read_request(5)};
  auto const ids = ask_all(bus, requests, [&] { queued.set_value(); });
  CHECK(ids == std::vector<std::string>{"bus.lost", "bus.lost", "bus.lost", "bus.lost", "bus.lost"});
  CHECK(get(bus.ask(read_request(6))).ok());
  std::lock_guard const lock(mutex);
  CHECK(seen_after == std::vector<int>{6});
}

TEST_CASE("pitfall 9: a link that cannot be opened is not hammered", "[drivers][bus][tcp]") {
  WallClock clock;
  LinkDeclaration nowhere;
  {
    TcpDevice device([](DeviceEnd&, int) {});
    nowhere = device.link();
  }
  Bus bus(nowhere, clock);
  auto const first = get(bus.ask(read_request(1)));
  CHECK(first.error().id == "bus.connect");
  CHECK_FALSE(first.error().next.empty());
  CHECK(get(bus.ask(read_request(1))).error().id == "bus.down");
}

TEST_CASE("pitfall 13: a cancelled read resumes at once and the next one gets its own answer", "[drivers][bus][tcp]") {
  std::promise<void> cancelled;
  auto gone = cancelled.get_future().share();
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      gone.wait();
      end.write(tcp_reply(request, words_pdu(3, {word_at(request, 8)})));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  boost::asio::io_context io;
  boost::asio::cancellation_signal stop;
  std::exception_ptr failure;
  std::optional<Answer<BusReply>> never;
  boost::asio::co_spawn(
      io, store(bus.ask(read_request(11)), never),
      boost::asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr error) { failure = error; }));
  io.poll();
  stop.emit(boost::asio::cancellation_type::terminal);
  io.run();  // ends though the device has not answered: STOP does not wait for a read
  CHECK(failure != nullptr);
  cancelled.set_value();
  CHECK(get(bus.ask(read_request(12))).value().words.front() == 12);
}

TEST_CASE("pitfall 21: a command whose confirmation is lost is sent once", "[drivers][bus][tcp]") {
  std::atomic<int> seen{0};
  TcpDevice device([&](DeviceEnd& end, int) {
    while (!end.read_tcp_request().empty()) ++seen;
  });
  WallClock clock;
  {
    Bus bus(device.link(), clock);
    auto request = write_request(1, 1);
    request.retries = 5;  // a command has none, whatever it says
    request.attempt = milliseconds(30);
    auto const answer = get(bus.ask(request));
    CHECK(answer.error().id == "bus.timeout");
    CHECK_THAT(answer.error().next, Catch::Contains("read back"));
    CHECK_FALSE(answer.error().sent.empty());
  }
  CHECK(seen == 1);
}

TEST_CASE("a device that refuses is heard, and not asked again", "[drivers][bus][tcp]") {
  std::atomic<int> seen{0};
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      ++seen;
      end.write(tcp_reply(request, {0x83, 0x02}));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto request = read_request(9);
  request.retries = 3;
  auto const answer = get(bus.ask(request));
  CHECK(answer.error().id == "device.refused");
  CHECK_THAT(answer.error().what, Catch::Contains("no such register"));
  CHECK(seen == 1);
}

TEST_CASE("descriptors of 1024 and more are refused, libmodbus cannot wait on them", "[drivers][bus][tcp]") {
  rlimit limit{};
  ::getrlimit(RLIMIT_NOFILE, &limit);
  auto const before = limit;
  limit.rlim_cur = std::min<rlim_t>(limit.rlim_max, 4096);
  ::setrlimit(RLIMIT_NOFILE, &limit);
  TcpDevice device([](DeviceEnd& end, int) { end.read_tcp_request(); });
  std::vector<int> taken;
  for (int fd = ::open("/dev/null", O_RDONLY | O_CLOEXEC); fd >= 0 && fd < 1024;
       fd = ::open("/dev/null", O_RDONLY | O_CLOEXEC))
    taken.push_back(fd);
  WallClock clock;
  Bus bus(device.link(), clock);
  // The io_context of the waiting coroutine is made first; its descriptors may be beyond 1023, the link's may not.
  auto const answer = get(bus.ask(read_request(1)));
  for (int const fd : taken) ::close(fd);
  ::setrlimit(RLIMIT_NOFILE, &before);
  REQUIRE_FALSE(answer.ok());
  CHECK_THAT(answer.error().what, Catch::Contains("1024"));
}
