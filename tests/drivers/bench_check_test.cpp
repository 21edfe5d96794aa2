// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "drivers/bench/bench_document.hpp"
#include "drivers/check/bench_check.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "drivers/time/virtual_clock.hpp"
#include "tests/drivers/register_device.hpp"
#include "tests/drivers/wire_bench.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

/// A bench of one AC source.
Bench bench_of(TcpDevice const& device) {
  Bench bench;
  bench.name = "one source";
  auto link = device.link();
  link.name = "source";
  bench.links = {link};
  InstrumentDeclaration entry;
  entry.name = "ac-source";
  entry.role = "ac_source";
  entry.profile = "demo-ac-source";
  entry.link = "source";
  entry.serial = "SR-0009";
  entry.calibration.calibrated_on = "2026-01-01";
  entry.calibration.due_on = "2027-01-01";
  bench.instruments = {entry};
  return bench;
}

BenchCheck check(Bench const& bench, std::string today) {
  WallClock clock;
  auto opened = open_instruments(bench, clock);
  CheckSettings settings;
  settings.today = std::move(today);
  return get(check_instruments(bench, opened, settings));
}

/// An I/O block in the state of rest, with what a test changes.
class BlockAtRest final : public BenchLink {
 public:
  std::function<void(BenchInputs&, BenchOutputs const&)> change = [](auto&, auto const&) {};
  bool answers = true;

  Exchange exchange(BenchOutputs const& outputs, std::int64_t) override {
    Exchange made;
    auto& in = made.inputs;
    in.stop_a = in.stop_b = in.gate_a[0] = in.gate_b[0] = true;
    in.earth_closed = true;
    for (auto& source : in.source) source = {true, true, true, true};
    in.output_good = in.direct_good = in.voltage_absent = in.regulator_at_zero = in.source_healthy = true;
    in.red_ok = in.siren_ok = in.ground_ok = in.breaker_closed = in.covers_closed = in.short_closed = in.hooks_home =
        true;
    in.chain_closed = true;
    in.red_lit = outputs.red;
    in.green_lit = !outputs.red;
    in.watchdog_ms = outputs.watchdog_ms;
    in.heartbeat_echo = outputs.heartbeat;
    in.owner_echo = outputs.owner;
    in.scan = ++scans_;
    change(in, outputs);
    made.ok = answers;
    return made;
  }

 private:
  std::uint16_t scans_ = 0;
};

std::vector<std::string> io_findings(BlockAtRest& block) {
  auto const bench = read_bench(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/01-scaled.json");
  VirtualClock clock(0);
  boost::asio::io_context io;
  std::optional<DeviceCheck> result;
  boost::asio::co_spawn(io, store(check_bench_io(bench, block, clock, 77), result), [](std::exception_ptr) {});
  clock.run(io, [&] { return result.has_value(); });
  std::vector<std::string> ids;
  for (auto const& finding : result->findings) {
    CHECK_FALSE(finding.what.empty());
    if (finding.wrong) ids.push_back(finding.id);
  }
  return ids;
}

}  // namespace

TEST_CASE("bench check finds nothing wrong with a device that is as declared", "[drivers][check]") {
  RegisterDevice registers;
  registers.identity(1000, "Source Twelve", "SR-0009", "5.2", 2018915346u);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  auto const result = check(bench_of(device), "2026-06-01");
  CHECK(result.ok());
  REQUIRE(result.devices.size() == 1);
  CHECK(result.devices[0].identity.serial == "SR-0009");
  CHECK(result.devices[0].counts.asked == 14);  // identity and known value, asked for and before first use; ten samples
  CHECK(result.devices[0].fastest <= result.devices[0].slowest);
  CHECK(result.devices[0].findings.empty());
  CHECK(registers.writes == 0);  // nothing is driven by a check
}

TEST_CASE("a calibration that is over makes the bench unfit, one that is near is a remark", "[drivers][check]") {
  RegisterDevice registers;
  registers.identity(1000, "Source Twelve", "SR-0009", "5.2", 2018915346u);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  auto const bench = bench_of(device);
  CHECK(check(bench, "2027-01-01").ok());  // due on the day itself is not over
  auto const over = check(bench, "2027-01-02");
  CHECK_FALSE(over.ok());
  CHECK(over.devices[0].findings[0].id == "calibration.due");
  auto const near = check(bench, "2026-12-15");
  CHECK(near.ok());
  CHECK(near.devices[0].findings[0].id == "calibration.soon");
}

