// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <random>

#include "sim/wires/modbus_frame.hpp"
#include "sim/wires/serial_line.hpp"
#include "tests/sim/wires/served_fakes.hpp"

using namespace benchward::sim;
using namespace benchward::sim::testing;

namespace {

Bytes tcp_request(std::uint16_t transaction, std::uint8_t unit, char const* pdu) {
  return encode_tcp({transaction, unit, bytes_of(pdu)});
}
Bytes rtu_request(std::uint8_t unit, char const* pdu) { return encode_rtu({unit, bytes_of(pdu)}); }

/// The known word of the analyzer's profile, read by function 3.
Bytes known_of_analyzer(std::uint8_t unit) { return tcp_request(1, unit, "03 0402 0001"); }

}  // namespace

TEST_CASE("the ready line names every link and both sockets", "[sim][wires]") {
  ServedFakes served;
  CHECK(served.ready.at("ready") == true);
  CHECK(served.ready.at("simulated") == true);
  CHECK(served.ready.at("time_scale") == 1.0);
  CHECK(served.ready.at("seed") == 42);
  CHECK(served.ready.at("hands").get<std::string>().rfind("127.0.0.1:", 0) == 0);
  CHECK(served.ready.at("control").get<std::string>().rfind("127.0.0.1:", 0) == 0);
  CHECK(served.address("lan-1").rfind("modbus-tcp://127.0.0.1:", 0) == 0);
  CHECK(served.address("bus-1").rfind("modbus-rtu:///dev/pts/", 0) == 0);
  CHECK(served.address("bus-1").find("?baud=9600") != std::string::npos);
  CHECK(served.address("line-1").rfind("text:///dev/pts/", 0) == 0);
  CHECK(served.address("lan-2").rfind("text-tcp://127.0.0.1:", 0) == 0);
  CHECK(served.port("lan-1") != served.port("lan-io"));
}

TEST_CASE("a Modbus TCP server answers for unit 0, 1, 255 and the instrument's own, and says who is not there",
          "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto client = tcp_client(served.port("lan-1"));
  Bytes first;
  for (int const unit : {0, 1, 255, 7}) {
    client.send(known_of_analyzer(static_cast<std::uint8_t>(unit)));
    auto const answer = client.receive(11);
    REQUIRE(answer.size() == 11);
    CHECK(answer[6] == unit);
    CHECK(answer[7] == 3);
    if (first.empty()) first = answer;
    CHECK(Bytes(answer.begin() + 7, answer.end()) == Bytes(first.begin() + 7, first.end()));
  }
  client.send(known_of_analyzer(9));
  CHECK(client.receive(9) == bytes_of("0001 0000 0003 09 83 0B"));
}

TEST_CASE("one turn of the I/O block carries the outputs in and the inputs out", "[sim][wires]") {
  ServedFakes served;
  served.bench.shown.stop_a = true;
  served.bench.shown.earth_closed = true;  // wired inverted: bit 1 is 0
  served.bench.shown.output_mv = -2;
  served.bench.shown.scan = 77;
  served.start();
  auto client = tcp_client(served.port("lan-io"));
  client.send(tcp_request(5, 1, "17 0000 0004 0064 0003 06 0003 1234 ABCD"));
  CHECK(client.receive(17) == bytes_of("0005 0000 000B 01 17 08 0001 FFFF FFFE 004D"));
  client.send(tcp_request(6, 1, "03 0000 0004"));  // a stranger's look is no heartbeat
  CHECK(client.receive(17) == bytes_of("0006 0000 000B 01 03 08 0001 FFFF FFFE 004D"));
  client.send(tcp_request(7, 1, "03 0064 0003"));
  CHECK(client.receive(15) == bytes_of("0007 0000 0009 01 03 06 0003 1234 ABCD"));
  client.send(tcp_request(8, 1, "17 0000 0005 0064 0003 06 0003 1235 ABCD"));
  CHECK(client.receive(9) == bytes_of("0008 0000 0003 01 97 02"));
  served.stop();
  REQUIRE(served.bench.exchanged.size() == 1);
  CHECK(served.bench.exchanged[0].first[1]);
  CHECK(served.bench.exchanged[0].second[1]);
  CHECK(served.bench.exchanged[0].heartbeat == 0x1234);
  CHECK(served.bench.exchanged[0].challenge == 0xABCD);
}

