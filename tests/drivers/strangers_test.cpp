// SPDX-License-Identifier: MIT
// Devices and programs that are not ours: another library's server as an instrument, another program's client beside
// us, and peers that dribble, come too late or go away.
#include <catch2/catch.hpp>

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <future>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <nlohmann/json.hpp>

#include "drivers/instruments/device.hpp"
#include "drivers/profile/profile_document.hpp"
#include "tests/drivers/wire_bench.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

BusRequest read_request(int address, Duration attempt) {
  BusRequest request;
  request.device = "meter";
  request.operation = "read";
  request.address = address;
  request.count = 1;
  request.attempt = attempt;
  request.deadline = seconds(4);
  return request;
}

void put_text(nlohmann::json& words, int address, std::string const& text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    auto const key = std::to_string(address + static_cast<int>(i / 2));
    unsigned const byte = static_cast<unsigned char>(text[i]);
    words[key] = words.value(key, 0u) | (i % 2 == 0 ? byte << 8 : byte);
  }
}

/// pymodbus with the registers of an AC source.
class Stranger {
 public:
  Stranger() {
    auto words = nlohmann::json::object();
    put_text(words, 1000, "Demo Instruments");
    put_text(words, 1008, "Source Twelve");
    put_text(words, 1016, "SR-0009");
    put_text(words, 1022, "5.2");
    words["1026"] = 2018915346u >> 16;
    words["1027"] = 2018915346u & 0xFFFFu;
    words["0"] = 0b1010;
    words["1"] = 0x0001;
    words["2"] = 0x1945;
    words["3"] = 6001;
    words["5"] = 8450;
    int to[2], from[2];
    REQUIRE((::pipe2(to, O_CLOEXEC) == 0 && ::pipe2(from, O_CLOEXEC) == 0));
    process_ = ::fork();
    if (process_ == 0) {
      ::dup2(to[0], 0);
      ::dup2(from[1], 1);
      ::execl("/usr/bin/python3", "python3", BENCHWARD_SOURCE_DIR "/tests/drivers/stranger_server.py", nullptr);
      ::_exit(127);
    }
    ::close(to[0]);
    ::close(from[1]);
    input_ = to[1];
    auto const line = words.dump() + "\n";
    REQUIRE(::write(input_, line.data(), line.size()) == static_cast<ssize_t>(line.size()));
    std::FILE* said = ::fdopen(from[0], "r");
    char text[32] = {};
    REQUIRE(std::fgets(text, sizeof text, said) != nullptr);
    port = std::atoi(text);
    std::fclose(said);
  }
  ~Stranger() {
    ::close(input_);
    ::waitpid(process_, nullptr, 0);
  }
  LinkDeclaration link() const {
    LinkDeclaration made;
    made.name = "link";
    made.kind = "modbus_tcp";
    made.address = "modbus-tcp://127.0.0.1:" + std::to_string(port);
    return made;
  }
  int port = 0;

 private:
  pid_t process_ = -1;
  int input_ = -1;
};

Device source_on(Bus& bus, Clock& clock) {
  InstrumentDeclaration entry;
  entry.name = "ac-source";
  entry.role = "ac_source";
  entry.profile = "demo-ac-source";
  entry.link = "link";
  entry.serial = "SR-0009";
  entry.time_limit = seconds(2);
  return {entry, built_in_profile("demo-ac-source"), bus, clock};
}

}  // namespace

TEST_CASE("a pymodbus server with the registers of a profile is an instrument", "[drivers][strangers]") {
  Stranger stranger;
  WallClock clock;
  Bus bus(stranger.link(), clock);
  auto device = source_on(bus, clock);
  auto const identity = get(device.identify());
  REQUIRE(identity.ok());
  CHECK(identity.value().serial == "SR-0009");
  auto const sample = get(device.sample());
  REQUIRE(sample.ok());
  CHECK(sample.value().values.at("voltage").number == Approx(7200.5));
  CHECK(sample.value().values.at("frequency").number == Approx(60.01));
  TextValues values;
  values["ramp_s"] = {5.0, ""};
  CHECK(get(device.run("to_zero", values, nullptr)).ok());
}

TEST_CASE("mbpoll as a second client of the same server takes nothing from us", "[drivers][strangers]") {
  Stranger stranger;
  auto const command = "mbpoll -m tcp -p " + std::to_string(stranger.port) +
                       " -a 1 -0 -r 1000 -c 8 -t 4 -1 -o 5 127.0.0.1 > /dev/null 2>&1";
  WallClock clock;
  Bus bus(stranger.link(), clock);
  auto device = source_on(bus, clock);
  std::atomic<bool> ended{false};
  std::atomic<int> polls{0}, failed{0};
  std::thread other([&] {
    while (!ended) ++(std::system(command.c_str()) == 0 ? polls : failed);
  });
  int right = 0, asked = 0;
  while (polls + failed < 5 && asked < 5000) {
    ++asked;
    auto const sample = get(device.sample());
    if (sample.ok() && sample.value().values.at("voltage").number == 7200.5) ++right;
  }
  ended = true;
  other.join();
  CHECK(polls >= 5);
  CHECK(failed == 0);
  CHECK(right == asked);
}

