// SPDX-License-Identifier: MIT
// What public issue threads report of drivers and buses (drivers/README.md has the list): the ones that are not shown
// by the tests of one bus alone.
#include <catch2/catch.hpp>

#include <fcntl.h>
#include <unistd.h>

#include <atomic>
#include <clocale>
#include <filesystem>
#include <future>
#include <locale>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>

#include "drivers/bus/bus.hpp"
#include "drivers/instruments/device.hpp"
#include "drivers/profile/profile_document.hpp"
#include "tests/drivers/register_device.hpp"
#include "tests/drivers/wire_bench.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

BusRequest read_request(int address, Duration attempt = seconds(2)) {
  BusRequest request;
  request.device = "meter";
  request.operation = "read";
  request.address = address;
  request.count = 1;
  request.attempt = attempt;
  request.deadline = seconds(4);
  return request;
}

Octets reply_of(std::uint8_t unit, std::uint16_t value) {
  return rtu_frame({unit, 3, 2, static_cast<std::uint8_t>(value >> 8), static_cast<std::uint8_t>(value & 0xFF)});
}

/// Emits the cancellation while the request is on the wire; whether it resumed without an answer.
bool cancelled(Bus& bus, BusRequest request, std::function<void()> const& on_the_wire) {
  boost::asio::io_context io;
  boost::asio::cancellation_signal stop;
  std::exception_ptr failure;
  std::optional<Answer<BusReply>> never;
  boost::asio::co_spawn(
      io, store(bus.ask(std::move(request)), never),
      boost::asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr error) { failure = error; }));
  io.poll();
  on_the_wire();
  stop.emit(boost::asio::cancellation_type::terminal);
  io.run();
  return failure != nullptr && !never;
}

}  // namespace

TEST_CASE("pitfall 3: a device that ignores early requests is never asked too early", "[drivers][bus][pitfalls]") {
  WallClock clock;
  std::atomic<int> early{0};
  SerialDevice device([&](DeviceEnd& end) {
    std::int64_t last_ns = 0;
    for (int turn = 0; turn < 30; ++turn) {
      if (end.read(1).empty()) return;
      if (last_ns != 0 && clock.now().monotonic_ns - last_ns < 1'750'000) ++early;
      end.read(7);
      last_ns = clock.now().monotonic_ns;  // before: this thread may be put aside between its write and a look after it
      end.write(reply_of(1, static_cast<std::uint16_t>(turn)));
    }
  });
  Bus bus(device.link(), clock);
  for (int turn = 0; turn < 30; ++turn) CHECK(get(bus.ask(read_request(0))).value().words.front() == turn);
  CHECK(early == 0);
  CHECK(bus.counts().at("meter").timeouts == 0);
}