TEST_CASE("several clients of one server do not hear each other's answers", "[sim][wires]") {
  ServedFakes served;
  served.start();
  std::vector<Client> clients;
  for (int i = 0; i < 8; ++i) clients.push_back(tcp_client(served.port("lan-1")));
  for (int round = 0; round < 20; ++round) {
    for (std::size_t i = 0; i < clients.size(); ++i) {
      clients[i].send(
          tcp_request(static_cast<std::uint16_t>(i * 100 + static_cast<std::size_t>(round)), 1, "03 0402 0001"));
    }
    for (std::size_t i = 0; i < clients.size(); ++i) {
      auto const answer = clients[i].receive(11);
      REQUIRE(answer.size() == 11);
      CHECK(word_at(answer, 0) == i * 100 + static_cast<std::size_t>(round));
    }
  }
}

TEST_CASE("requests sent together are answered one after the other", "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto client = tcp_client(served.port("lan-1"));
  Bytes many;
  for (std::uint16_t i = 0; i < 50; ++i) {
    auto const one = tcp_request(i, 1, "03 0402 0001");
    many.insert(many.end(), one.begin(), one.end());
  }
  client.send(many);
  auto const answers = client.receive(50 * 11);
  REQUIRE(answers.size() == 550);
  for (std::size_t i = 0; i < 50; ++i) CHECK(word_at(answers, i * 11) == i);
}

TEST_CASE("garbage closes the connection it came on and no other", "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto good = tcp_client(served.port("lan-1"));
  auto half = tcp_client(served.port("lan-1"));
  half.send(bytes_of("0001 0000 0006 01 03"));
  std::mt19937 random(7);
  for (int i = 0; i < 200; ++i) {
    auto bad = tcp_client(served.port("lan-1"));
    Bytes bytes(1 + random() % 300);
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random() | 1u);  // protocol id never 0
    bad.send(bytes);
    if (bytes.size() >= 6) CHECK(bad.closed());
  }
  good.send(known_of_analyzer(1));
  CHECK(good.receive(11).size() == 11);
  half.send(bytes_of("0402 0001"));  // the other half of it
  CHECK(half.receive(11).size() == 11);
}

