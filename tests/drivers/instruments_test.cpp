// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "drivers/instruments/bench_io_link.hpp"
#include "drivers/instruments/role_drivers.hpp"
#include "drivers/profile/profile_document.hpp"
#include "tests/drivers/register_device.hpp"
#include "tests/drivers/wire_bench.hpp"

// The guard's own issuer is not part of this program.
namespace benchward {
class GuardPermitIssuer {
 public:
  static Permit issue(std::shared_ptr<PermitLink> link) { return {Permit::Key{}, std::move(link)}; }
};
}  // namespace benchward

using namespace benchward;
using namespace benchward::test;

namespace {

std::shared_ptr<PermitLink> live_link() {
  auto link = std::make_shared<PermitLink>();
  link->live = true;
  return link;
}

/// An AC source behind a register memory.
struct SourceOnWire {
  RegisterDevice registers;
  TcpDevice device{[this](DeviceEnd& end, int) { registers.serve(end); }};
  WallClock clock;
  Bus bus{device.link(), clock};
  ProfiledAcSource source{
      Device(declared("ac_source", "demo-ac-source", "SR-0009"), built_in_profile("demo-ac-source"), bus, clock)};

  SourceOnWire() { registers.identity(1000, "Source Twelve", "SR-0009", "5.2", 2018915346u); }
};

AcSource::Setting setting(double v) {
  AcSource::Setting made;
  made.voltage = volts(v);
  made.frequency = hertz(60);
  made.phases = 3;
  made.ramp = seconds(5);
  made.current_limit = amperes(84.5);
  return made;
}

}  // namespace

TEST_CASE("the AC source is set in one request, in the words of its profile", "[drivers][instruments]") {
  SourceOnWire on;
  auto const permit = GuardPermitIssuer::issue(live_link());
  REQUIRE(get(on.source.set(permit, setting(7200.5))).ok());
  CHECK(on.registers.writes == 1);
  // By hand: 72005 tenths of a volt = 0x00011945; 6000 hundredths of a hertz; 3 phases; 8450 hundredths of an ampere;
  // 50 tenths of a second; command 1.
  CHECK(on.registers.word(100) == 0x0001);
  CHECK(on.registers.word(101) == 0x1945);
  CHECK(on.registers.word(102) == 6000);
  CHECK(on.registers.word(103) == 3);
  CHECK(on.registers.word(104) == 0);
  CHECK(on.registers.word(105) == 8450);
  CHECK(on.registers.word(106) == 50);
  CHECK(on.registers.word(107) == 1);
}

TEST_CASE("without a live permit the source is not told anything", "[drivers][instruments][permit]") {
  SourceOnWire on;
  auto link = live_link();
  auto const permit = GuardPermitIssuer::issue(link);
  link->live = false;
  CHECK(get(on.source.set(permit, setting(100))).error().id == "permit.withdrawn");
  CHECK(on.registers.writes == 0);
  CHECK(get(on.source.to_zero(seconds(5))).ok());  // lowering is always allowed
  CHECK(on.registers.word(107) == 2);
}

TEST_CASE("a setting beyond the source is refused before anything is sent", "[drivers][instruments]") {
  SourceOnWire on;
  auto const permit = GuardPermitIssuer::issue(live_link());
  CHECK(get(on.source.set(permit, setting(12000.5))).error().id == "device.range");
  auto much = setting(100);
  much.current_limit = amperes(4001);
  CHECK(get(on.source.set(permit, much)).error().id == "device.range");
  much = setting(100);
  much.frequency = hertz(1000);
  CHECK(get(on.source.set(permit, much)).error().id == "device.range");
  CHECK(on.registers.writes == 0);
}

TEST_CASE("pitfall 12: what is judged together is read in one request", "[drivers][instruments]") {
  SourceOnWire on;
  on.registers.word(0, 0b1010);
  on.registers.word(1, 0x0001);
  on.registers.word(2, 0x1945);
  on.registers.word(3, 6001);
  on.registers.word(5, 8450);
  REQUIRE(get(on.source.read()).ok());  // proves the identity first
  int const before = on.registers.reads;
  auto const state = get(on.source.read());
  REQUIRE(state.ok());
  CHECK(on.registers.reads == before + 1);
  CHECK(state.value().voltage.good());
  CHECK(state.value().voltage.value.in(volts) == Approx(7200.5));
  CHECK(state.value().voltage.origin.raw_words == std::vector<std::uint16_t>{0x0001, 0x1945});
  CHECK(state.value().voltage.origin.instrument == "ac_source");
  CHECK(state.value().voltage.origin.channel == "voltage");
  CHECK(state.value().frequency.value.in(hertz) == Approx(60.01));
  CHECK(state.value().current.value.in(amperes) == Approx(84.5));
  CHECK(state.value().at_set);
  CHECK(state.value().healthy);
  CHECK_FALSE(state.value().at_zero);
}