TEST_CASE("pitfall 3: a device's own gap is kept besides the protocol's", "[drivers][bus][pitfalls]") {
  WallClock clock;
  std::atomic<std::int64_t> shortest{1'000'000'000};
  SerialDevice device([&](DeviceEnd& end) {
    for (int turn = 0; turn < 4; ++turn) {
      auto const replied = clock.now().monotonic_ns;
      if (end.read(1).empty()) return;
      if (turn > 0) shortest = std::min<std::int64_t>(shortest, clock.now().monotonic_ns - replied);
      end.read(7);
      end.write(reply_of(1, 7));
    }
  });
  Bus bus(device.link(), clock);
  auto request = read_request(0);
  request.gap = milliseconds(25);
  for (int turn = 0; turn < 4; ++turn) CHECK(get(bus.ask(request)).ok());
  CHECK(shortest >= 25'000'000);
}

TEST_CASE("pitfall 3: a reply split by a pause of 20 ms is one reply", "[drivers][bus][pitfalls]") {
  SerialDevice device([](DeviceEnd& end) {
    end.read(8);
    auto const reply = reply_of(1, 4711);
    end.write(Octets(reply.begin(), reply.begin() + 3));
    end.quiet_for(20);
    end.write(Octets(reply.begin() + 3, reply.end()));
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(read_request(0))).value().words.front() == 4711);
}

TEST_CASE("pitfall 5: the time limit is the device's own, and the statistics show what it needs",
          "[drivers][bus][pitfalls]") {
  TcpDevice device([](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      end.quiet_for(120);
      end.write(tcp_reply(request, words_pdu(3, {word_at(request, 8)})));
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(get(bus.ask(read_request(1, milliseconds(40)))).error().id == "bus.timeout");
  CHECK(get(bus.ask(read_request(2, seconds(2)))).value().words.front() == 2);
  CHECK(bus.counts().at("meter").slowest >= milliseconds(100));
  CHECK(bus.counts().at("meter").timeouts == 1);
}

TEST_CASE("pitfall 10: an adapter that comes back under another number is not taken for the one that went",
          "[drivers][bus][pitfalls]") {
  auto const by_id = std::filesystem::temp_directory_path() / ("benchward-by-id-" + std::to_string(::getpid()));
  std::filesystem::remove(by_id);
  auto answering = [](std::uint16_t value) {
    return [value](DeviceEnd& end) {
      while (end.read(8).size() == 8) end.write(reply_of(1, value));
    };
  };
  auto one = std::make_unique<SerialDevice>([](DeviceEnd& end) {
    end.read(8);
    end.write(reply_of(1, 1));
  });
  std::filesystem::create_symlink(one->path(), by_id);
  auto link = one->link();
  link.address = "modbus-rtu://" + by_id.string() + "?baud=115200";
  WallClock clock;
  {
    Bus bus(link, clock);
    CHECK(get(bus.ask(read_request(0))).value().words.front() == 1);
    // Pulled: the name of the adapter goes with it. Another adapter turns up, under the number that is free now.
    one->unplug();
    std::filesystem::remove(by_id);
    SerialDevice other(answering(99));
    auto const lost = get(bus.ask(read_request(0)));
    REQUIRE_FALSE(lost.ok());
    for (int attempt = 0; attempt < 5; ++attempt) CHECK_FALSE(get(bus.ask(read_request(0))).ok());
    // The adapter itself comes back, under another number: its name leads there.
    SerialDevice again(answering(2));
    std::filesystem::create_symlink(again.path(), by_id);
    std::optional<std::uint16_t> value;
    auto const until = clock.now().monotonic_ns + 5'000'000'000;
    while (!value && clock.now().monotonic_ns < until) {
      auto const answer = get(bus.ask(read_request(0)));
      if (answer.ok()) value = answer.value().words.front();
    }
    CHECK(value == std::uint16_t{2});
    // What serves the pseudo terminals ends when the station's end closes.
    std::filesystem::remove(by_id);
    LinkDeclaration unused = other.link();
    int const near = ::open(other.path().c_str(), 0);
    if (near >= 0) ::close(near);
  }
}

TEST_CASE("pitfall 13: cancelled at every byte of the answer, the next read is right", "[drivers][bus][pitfalls]") {
  auto const reply = reply_of(1, 111);
  std::size_t const at = GENERATE_COPY(range(std::size_t{0}, reply.size()));
  std::promise<void> partly, cancelled_now;
  SerialDevice device([&](DeviceEnd& end) {
    end.read(8);
    end.write(Octets(reply.begin(), reply.begin() + static_cast<std::ptrdiff_t>(at)));
    partly.set_value();
    cancelled_now.get_future().wait();
    end.write(Octets(reply.begin() + static_cast<std::ptrdiff_t>(at), reply.end()));
    end.read(8);
    end.write(reply_of(1, 222));
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  CHECK(cancelled(bus, read_request(0), [&] { partly.get_future().wait(); }));
  cancelled_now.set_value();
  CHECK(get(bus.ask(read_request(0))).value().words.front() == 222);
}

TEST_CASE("pitfall 14: with the link gone a device gives no value at all, not its last one",
          "[drivers][instruments][pitfalls]") {
  RegisterDevice registers;
  registers.identity(1000, "Source Twelve", "SR-0009", "5.2", 2018915346u);
  std::atomic<bool> gone{false};
  TcpDevice wire([&](DeviceEnd& end, int) {
    for (int turn = 0; turn < 3 && !gone; ++turn) registers.serve_one(end);
  });
  WallClock clock;
  Bus bus(wire.link(), clock);
  Device device(declared("ac_source", "demo-ac-source", "SR-0009"), built_in_profile("demo-ac-source"), bus, clock);
  REQUIRE(get(device.sample()).ok());  // identity, known value, sample; then the other end closes for good
  gone = true;
  for (int turn = 0; turn < 3; ++turn) {
    auto const after = get(device.sample());
    REQUIRE_FALSE(after.ok());
    CHECK((after.error().id == "bus.lost" || after.error().id == "bus.connect" || after.error().id == "bus.down"));
  }
}

TEST_CASE("pitfall 15: a device that takes for ever keeps no other bus waiting", "[drivers][bus][pitfalls]") {
  std::promise<void> end_of_test;
  auto ended = end_of_test.get_future().share();
  TcpDevice slow([&](DeviceEnd& end, int) {
    auto const request = end.read_tcp_request();
    ended.wait();
    if (!request.empty()) end.write(tcp_reply(request, words_pdu(3, {1})));
  });
  TcpDevice quick([](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request())
      end.write(tcp_reply(request, words_pdu(3, {word_at(request, 8)})));
  });
  WallClock clock;
  Bus slow_bus(slow.link(), clock), quick_bus(quick.link(), clock);
  boost::asio::io_context io;
  std::optional<Answer<BusReply>> slow_answer;
  boost::asio::co_spawn(io, store(slow_bus.ask(read_request(0, seconds(4))), slow_answer), [](std::exception_ptr) {});
  int right = 0;
  boost::asio::co_spawn(
      io,
      [&]() -> Task<void> {
        for (int turn = 0; turn < 200; ++turn) {
          auto const answer = co_await quick_bus.ask(read_request(turn));
          if (answer.ok() && answer.value().words.front() == turn) ++right;
        }
        CHECK_FALSE(slow_answer.has_value());  // the slow one still waits
        end_of_test.set_value();
      },
      [](std::exception_ptr) {});
  io.run();
  CHECK(right == 200);
  CHECK(slow_answer.has_value());
}

TEST_CASE("pitfall 17: numbers on the wire are the same under a locale with a decimal comma",
          "[drivers][instruments][pitfalls]") {
  struct Comma final : std::numpunct<char> {
    char do_decimal_point() const override { return ','; }
    char do_thousands_sep() const override { return '.'; }
    std::string do_grouping() const override { return "\3"; }
  };
  auto const before = std::locale::global(std::locale(std::locale::classic(), new Comma));
  std::string const c_before = std::setlocale(LC_ALL, nullptr);
  for (auto const* name : {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8"}) {
    if (std::setlocale(LC_ALL, name) != nullptr) break;
  }
  std::mutex mutex;
  std::vector<std::string> heard;
  TcpDevice wire([&](DeviceEnd& end, int) {
    for (auto line = end.read_line(); !line.empty(); line = end.read_line()) {
      std::lock_guard const lock(mutex);
      heard.push_back(line);
      if (line == "*IDN?") end.write("Demo Instruments,Winding Ten,WR-0250,1.0\n");
      if (line == "SYST:ERR?") end.write("0,\"No error\"\n");
      if (line == "MEAS?") end.write("54.12,7.5000,0\n");
    }
  });
  {
    WallClock clock;
    Bus bus(wire.link("text_tcp"), clock);
    Device device(declared("resistance_meter", "demo-resistance-meter", "WR-0250"),
                  built_in_profile("demo-resistance-meter"), bus, clock);
    auto const sample = get(device.sample());
    REQUIRE(sample.ok());
    CHECK(sample.value().values.at("volts").number == 54.12);
    auto permit = std::make_shared<PermitLink>();
    permit->live = true;
    TextValues values;
    values["set_current"] = {1.25, ""};
    CHECK(get(device.run("set_current", values, permit)).ok());
  }
  std::setlocale(LC_ALL, c_before.c_str());
  std::locale::global(before);
  std::lock_guard const lock(mutex);
  CHECK(std::find(heard.begin(), heard.end(), "SOUR:CURR 1.250") != heard.end());
}

TEST_CASE("pitfall 18: opening a link sends nothing of its own; start-up is the profile's, once for each proven link",
          "[drivers][instruments][pitfalls]") {
  bool const has_start_up = GENERATE(true, false);
  std::mutex mutex;
  std::vector<std::string> heard;
  int samples = 0;
  TcpDevice wire([&](DeviceEnd& end, int) {
    for (auto line = end.read_line(); !line.empty(); line = end.read_line()) {
      std::lock_guard const lock(mutex);
      heard.push_back(line);
      if (line == "*IDN?")
        end.write(has_start_up ? "Demo Instruments,Winding Ten,S,1.0\n"
                               : "Demo Instruments;Dielectric Seventy;S;2.3\r\n");
      if (line == "SYST:ERR?") end.write("0,\"No error\"\n");
      if (line == "MEAS?") end.write("1.0,2.0,0\n");
      if (line == "STATE?") end.write("0.000kV;0.000mA;60.00Hz;1\r\n");
      if (line == "MEAS?" || line == "STATE?") {
        if (++samples == 2) return;  // the link is lost after the second sample
      }
    }
  });
  WallClock clock;
  Bus bus(wire.link("text_tcp"), clock);
  auto const* role = has_start_up ? "resistance_meter" : "dielectric_tester";
  auto const* profile = has_start_up ? "demo-resistance-meter" : "demo-dielectric-tester";
  Device device(declared(role, profile, "S"), built_in_profile(profile), bus, clock);
  int good = 0;
  for (int turn = 0; turn < 8 && good < 4; ++turn) good += get(device.sample()).ok() ? 1 : 0;
  CHECK(good == 4);
  std::lock_guard const lock(mutex);
  CHECK(heard.front() == "*IDN?");  // a device that hangs on a clear is not sent one
  CHECK(std::count(heard.begin(), heard.end(), "*IDN?") == 2);
  CHECK(std::count(heard.begin(), heard.end(), "*CLS") == (has_start_up ? 2 : 0));
}

TEST_CASE("pitfall 19: a bus that is closed while a device is silent ends within its attempt and answers everyone",
          "[drivers][bus][pitfalls]") {
  std::atomic<int> seen{0};
  TcpDevice device([&](DeviceEnd& end, int) {
    while (!end.read_tcp_request().empty()) ++seen;
  });
  WallClock clock;
  boost::asio::io_context io;
  std::vector<std::optional<Answer<BusReply>>> answers(3);
  auto bus = std::make_unique<Bus>(device.link(), clock);
  for (auto& answer : answers)
    boost::asio::co_spawn(io, store(bus->ask(read_request(0, milliseconds(200))), answer), [](std::exception_ptr) {});
  io.poll();
  auto const begin = clock.now();
  bus.reset();
  CHECK(between(begin, clock.now()) < seconds(2));  // 0.2 s on a free machine
  io.run();
  for (auto const& answer : answers) CHECK((answer && !answer->ok()));
  CHECK(seen <= 1);
}

TEST_CASE("pitfall 20: a silent device fails to connect within two seconds", "[drivers][instruments][pitfalls]") {
  SerialDevice wire([](DeviceEnd& end) {
    while (!end.read(8).empty()) {
    }
  });
  WallClock clock;
  Bus bus(wire.link(), clock);
  Device device(declared("thermometer_scanner", "demo-thermometers", "TS-0102"), built_in_profile("demo-thermometers"),
                bus, clock);
  auto const begin = clock.now();
  auto const answer = get(device.identify());
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().id == "bus.timeout");
  CHECK(between(begin, clock.now()) < seconds(2));
}

TEST_CASE("pitfall 12: a device that can hold one moment's values is told to before each sample",
          "[drivers][instruments][pitfalls]") {
  auto profile = built_in_profile("demo-power-analyser");
  SequenceStep hold, release;
  hold.rows = release.rows = {"command"};
  hold.constants["command"] = 7;
  release.constants["command"] = 8;
  profile.sequences["hold"] = {hold};
  profile.sequences["release"] = {release};
  RegisterDevice registers;
  registers.identity(1000, "Power Three", "PA-0033", "3.1", 1450741875u);
  std::mutex mutex;
  std::vector<int> order;  // of functions
  TcpDevice wire([&](DeviceEnd& end, int) {
    while (registers.serve_one(end, [&](Octets const& request) {
      std::lock_guard const lock(mutex);
      order.push_back(request[7]);
    })) {
    }
  });
  WallClock clock;
  Bus bus(wire.link(), clock);
  Device device(declared("power_analyzer", "demo-power-analyser", "PA-0033"), profile, bus, clock);
  REQUIRE(get(device.identify()).ok());
  REQUIRE(get(device.sample()).ok());
  std::lock_guard const lock(mutex);
  REQUIRE(order.size() >= 3);
  CHECK(std::vector<int>(order.end() - 3, order.end()) == std::vector<int>{16, 4, 16});
  CHECK(registers.word(2007) == 8);
}
