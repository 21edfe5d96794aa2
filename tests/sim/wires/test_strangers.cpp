// SPDX-License-Identifier: MIT
// Clients that know nothing of this project read known registers off the simulated wires: pymodbus 3.0.0 and mbpoll
// 1.4.11 (Debian 12: python3-pymodbus, python3-serial-asyncio, mbpoll).
#include <catch2/catch.hpp>

#include "tests/sim/wires/program.hpp"
#include "tests/sim/wires/served_fakes.hpp"

using namespace benchward::sim::testing;

namespace {

std::string pymodbus(std::vector<std::string> const& words) {
  std::vector<std::string> all{"/usr/bin/python3",
                               std::string(BENCHWARD_SOURCE_DIR) + "/tests/sim/wires/stranger_pymodbus.py"};
  all.insert(all.end(), words.begin(), words.end());
  Program stranger(all);
  auto text = stranger.rest();
  CAPTURE(text);
  CHECK(stranger.exit_code() == 0);
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text;
}

}  // namespace

// Known words of the demo profiles: analyzer 0x56789073 at 1026, ratio meter 0x12345678 low word first at 26,
// thermometers 0x2468ACF1 at 26.
TEST_CASE("pymodbus reads the analyzer's known register over TCP", "[sim][wires][strangers]") {
  ServedFakes served;
  served.start();
  auto const port = std::to_string(served.port("lan-1"));
  CHECK(pymodbus({"tcp", "127.0.0.1", port, "1", "holding", "1026", "2"}) == "22136 36979");
  CHECK(pymodbus({"tcp", "127.0.0.1", port, "7", "holding", "1000", "2"}) == "17509 28015");  // "Demo"
  CHECK(pymodbus({"tcp", "127.0.0.1", port, "1", "holding", "5", "1"}).find("error") == 0);
}

TEST_CASE("pymodbus turns the I/O block with function 23", "[sim][wires][strangers]") {
  ServedFakes served;
  served.bench.shown.stop_a = true;
  served.bench.shown.output_mv = 70000;
  served.bench.shown.scan = 9;
  served.start();
  // Words: bits (stop_a, earth_closed inverted), output_mv high and low (70000 = 1, 4464), scan.
  CHECK(pymodbus({"tcp", "127.0.0.1", std::to_string(served.port("lan-io")), "1", "exchange", "0", "4", "100", "1",
                  "513", "0"}) == "3 1 4464 9");
  served.stop();
  REQUIRE(served.bench.exchanged.size() == 1);
  CHECK(served.bench.exchanged[0].first[1]);
  CHECK_FALSE(served.bench.exchanged[0].second[1]);
  CHECK(served.bench.exchanged[0].heartbeat == 513);
}

TEST_CASE("pymodbus reads two instruments on the serial bus", "[sim][wires][strangers]") {
  ServedFakes served;
  served.thermo.values = {{"top", 23.4}, {"bottom", -1.5}, {"ambient", 21.0}};
  served.start();
  CHECK(pymodbus({"rtu", served.path("bus-1"), "9600", "3", "holding", "26", "2"}) == "22136 4660");
  CHECK(pymodbus({"rtu", served.path("bus-1"), "9600", "4", "input", "0", "4"}) == "0 234 65521 210");
}

TEST_CASE("mbpoll reads known registers over TCP and on the serial bus", "[sim][wires][strangers]") {
  ServedFakes served;
  served.start();
  Program tcp({"mbpoll", "-m", "tcp", "-p", std::to_string(served.port("lan-1")), "-a", "1", "-0", "-r", "1026", "-c",
               "2", "-t", "4", "-1", "-q", "127.0.0.1"});
  auto const over_tcp = tcp.rest();
  CAPTURE(over_tcp);
  CHECK(over_tcp.find("[1027]: \t36979") != std::string::npos);
  CHECK(tcp.exit_code() == 0);
  Program rtu({"mbpoll", "-m", "rtu", "-b", "9600", "-P", "none", "-a", "4", "-0", "-r", "26", "-c", "2", "-t", "4",
               "-1", "-q", served.path("bus-1")});
  auto const on_serial = rtu.rest();
  CAPTURE(on_serial);
  CHECK(on_serial.find("[26]: \t9320") != std::string::npos);
  CHECK(rtu.exit_code() == 0);
}
