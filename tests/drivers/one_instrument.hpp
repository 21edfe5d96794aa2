// SPDX-License-Identifier: MIT
#pragma once

/// One instrument of a compiled-in profile on the wire that it speaks on, served by the simulator's servers, with
/// values that the test puts there; and what a value may differ by.

#include <cmath>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <thread>

#include <nlohmann/json.hpp>

#include "drivers/instruments/device.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/role_names.hpp"
#include "tests/drivers/wire_bench.hpp"
#include "tests/sim/wires/served_fakes.hpp"

namespace benchward::test {

/// One instrument of a profile, served on the wire that it speaks on.
class OneInstrument {
 public:
  /// `time_limit`: wall time, instead of the profile's. `fault`: of the simulator's wires, from the beginning.
  explicit OneInstrument(Profile const& of, std::optional<Duration> time_limit = {}, std::string const& fault = {})
      : profile(of), instrument("device", of.role) {
    description.name = "one instrument";
    description.simulated = true;
    LinkDeclaration link;
    link.name = "link";
    link.kind = of.text_device ? "text" : of.rows.front().address == 0 ? "modbus_rtu" : "modbus_tcp";
    description.links.push_back(link);
    LinkDeclaration io;
    io.name = "lan-io";
    io.kind = "modbus_tcp";
    description.links.push_back(io);
    InstrumentDeclaration entry;
    entry.name = "device";
    entry.role = of.role;
    entry.profile = of.id;
    entry.link = "link";
    entry.unit_id = 3;
    entry.serial = "DEMO-1";
    entry.time_limit = time_limit;
    description.instruments.push_back(entry);
    description.io = sim::testing::bench_of_fakes().io;
    served.instruments["device"] = &instrument;
    sim::BenchServer::Options options;
    options.time.scale = 20.0;
    auto const start = std::chrono::steady_clock::now();
    options.time.now_ns = [start] {
      auto const wall = std::chrono::steady_clock::now() - start;
      return std::chrono::duration_cast<std::chrono::nanoseconds>(wall).count() * 20;
    };
    server = std::make_unique<sim::BenchServer>(description, served, options);
    if (!fault.empty()) not_possible = server->context().faults.set(fault, {}, "device");
    ready = nlohmann::json::parse(server->ready_line());
    bench = description;
    for (auto& each : bench.links) each.address = ready.at("links").at(each.name).get<std::string>();
    thread = std::thread([this] { server->run(); });
  }
  ~OneInstrument() {
    opened = {};
    server->stop();
    thread.join();
  }
  Device& device() {
    if (opened.devices.empty()) opened = open_instruments(bench, clock);
    return *opened.devices.front();
  }

  /// Sets a fault of the wires while the server runs, by its control socket.
  std::string set_fault(std::string const& fault) {
    auto const place = ready.at("control").get<std::string>();
    auto control = sim::testing::tcp_client(std::stoi(place.substr(place.rfind(':') + 1)));
    control.send("{\"fault\": \"" + fault + "\", \"device\": \"device\"}\n");
    return control.line();
  }

  std::string not_possible;  ///< why the fault cannot happen on this wire
  nlohmann::json ready;
  Profile const& profile;
  sim::testing::FakeInstrument instrument;
  sim::testing::FakeBench served;
  Bench description, bench;
  WallClock clock;
  OpenedInstruments opened;

 private:
  std::unique_ptr<sim::BenchServer> server;
  std::thread thread;
};

/// A value that every profile's range has, different for each name.
inline double value_for(RoleName const& name, int n) {
  if (name.dimension == "temperature") return 20.0 + n * 1.7;
  if (name.dimension == "angle") return 0.01 * n;
  if (name.dimension == "frequency") return 60.03;
  if (name.dimension == "current") return 0.1234 + 0.1 * n;
  if (name.dimension == "resistance") return 1.234e6;
  return 1.2345 + 0.7 * n;
}

/// Smallest step of a sample's value in base units, as the profile declares it, at this value.
inline double least_count(Profile const& profile, std::string const& name, double value) {
  if (profile.text_device) {
    for (auto const& field : profile.command("sample")->reply) {
      if (field.name == name) return field.least_count * unit_named(field.unit)->in_base;
    }
    return 0.0;
  }
  auto const& row = *profile.row(name);
  if (row.type == ValueType::f32) return std::abs(value) * std::ldexp(1.0, -23);
  if (!row.exponent.empty()) return std::abs(value) / 3200.0;  // 3201 to 32000 counts
  return row.scale * unit_named(row.unit)->in_base;
}

/// Puts a value of its own behind every name of the role's sample; "on" behind every status bit.
inline std::map<std::string, double> put_values(OneInstrument& on) {
  auto const& names = *names_of_role(on.profile.role);
  std::map<std::string, double> truth;
  int n = 0;
  for (auto const& name : names.sample) {
    truth[name.name] = value_for(name, ++n);
    on.instrument.values[name.name] = truth[name.name];
  }
  for (auto const& bit : names.bits) on.instrument.values[bit] = 1.0;
  return truth;
}

}  // namespace benchward::test
