// SPDX-License-Identifier: MIT
// One contract for every implementation of a role: each compiled-in profile, behind its driver, on a real wire, against
// the simulator's own reading of the protocol.
#include <catch2/catch.hpp>

#include <cmath>

#include "drivers/instruments/device.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "drivers/profile/profile_document.hpp"
#include "drivers/profile/role_names.hpp"
#include "tests/drivers/wire_bench.hpp"
#include "tests/sim/wires/served_fakes.hpp"

using namespace benchward;

namespace {

/// One instrument of a profile, served on the wire that it speaks on.
class OneInstrument {
 public:
  explicit OneInstrument(Profile const& of) : profile(of), instrument("device", of.role) {
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
    auto const ready = nlohmann::json::parse(server->ready_line());
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

  Profile const& profile;
  sim::testing::FakeInstrument instrument;
  sim::testing::FakeBench served;
  Bench description, bench;
  test::WallClock clock;
  OpenedInstruments opened;

 private:
  std::unique_ptr<sim::BenchServer> server;
  std::thread thread;
};

/// A value that every profile's range has, different for each name.
double value_for(RoleName const& name, int n) {
  if (name.dimension == "temperature") return 20.0 + n * 1.7;
  if (name.dimension == "angle") return 0.01 * n;
  if (name.dimension == "frequency") return 60.03;
  if (name.dimension == "current") return 0.1234 + 0.1 * n;
  if (name.dimension == "resistance") return 1.234e6;
  return 1.2345 + 0.7 * n;
}

/// Smallest step of a sample's value in base units, as the profile declares it, at this value.
double least_count(Profile const& profile, std::string const& name, double value) {
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

}  // namespace

TEST_CASE("every profile meets its role's contract on a real wire", "[drivers][contract][wires]") {
  auto const id = GENERATE(from_range(built_in_profiles()));
  auto const& profile = built_in_profile(id);
  INFO(id);
  OneInstrument on(profile);
  auto const& names = *names_of_role(profile.role);
  std::map<std::string, double> truth;
  int n = 0;
  for (auto const& name : names.sample) {
    truth[name.name] = value_for(name, ++n);
    on.instrument.values[name.name] = truth[name.name];
  }
  for (auto const& bit : names.bits) on.instrument.values[bit] = 1.0;
  auto& device = on.device();

  auto const identity = test::get(device.identify());
  REQUIRE(identity.ok());
  CHECK(identity.value().serial == "DEMO-1");

  auto const sample = test::get(device.sample());
  REQUIRE(sample.ok());
  CHECK_FALSE(sample.value().bad);
  for (auto const& [name, expected] : truth) {
    if (sample.value().values.count(name) == 0) continue;  // the optional elements of an analyser
    auto const& got = sample.value().values.at(name);
    INFO(name);
    CHECK(got.good);
    CHECK(std::abs(got.number - expected) <= least_count(profile, name, expected) * 1.001);
    CHECK_FALSE(got.words.empty());  // the raw words go with the value
  }
  for (auto const& bit : names.bits) CHECK(sample.value().bit(bit));

  // A value that the device does not have is BAD, never 0.
  auto const missing = names.sample.front().name;
  on.instrument.values.erase(missing);
  auto const without = test::get(device.sample());
  REQUIRE(without.ok());
  CHECK_FALSE(without.value().values.at(missing).good);
  on.instrument.values[missing] = truth[missing];

  // What drives the unit is not sent without a live permit.
  TextValues settings;
  for (auto const& setting : names.settings) {
    bool const terminals = setting.dimension == "terminals";
    settings[setting.name] = terminals ? TextValue{1.0, "H1"} : TextValue{1.0, ""};
    if (setting.dimension == "frequency") settings[setting.name].number = 60.0;
  }
  for (auto const& sequence : names.energising) {
    auto const refused = test::get(device.run(sequence, settings, nullptr));
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().id == "permit.withdrawn");
  }
  on.opened = {};
  for (auto const& [point, value] : on.instrument.written) {
    for (auto const& sequence : names.energising) CHECK(point != "do." + sequence);
    static_cast<void>(value);
  }
}

TEST_CASE("every profile notices another serial number and a link that is lost", "[drivers][contract][wires]") {
  auto const id = GENERATE(from_range(built_in_profiles()));
  INFO(id);
  std::unique_ptr<OneInstrument> on = std::make_unique<OneInstrument>(built_in_profile(id));
  on->bench.instruments.front().serial = "DEMO-2";
  auto const other = test::get(on->device().identify());
  REQUIRE_FALSE(other.ok());
  CHECK(other.error().id == "device.identity");
  CHECK_THAT(other.error().what, Catch::Contains("DEMO-1"));
  auto const sample = test::get(on->device().sample());
  REQUIRE_FALSE(sample.ok());  // nothing of a device that is not the declared one is believed
}