namespace {

void come_and_go(int connections) {
  ServedFakes served;
  served.start();
  auto const port = served.port("lan-1");
  int refused = 0;
  for (int i = 0; i < connections; ++i) {
    int const socket = connect_to(port);
    if (socket < 0) {
      ++refused;
      continue;
    }
    linger const at_once{1, 0};  // a reset, so that the test does not run out of ports
    setsockopt(socket, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    ::close(socket);
  }
  CHECK(refused == 0);
  auto client = tcp_client(port);
  client.send(known_of_analyzer(1));
  CHECK(client.receive(11, 10000).size() == 11);
}

}  // namespace

TEST_CASE("ten thousand connections that come and go leave the server serving", "[sim][wires]") { come_and_go(10000); }
TEST_CASE("a hundred thousand connections that come and go leave the server serving", "[.][campaign]") {
  come_and_go(100000);
}

TEST_CASE("clients that stay and say nothing make room for those that come", "[sim][wires]") {
  ServedFakes served;
  served.start();
  std::vector<Client> idle;
  for (int i = 0; i < 100; ++i) idle.push_back(tcp_client(served.port("lan-1")));
  auto client = tcp_client(served.port("lan-1"));
  client.send(known_of_analyzer(1));
  CHECK(client.receive(11).size() == 11);
  CHECK(idle.front().closed());
}

TEST_CASE("two instruments on one serial bus answer for their own unit numbers only", "[sim][wires]") {
  ServedFakes served(20.0);
  served.thermo.values = {{"top", 23.4}, {"bottom", 22.1}, {"ambient", 21.0}};
  served.start();
  auto client = serial_client(served.path("bus-1"));
  client.send(rtu_request(3, "03 001A 0001"));
  CHECK(client.receive(7) == encode_rtu({3, bytes_of("03 02 5678")}));  // low word of 0x12345678 first
  client.send(rtu_request(4, "04 0000 0004"));
  CHECK(client.receive(13) == encode_rtu({4, bytes_of("04 08 0000 00EA 00DD 00D2")}));
  client.send(rtu_request(5, "03 001A 0001"));
  CHECK(client.receive(1, 200).empty());
  client.send(rtu_request(0, "10 00CE 0001 02 1F40"));  // to all: taken, not answered
  CHECK(client.receive(1, 200).empty());
  client.send(rtu_request(3, "01 0000 0001"));  // a function of unknown length ends with the silence
  CHECK(client.receive(5) == encode_rtu({3, bytes_of("81 01")}));
  served.stop();
  REQUIRE(served.ratio.written.size() == 1);
  CHECK(served.ratio.written[0] == std::pair<std::string, double>("applied_set", 80.0));
}

TEST_CASE("noise on the serial bus loses no request that comes whole", "[sim][wires]") {
  ServedFakes served(20.0);
  served.start();
  auto client = serial_client(served.path("bus-1"));
  std::mt19937 random(11);
  for (int i = 0; i < 50; ++i) {
    Bytes noise(random() % 20);
    for (auto& byte : noise) byte = static_cast<std::uint8_t>(random());
    auto const request = rtu_request(3, "03 001A 0001");
    noise.insert(noise.end(), request.begin(), request.end());
    client.send(noise);
    CHECK(client.receive(7) == encode_rtu({3, bytes_of("03 02 5678")}));
  }
}

TEST_CASE("a serial answer leaves no faster than its bits, and the time scale divides the time", "[sim][wires]") {
  // The ratio meter's identity is 27 words: 59 bytes, (8 + 3.5 + 59) * 11 / 9600 = 80.8 ms.
  double const whole_s = (8 + 3.5 + 59) * 11.0 / 9600.0;
  for (double const scale : {1.0, 10.0}) {
    ServedFakes served(scale);
    served.start();
    auto client = serial_client(served.path("bus-1"));
    auto const start = std::chrono::steady_clock::now();
    client.send(rtu_request(3, "03 0000 001B"));
    auto const first = client.receive(1);
    double const first_s = seconds_since(start);
    auto const rest = client.receive(58);
    double const last_s = seconds_since(start);
    REQUIRE(first.size() + rest.size() == 59);
    CHECK(first_s >= (8 + 3.5 + 1) * 11.0 / 9600.0 / scale);
    CHECK(last_s >= whole_s / scale);
    CHECK(last_s < whole_s / scale + 0.5);  // generous: other work on the machine
  }
}

TEST_CASE("the time of bytes on a line is eleven bits each", "[sim][wires]") {
  CHECK(byte_time_s(9600) == Approx(0.001145833).epsilon(1e-6));
  CHECK(frame_silence_s(9600) == Approx(0.004010417).epsilon(1e-6));
  CHECK(frame_silence_s(115200) == 0.00175);
  CHECK(bytes_out(0, 1'145'000, 10, 9600) == 0);
  CHECK(bytes_out(0, 1'146'000, 10, 9600) == 1);
  CHECK(bytes_out(0, 1'000'000'000, 10, 9600) == 10);
  CHECK(bytes_out(5, 0, 10, 9600) == 0);
}

TEST_CASE("an instrument answers no sooner than it needs, in simulated time", "[sim][wires]") {
  ServedFakes served(10.0);
  served.analyzer.delay_s = 1.0;
  served.start();
  auto client = tcp_client(served.port("lan-1"));
  auto const start = std::chrono::steady_clock::now();
  client.send(known_of_analyzer(1));
  CHECK(client.receive(11).size() == 11);
  CHECK(seconds_since(start) >= 0.1);
}

TEST_CASE("text instruments answer on a serial line and on TCP", "[sim][wires]") {
  ServedFakes served(20.0);
  served.winding.values = {{"volts", 0.5}, {"current", 10.0}};
  served.start();
  auto line = serial_client(served.path("line-1"));
  line.send("*IDN?\n");
  CHECK(line.line() == "Demo Instruments,Winding Ten,DEMO-winding,1.0");
  line.send("MEA");
  line.send("S?\r\n");
  CHECK(line.line() == "0.5000000,10.0000,0");
  line.send(std::string(6000, 'x') + "\nSYST:ERR?\n");
  CHECK(line.line().find("-363") == 0);
  auto socket = tcp_client(served.port("lan-2"));
  socket.send("*IDN?\n");
  CHECK(socket.line() == "Demo Instruments;Dielectric Seventy;DEMO-dielectric;2.3\r");  // its terminator is CR LF
}

TEST_CASE("hands and control answer each line, and a wrong one does not end the talk", "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto hands = tcp_client(served.socket_port("hands"));
  hands.send("{\"gate\": \"open\"}\n{\"gate\": 3}\r\n\n{\"tap\": 2}\n");
  CHECK(hands.line() == "{\"done\":true}");
  CHECK(hands.line().find("{\"error\":\"hands: /gate") == 0);
  CHECK(hands.line() == "{\"done\":true}");
  auto control = tcp_client(served.socket_port("control"));
  control.send("{\"get\": \"truth\"}\n");
  CHECK(control.line().find("{\"truth\":{\"simulated_time_s\":") == 0);
  served.stop();
  CHECK(served.bench.acts == std::vector<std::string>{"gate open", "tap 2"});
}

TEST_CASE("a wire fault set on the control socket acts on the wire, and its clearing ends it", "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto control = tcp_client(served.socket_port("control"));
  auto client = tcp_client(served.port("lan-1"));
  auto const set = [&](std::string const& line) {
    control.send(line + "\n");
    REQUIRE(control.line() == "{\"done\":true}");
  };
  set(R"({"fault": "no-answer"})");
  client.send(known_of_analyzer(1));
  CHECK(client.receive(1, 150).empty());
  set(R"({"clear": "no-answer"})");
  client.send(known_of_analyzer(1));
  CHECK(client.receive(11).size() == 11);
  set(R"({"fault": "doubled-answers"})");
  client.send(known_of_analyzer(1));
  CHECK(client.receive(22).size() == 22);
  set(R"({"clear": "all"})");
  set(R"({"fault": "adapter-unplugged", "device": "winding"})");
  auto line = serial_client(served.path("line-1"));
  line.send("*IDN?\n");
  CHECK(line.closed());
}

TEST_CASE("a late answer comes after one and a half time limits of the device", "[sim][wires]") {
  ServedFakes served;
  served.start();
  auto control = tcp_client(served.socket_port("control"));
  control.send(R"({"fault": "late-answer", "device": "io"})"
               "\n");
  REQUIRE(control.line() == "{\"done\":true}");
  auto client = tcp_client(served.port("lan-io"));
  auto const start = std::chrono::steady_clock::now();
  client.send(tcp_request(6, 1, "03 0000 0004"));
  CHECK(client.receive(17).size() == 17);
  CHECK(seconds_since(start) >= 0.075);  // the I/O map's limit is 50 ms
}

TEST_CASE("time passes on the bench although nobody asks for anything", "[sim][wires]") {
  ServedFakes served(10.0);
  served.start();
  auto client = tcp_client(served.port("lan-1"));
  CHECK(client.receive(1, 300).empty());  // nothing is asked for 0.3 s
  served.stop();
  auto const& advanced = served.bench.advanced;
  REQUIRE(advanced.size() > 20);
  CHECK(std::is_sorted(advanced.begin(), advanced.end()));
  CHECK(advanced.back() - advanced.front() > 2'000'000'000);
}