TEST_CASE("pitfall 20: another device, serial number or firmware is noticed before first use",
          "[drivers][instruments]") {
  SourceOnWire on;
  bool const other_model = GENERATE(true, false);
  on.registers.identity(1000, other_model ? "Source Two" : "Source Twelve", other_model ? "SR-0009" : "SR-0010", "5.2",
                        2018915346u);
  auto const permit = GuardPermitIssuer::issue(live_link());
  auto const answer = get(on.source.set(permit, setting(100)));
  REQUIRE_FALSE(answer.ok());
  CHECK(answer.error().id == "device.identity");
  CHECK(on.registers.writes == 0);
}

TEST_CASE("a firmware that nobody proved is named", "[drivers][instruments]") {
  SourceOnWire on;
  on.registers.identity(1000, "Source Twelve", "SR-0009", "6.0", 2018915346u);
  auto const answer = get(on.source.identify());
  CHECK(answer.error().id == "device.firmware");
  CHECK_THAT(answer.error().what, Catch::Contains("6.0"));
}

TEST_CASE("pitfall 1: exchanged words of 32-bit values are caught by the known value", "[drivers][instruments]") {
  SourceOnWire on;
  on.registers.identity(1000, "Source Twelve", "SR-0009", "5.2", (2018915346u << 16) | (2018915346u >> 16));
  CHECK(get(on.source.identify()).error().id == "device.known-value");
}

TEST_CASE("pitfall 2: a map that is off by one is caught before a value is believed", "[drivers][instruments]") {
  SourceOnWire on;
  on.registers.shift = 1;
  auto const answer = get(on.source.read());
  REQUIRE_FALSE(answer.ok());
  CHECK((answer.error().id == "device.identity" || answer.error().id == "device.known-value"));
}

TEST_CASE("pitfall 21: a lost confirmation is read back, and the command not sent again", "[drivers][instruments]") {
  SourceOnWire on;
  REQUIRE(get(on.source.read()).ok());
  auto const permit = GuardPermitIssuer::issue(live_link());
  SECTION("the device took it") {
    on.registers.mute_writes = 1;
    CHECK(get(on.source.set(permit, setting(100))).ok());
  }
  SECTION("the device did not take it") {
    on.registers.deaf = true;
    CHECK(get(on.source.set(permit, setting(100))).error().id == "device.unconfirmed");
  }
  CHECK(on.registers.writes == 1);
}

TEST_CASE("pitfall 14: with a bad status every value of the sample is BAD", "[drivers][instruments]") {
  RegisterDevice registers;
  registers.identity(1000, "Power Three", "PA-0033", "3.1", 1450741875u);
  registers.word(0, 0b011);  // ready, a voltage over range
  for (int address = 1; address < 30; ++address) registers.word(address, 1);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  WallClock clock;
  Bus bus(device.link(), clock);
  ProfiledPowerAnalyzer analyser(Device(declared("power_analyzer", "demo-power-analyser", "PA-0033"),
                                        built_in_profile("demo-power-analyser"), bus, clock));
  CHECK(get(analyser.read()).error().id == "device.not-set-up");
  PowerAnalyzer::Setup setup;
  setup.wiring = PowerAnalyzer::Wiring::three_phase_neutral;
  setup.expected_voltage = volts(480);
  setup.expected_current = amperes(10);
  REQUIRE(get(analyser.set_up(setup)).ok());
  CHECK(registers.word(2001) == 0x0000);  // 480 as a float is 43F00000, low word first
  CHECK(registers.word(2002) == 0x43F0);
  auto const snapshot = get(analyser.read());
  REQUIRE(snapshot.ok());
  CHECK(snapshot.value().star_point == "neutral");
  REQUIRE(snapshot.value().active.size() == 3);
  CHECK(snapshot.value().active[0].quality == Quality::bad);
  CHECK(snapshot.value().frequency.quality == Quality::bad);
  registers.word(0, 0b001);
  auto const good = get(analyser.read());
  CHECK(good.value().active[2].good());
  CHECK(good.value().active[2].value.in(watts) == Approx(65.537));  // 0001 0001 thousandths of a watt
}