TEST_CASE("strangers that dribble, are late or silent: the right fault in time, and stop waits for none",
          "[drivers][strangers]") {
  enum class How { dribbles, late, silent };
  auto const how = GENERATE(How::dribbles, How::late, How::silent);
  TcpDevice device([how](DeviceEnd& end, int) {
    for (auto request = end.read_tcp_request(); !request.empty(); request = end.read_tcp_request()) {
      auto const reply = tcp_reply(request, words_pdu(3, {word_at(request, 8)}));
      if (how == How::silent) continue;
      if (how == How::late) {
        end.quiet_for(180);  // one and a half times the time limit, or at once where the next request comes first
        end.write(reply);
        continue;
      }
      for (auto const byte : reply) {
        if (!end.quiet_for(100)) break;
        end.write(Octets{byte});
      }
    }
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  auto const begin = clock.now();
  auto const first = get(bus.ask(read_request(1, milliseconds(120))));
  auto const took = between(begin, clock.now());
  REQUIRE_FALSE(first.ok());
  CHECK(first.error().id == "bus.timeout");
  CHECK(took < seconds(1));  // 0.12 s on a free machine
  for (int address = 2; address < 6; ++address) {
    auto const next = get(bus.ask(read_request(address, milliseconds(120))));
    if (next.ok()) CHECK(next.value().words.front() == address);  // never the answer to another question
    if (how == How::silent) CHECK_FALSE(next.ok());
  }
  // Stop: a waiter that is cancelled resumes at once, though its device says nothing for seconds.
  boost::asio::io_context io;
  boost::asio::cancellation_signal stop;
  std::exception_ptr failure;
  std::optional<Answer<BusReply>> never;
  boost::asio::co_spawn(
      io, store(bus.ask(read_request(9, seconds(3))), never),
      boost::asio::bind_cancellation_slot(stop.slot(), [&](std::exception_ptr error) { failure = error; }));
  io.poll();
  stop.emit(boost::asio::cancellation_type::terminal);
  auto const stopping = clock.now();
  io.run();
  CHECK(failure != nullptr);
  CHECK(between(stopping, clock.now()) < milliseconds(500));  // some microseconds on a free machine
}

TEST_CASE("a serial peer that vanishes in the middle of its answer is a lost link within a second",
          "[drivers][strangers]") {
  std::promise<void> half;
  SerialDevice device([&](DeviceEnd& end) {
    end.read(8);
    end.write(Octets{1, 3, 2});
    half.set_value();
  });
  WallClock clock;
  Bus bus(device.link(), clock);
  boost::asio::io_context io;
  std::optional<Answer<BusReply>> answer;
  boost::asio::co_spawn(io, store(bus.ask(read_request(0, seconds(4))), answer), [](std::exception_ptr) {});
  io.poll();
  half.get_future().wait();
  auto const begin = clock.now();
  device.unplug();
  io.run();
  REQUIRE((answer && !answer->ok()));
  CHECK(answer->error().id == "bus.lost");
  CHECK(between(begin, clock.now()) < seconds(1));
}

TEST_CASE("what cannot be a link is one line that names it", "[drivers][bus][bad-input]") {
  struct Row {
    char const *kind, *address, *words;
  };
  auto const row = GENERATE(values<Row>({
      {"modbus_tcp", "modbus-tcp://no-such-host.invalid:502", "cannot find the host no-such-host.invalid"},
      {"text_tcp", "text-tcp://no-such-host.invalid:5025", "cannot find the host no-such-host.invalid"},
      {"modbus_rtu", "modbus-rtu:///dev/null?baud=9600", "/dev/null is no terminal line"},
      {"text", "text:///dev/null?baud=9600", "/dev/null is no terminal line"},
      {"text", "text:///dev/serial/by-id/no-such-adapter", "cannot open /dev/serial/by-id/no-such-adapter"},
  }));
  LinkDeclaration link;
  link.name = "line-1";
  link.kind = row.kind;
  link.address = row.address;
  WallClock clock;
  Bus bus(link, clock);
  auto request = read_request(0, milliseconds(200));
  request.line = "*IDN?";
  auto const answer = get(bus.ask(request));
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().id == "bus.connect");
  CHECK_THAT(answer.error().what, Catch::Contains(row.words) && Catch::Contains("line-1"));
  CHECK(answer.error().text().find('\n') == std::string::npos);
}