TEST_CASE("a wrong device and a silent one are named with what to do", "[drivers][check]") {
  RegisterDevice registers;
  registers.identity(1000, "Source Twelve", "SR-0010", "5.2", 2018915346u);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  auto const wrong = check(bench_of(device), "2026-06-01");
  CHECK_FALSE(wrong.ok());
  CHECK(wrong.devices[0].findings[0].id == "device.identity");
  CHECK_FALSE(wrong.devices[0].findings[0].next.empty());

  TcpDevice silent([](DeviceEnd& end, int) {
    while (!end.read_tcp_request().empty()) {
    }
  });
  auto bench = bench_of(silent);
  bench.instruments[0].time_limit = milliseconds(20);
  auto const quiet = check(bench, "2026-06-01");
  CHECK(quiet.devices[0].findings.size() == 1);
  CHECK(quiet.devices[0].findings[0].id == "bus.timeout");
}

TEST_CASE("days are counted by the calendar", "[drivers][check]") {
  CHECK(calendar_days_between("1970-01-01", "2000-03-01") == 11017);  // 30 years, 7 leap days, 31 + 29
  CHECK(calendar_days_between("2024-02-28", "2024-03-01") == 2);
  CHECK(calendar_days_between("2026-02-28", "2026-03-01") == 1);
  CHECK(calendar_days_between("2026-03-01", "2026-02-28") == -1);
}

TEST_CASE("an I/O block at rest has nothing wrong", "[drivers][check][io]") {
  BlockAtRest block;
  CHECK(io_findings(block).empty());
}

TEST_CASE("what contradicts the state of rest is found and named", "[drivers][check][io]") {
  struct Row {
    char const* id;
    std::function<void(BenchInputs&, BenchOutputs const&)> change;
  };
  auto const row = GENERATE(values<Row>({
      {"io.stop", [](auto& in, auto const&) { in.stop_b = false; }},
      {"io.stop", [](auto& in, auto const&) { in.stop_a = in.stop_b = false; }},
      {"io.gate", [](auto& in, auto const&) { in.gate_b[0] = false; }},
      {"io.earth", [](auto& in, auto const&) { in.earth_open = true; }},
      {"io.earth", [](auto& in, auto const&) { in.earth_closed = false; }},
      {"io.contactor", [](auto& in, auto const&) { in.source[2].second_open = false; }},
      {"io.store", [](auto& in, auto const&) { in.source[1].store_discharged = false; }},
      {"io.voltage", [](auto& in, auto const&) { in.output_mv = -31; }},
      {"io.voltage", [](auto& in, auto const&) { in.output_good = false; }},
      {"io.voltage", [](auto& in, auto const&) { in.voltage_absent = false; }},
      {"io.current", [](auto& in, auto const&) { in.direct_good = false; }},
      {"io.regulator", [](auto& in, auto const&) { in.regulator_at_zero = false; }},
      {"io.supply", [](auto& in, auto const&) { in.source_healthy = false; }},
      {"io.lamp", [](auto& in, auto const&) { in.red_ok = false; }},
      {"io.lamp", [](auto& in, auto const&) { in.red_lit = false; }},
      {"io.green", [](auto& in, auto const&) { in.green_lit = true; }},
      {"io.siren", [](auto& in, auto const&) { in.siren_ok = false; }},
      {"io.person", [](auto& in, auto const&) { in.person_inside = true; }},
      {"io.bypass", [](auto& in, auto const&) { in.bypass_key = true; }},
      {"io.short", [](auto& in, auto const&) { in.short_closed = false; }},
      {"io.hooks", [](auto& in, auto const&) { in.hooks_home = false; }},
      {"io.watchdog", [](auto& in, auto const&) { in.watchdog_ms = 0; }},
      {"io.owner", [](auto& in, auto const&) { in.owner_echo = 5; }},
      {"io.frozen", [](auto& in, auto const&) { in.scan = 9; }},
  }));
  BlockAtRest block;
  block.change = row.change;
  CHECK(io_findings(block) == std::vector<std::string>{row.id});
}

TEST_CASE("an I/O block that does not answer is one finding, not twenty", "[drivers][check][io]") {
  BlockAtRest block;
  block.answers = false;
  CHECK(io_findings(block) == std::vector<std::string>{"io.silent"});
}