TEST_CASE("the resistance meter is told in lines and its error queue is asked after each", "[drivers][instruments]") {
  std::mutex mutex;
  std::vector<std::string> heard;
  std::string error = "0,\"No error\"";
  TcpDevice device([&](DeviceEnd& end, int) {
    for (auto line = end.read_line(); !line.empty(); line = end.read_line()) {
      std::lock_guard const lock(mutex);
      if (line == "*IDN?") {
        end.write("Demo Instruments,Winding Ten,WR-0250,1.0\n");
      } else if (line == "SYST:ERR?") {
        end.write(error + "\n");
      } else if (line == "MEAS?") {
        end.write("0.0775146,7.5000,1\n");
      } else {
        heard.push_back(line);
      }
    }
  });
  WallClock clock;
  Bus bus(device.link("text_tcp"), clock);
  ProfiledResistanceMeter meter(Device(declared("resistance_meter", "demo-resistance-meter", "WR-0250"),
                                       built_in_profile("demo-resistance-meter"), bus, clock));
  auto const permit = GuardPermitIssuer::issue(live_link());
  CHECK(get(meter.select("H1", "H2+H3")).ok());
  CHECK(get(meter.set_current(permit, amperes(7.5))).ok());
  auto const sample = get(meter.read());
  REQUIRE(sample.ok());
  CHECK(sample.value().volts.value.in(volts) == Approx(0.0775146));
  CHECK(sample.value().current.value.in(amperes) == Approx(7.5));
  CHECK_FALSE(sample.value().in_compliance);
  CHECK(get(meter.current_off()).ok());
  CHECK(get(meter.set_current(permit, amperes(25))).error().id == "device.range");
  CHECK(get(meter.select("H9", "H2")).error().id == "device.terminal");
  {
    std::lock_guard const lock(mutex);
    CHECK(heard == std::vector<std::string>{"*CLS", "ROUT H1,H2+H3", "SOUR:CURR 7.500", "OUTP OFF"});
    error = "-222,\"Data out of range\"";
  }
  auto const refused = get(meter.select("H1", "H2"));
  CHECK(refused.error().id == "device.refused");
  CHECK_THAT(refused.error().what, Catch::Contains("Data out of range"));
}

namespace {

IoMap io_map() {
  IoMap map;
  map.link = "link";
  map.input_address = 0;
  map.input_words = 3;
  map.output_address = 100;
  map.output_words = 3;
  map.inputs["stop_a"] = {0, 0, false};
  map.inputs["watchdog_ms"] = {1, std::nullopt, false};
  map.inputs["scan"] = {2, std::nullopt, false};
  map.outputs["red"] = {0, 0, false};
  map.outputs["watchdog_ms"] = {1, std::nullopt, false};
  map.outputs["heartbeat"] = {2, std::nullopt, false};
  map.time_limit = milliseconds(60);
  return map;
}

}  // namespace

TEST_CASE("the guard's link writes all off and proves the watchdog before it carries anything", "[drivers][io]") {
  RegisterDevice registers;
  registers.word(0, 1);
  registers.word(1, 1000);  // the block says what it was told
  registers.word(2, 42);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  WallClock clock;
  BenchIoLink link(io_map(), device.link(), clock);
  BenchOutputs outputs;
  outputs.red = true;
  outputs.watchdog_ms = 1000;
  outputs.heartbeat = 7;
  auto const exchange = link.exchange(outputs, 5'000);
  REQUIRE(exchange.ok);
  CHECK(registers.writes == 2);  // the safe image, then the guard's
  CHECK(registers.word(100) == 1);
  CHECK(registers.word(102) == 7);
  CHECK(exchange.inputs.stop_a);
  CHECK(exchange.inputs.scan == 42);
  CHECK(exchange.age_ns == 0);
}

TEST_CASE("a block that does not take the watchdog is not spoken to", "[drivers][io]") {
  RegisterDevice registers;
  registers.word(1, 0);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  WallClock clock;
  BenchIoLink link(io_map(), device.link(), clock);
  BenchOutputs outputs;
  outputs.red = true;
  outputs.watchdog_ms = 1000;
  CHECK_FALSE(link.exchange(outputs, 1).ok);
  REQUIRE(link.last_fault());
  CHECK(link.last_fault()->id == "io.watchdog");
  CHECK(registers.word(100) == 0);  // red was never told
}

TEST_CASE("a failed exchange gives the last good inputs with their age", "[drivers][io]") {
  RegisterDevice registers;
  registers.word(0, 1);
  registers.word(1, 1000);
  TcpDevice device([&](DeviceEnd& end, int) { registers.serve(end); });
  WallClock clock;
  BenchIoLink link(io_map(), device.link(), clock);
  BenchOutputs outputs;
  outputs.watchdog_ms = 1000;
  REQUIRE(link.exchange(outputs, 1'000).ok);
  registers.deaf = true;
  auto const lost = link.exchange(outputs, 9'000);
  CHECK_FALSE(lost.ok);
  CHECK(lost.inputs.stop_a);
  CHECK(lost.age_ns == 8'000);
  CHECK(link.last_fault()->id == "bus.timeout");
}

TEST_CASE("a guard's link that nobody answers fails within its limit", "[drivers][io]") {
  WallClock clock;
  LinkDeclaration nowhere;
  {
    TcpDevice device([](DeviceEnd&, int) {});
    nowhere = device.link();
  }
  BenchIoLink link(io_map(), nowhere, clock);
  auto const exchange = link.exchange({}, 500);
  CHECK_FALSE(exchange.ok);
  CHECK(exchange.age_ns == 500);
  CHECK(link.last_fault()->id == "bus.connect");
}
