// SPDX-License-Identifier: MIT
#pragma once

// A bench of fakes on real wires: analyzer and I/O on Modbus TCP, ratio meter (unit 3) and thermometers (unit 4) on one
// serial bus, resistance meter on serial text, dielectric set on text over TCP; demo profiles.

#include <chrono>
#include <nlohmann/json.hpp>
#include <string>
#include <thread>

#include "sim/wires/bench_server.hpp"
#include "tests/sim/wires/fake_bench.hpp"
#include "tests/sim/wires/wire_client.hpp"

namespace benchward::sim::testing {

inline Bench bench_of_fakes() {
  Bench bench;
  bench.name = "bench of fakes";
  bench.simulated = true;
  auto const link = [&](char const* name, char const* kind) {
    LinkDeclaration entry;
    entry.name = name;
    entry.kind = kind;
    bench.links.push_back(entry);
  };
  link("lan-1", "modbus_tcp");
  link("lan-io", "modbus_tcp");
  link("bus-1", "modbus_rtu");
  link("line-1", "text");
  link("lan-2", "text_tcp");
  auto const instrument = [&](char const* name, char const* role, char const* profile, char const* on, int unit) {
    InstrumentDeclaration entry;
    entry.name = name;
    entry.role = role;
    entry.profile = profile;
    entry.link = on;
    entry.unit_id = unit;
    entry.serial = std::string("DEMO-") + name;
    bench.instruments.push_back(entry);
  };
  instrument("analyzer", "power_analyzer", "demo-power-analyser", "lan-1", 7);
  instrument("ratio", "ratio_meter", "demo-ratio-meter", "bus-1", 3);
  instrument("thermo", "thermometer_scanner", "demo-thermometers", "bus-1", 4);
  instrument("winding", "resistance_meter", "demo-resistance-meter", "line-1", 1);
  instrument("dielectric", "dielectric_tester", "demo-dielectric-tester", "lan-2", 1);
  bench.io.link = "lan-io";
  bench.io.unit_id = 1;
  bench.io.input_address = 0;
  bench.io.input_words = 4;
  bench.io.output_address = 100;
  bench.io.output_words = 3;
  bench.io.inputs = {{"stop_a", {0, 0, false}},
                     {"earth_closed", {0, 1, true}},
                     {"output_mv", {1, {}, false}},
                     {"scan", {3, {}, false}}};
  bench.io.outputs = {{"first.1", {0, 0, false}},
                      {"second.1", {0, 1, false}},
                      {"heartbeat", {1, {}, false}},
                      {"challenge", {2, {}, false}}};
  return bench;
}

class ServedFakes {
 public:
  explicit ServedFakes(double scale = 1.0)
      : server(description, bench, options(scale)), ready(nlohmann::json::parse(server.ready_line())) {}
  ~ServedFakes() { stop(); }
  /// What the test prepares, it prepares before.
  void start() {
    thread = std::thread([this] { server.run(); });
  }
  /// What the test looks at in the fakes, it looks at after.
  void stop() {
    server.stop();
    if (thread.joinable()) thread.join();
  }
  std::string address(char const* link) const { return ready.at("links").at(link).get<std::string>(); }
  int port(char const* link) const { return std::stoi(address(link).substr(address(link).rfind(':') + 1)); }
  std::string path(char const* link) const {
    auto const whole = address(link);
    auto const start = whole.find("/dev/");
    return whole.substr(start, whole.find('?') - start);
  }
  int socket_port(char const* key) const {
    auto const whole = ready.at(key).get<std::string>();
    return std::stoi(whole.substr(whole.rfind(':') + 1));
  }

  FakeInstrument analyzer{"analyzer", "power_analyzer"}, ratio{"ratio", "ratio_meter"},
      thermo{"thermo", "thermometer_scanner"}, winding{"winding", "resistance_meter"},
      dielectric{"dielectric", "dielectric_tester"};
  FakeBench bench;
  Bench description = bench_of_fakes();

 private:
  BenchServer::Options options(double scale) {
    // The server asks for its instruments while it is built.
    for (auto* instrument : {&analyzer, &ratio, &thermo, &winding, &dielectric})
      bench.instruments[instrument->name()] = instrument;
    BenchServer::Options wanted;
    auto const start = std::chrono::steady_clock::now();
    wanted.time.scale = scale;
    wanted.time.now_ns = [start, scale] {
      auto const wall = std::chrono::steady_clock::now() - start;
      return static_cast<std::int64_t>(static_cast<double>(std::chrono::nanoseconds(wall).count()) * scale);
    };
    wanted.seed = 42;
    return wanted;
  }

 public:
  BenchServer server;
  nlohmann::json ready;
  std::thread thread;
};

}  // namespace benchward::sim::testing
