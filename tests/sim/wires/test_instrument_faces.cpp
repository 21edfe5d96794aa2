// SPDX-License-Identifier: MIT
// Words written by hand against the profile's declaration; floats from IEEE 754 (1.0 is 3F800000, 2.0 is 40000000).
#include <catch2/catch.hpp>

#include <array>
#include <cmath>

#include "drivers/profile/profile_document.hpp"
#include "sim/wires/instrument_registers.hpp"
#include "sim/wires/register_words.hpp"
#include "sim/wires/text_device.hpp"
#include "tests/sim/wires/fake_bench.hpp"

using namespace benchward;
using namespace benchward::sim::testing;
using sim::InstrumentRegisters;
using sim::ModbusException;
using sim::number_of_words;
using sim::TextDevice;
using sim::WireFaults;
using sim::WireKind;
using sim::words_of_number;
using Table = sim::RegisterTable;

namespace {

using Words = std::vector<std::uint16_t>;

RegisterRow row_of(ValueType type, int words, WordOrder order, double scale = 1.0, char const* unit = "1") {
  RegisterRow row;
  row.name = "row";
  row.type = type;
  row.words = words;
  row.order = order;
  row.scale = scale;
  row.unit = unit;
  return row;
}

struct Meter {
  Profile const& profile;
  FakeInstrument instrument;
  WireFaults faults{1};
  InstrumentRegisters registers;
  Meter(char const* id, char const* role)
      : profile(built_in_profile(id)), instrument("meter", role), registers(profile, instrument, faults, "DEMO-1") {
    faults.add_device("meter", role, WireKind::modbus_rtu);
  }
  Words read(Table table, std::uint16_t address, std::size_t count) {
    Words words(count);
    auto const refused = registers.read(table, address, words);
    if (refused) words.assign(1, static_cast<std::uint16_t>(*refused));
    return words;
  }
  std::optional<ModbusException> write(std::uint16_t address, Words const& words) {
    return registers.write(address, words);
  }
};

}  // namespace

TEST_CASE("numbers stand in registers as the declaration of type and order says", "[sim][wires]") {
  struct Row {
    double value;
    RegisterRow row;
    Words words;
  };
  Row const rows[] = {
      {1.0, row_of(ValueType::f32, 2, WordOrder::abcd), {0x3F80, 0x0000}},
      {1.0, row_of(ValueType::f32, 2, WordOrder::cdab), {0x0000, 0x3F80}},
      {1.0, row_of(ValueType::f32, 2, WordOrder::badc), {0x803F, 0x0000}},
      {1.0, row_of(ValueType::f32, 2, WordOrder::dcba), {0x0000, 0x803F}},
      {2.0, row_of(ValueType::f64, 4, WordOrder::abcd), {0x4000, 0, 0, 0}},
      {2.0, row_of(ValueType::f64, 4, WordOrder::cdab), {0, 0, 0, 0x4000}},
      {305419896.0, row_of(ValueType::u32, 2, WordOrder::abcd), {0x1234, 0x5678}},
      {305419896.0, row_of(ValueType::u32, 2, WordOrder::cdab), {0x5678, 0x1234}},
      {305419896.0, row_of(ValueType::u32, 2, WordOrder::badc), {0x3412, 0x7856}},
      {305419896.0, row_of(ValueType::u32, 2, WordOrder::dcba), {0x7856, 0x3412}},
      {-1.0, row_of(ValueType::s16, 1, WordOrder::abcd), {0xFFFF}},
      {-2.0, row_of(ValueType::s32, 2, WordOrder::abcd), {0xFFFF, 0xFFFE}},
      {1234.0, row_of(ValueType::bcd16, 1, WordOrder::abcd), {0x1234}},
      {12345678.0, row_of(ValueType::bcd32, 2, WordOrder::abcd), {0x1234, 0x5678}},
      {12.34, row_of(ValueType::s16, 1, WordOrder::abcd, 0.01, "V"), {1234}},
      {0.01234, row_of(ValueType::s16, 1, WordOrder::abcd, 0.01, "mV"), {1234}},
  };
  for (auto const& entry : rows) {
    CAPTURE(entry.value, static_cast<int>(entry.row.type), static_cast<int>(entry.row.order));
    CHECK(words_of_number(entry.value, entry.row) == entry.words);
    auto const back = number_of_words(entry.words, entry.row);
    REQUIRE(back.has_value());
    CHECK(*back == Approx(entry.value).epsilon(1e-14));
  }
}

TEST_CASE("values leave rounded to one least count, stop at the end of the range, and are none without a reading",
          "[sim][wires]") {
  auto const fine = row_of(ValueType::u16, 1, WordOrder::abcd, 0.1, "V");
  CHECK(words_of_number(12.34, fine) == Words{123});
  CHECK(words_of_number(12.36, fine) == Words{124});
  CHECK(words_of_number(1e9, fine) == Words{0xFFFF});
  CHECK(words_of_number(-5.0, fine) == Words{0});
  CHECK(words_of_number(-1e10, row_of(ValueType::s32, 2, WordOrder::abcd)) == Words{0x8000, 0});
  CHECK(words_of_number(std::nullopt, row_of(ValueType::s32, 2, WordOrder::abcd)) == Words{0x8000, 0});
  CHECK(words_of_number(std::nullopt, fine) == Words{0xFFFF});
  CHECK_FALSE(number_of_words(words_of_number(std::nullopt, row_of(ValueType::f32, 2, WordOrder::cdab)),
                              row_of(ValueType::f32, 2, WordOrder::cdab))
                  .has_value());
  CHECK_FALSE(number_of_words(Words{0x12A4}, row_of(ValueType::bcd16, 1, WordOrder::abcd)).has_value());
}

TEST_CASE("an instrument shows identity, known value, bits and readings where its profile has them", "[sim][wires]") {
  Meter meter("demo-thermometers", "thermometer_scanner");
  meter.instrument.values = {{"top", 23.44}, {"bottom", -1.5}, {"bottom_open", 1.0}};
  // Rows of the profile: maker at 0, serial at 16, known 0x2468ACF1 at 26; status, top, bottom, ambient at input 0
  // to 3.
  CHECK(meter.read(Table::holding, 0, 2) == Words{0x4465, 0x6D6F});           // "Demo"
  CHECK(meter.read(Table::holding, 16, 3) == Words{0x4445, 0x4D4F, 0x2D31});  // "DEMO-1"
  CHECK(meter.read(Table::holding, 26, 2) == Words{0x2468, 0xACF1});
  CHECK(meter.read(Table::input, 0, 4) == Words{0x0002, 234, 0xFFF1, 0x8000});
  CHECK(meter.read(Table::input, 3, 2) == Words{2});  // exception 2: one past the end
  CHECK(meter.read(Table::holding, 200, 1) == Words{2});
}

TEST_CASE("settings reach the instrument in base units, then what sets them off", "[sim][wires]") {
  Meter meter("demo-ac-source", "ac_source");
  // voltage_set 100 (u32, 0.1 V), frequency_set 102 (0.01 Hz), phases 103, current_limit 104 (u32, 0.01 A), ramp 106
  // (0.1 s), command 107: 1 = set.
  CHECK_FALSE(meter.write(100, {0x0001, 0x86A0, 6000, 3, 0x0000, 500, 25, 1}).has_value());
  using Written = std::vector<std::pair<std::string, double>>;
  REQUIRE(meter.instrument.written.size() == 6);
  Written const expected{{"voltage_set", 10000.0}, {"frequency_set", 60.0}, {"phases_set", 3.0},
                         {"current_limit", 5.0},   {"ramp_s", 2.5},         {"do.set", 1.0}};
  for (std::size_t i = 0; i < expected.size(); ++i) {
    CHECK(meter.instrument.written[i].first == expected[i].first);
    CHECK(meter.instrument.written[i].second == Approx(expected[i].second).epsilon(1e-12));
  }
  CHECK(meter.read(Table::holding, 100, 3) == Words{0x0001, 0x86A0, 6000});  // settings read back as written
  meter.instrument.written.clear();
  CHECK_FALSE(meter.write(106, {10, 2}).has_value());
  CHECK(meter.instrument.written.back().first == "do.to_zero");
}

TEST_CASE("a write that the profile does not allow is refused and nothing of it arrives", "[sim][wires]") {
  Meter meter("demo-ac-source", "ac_source");
  CHECK(meter.write(100, {1}) == ModbusException::illegal_value);         // half of a 32 bit row
  CHECK(meter.write(1026, {1}) == ModbusException::illegal_address);      // identity cannot be written
  CHECK(meter.write(99, {0, 0, 0}) == ModbusException::illegal_address);  // one before the first
  CHECK(meter.write(102, {100}) == ModbusException::illegal_value);       // 1 Hz: the profile says 45 to 420
  CHECK(meter.instrument.written.empty());
  meter.instrument.refuses = true;
  CHECK(meter.write(102, {6000}) == ModbusException::illegal_value);
}

TEST_CASE("terminals arrive as words, tied ones together", "[sim][wires]") {
  Meter meter("demo-ratio-meter", "ratio_meter");
  // feed_from 200: H1 is bit 1; feed_to: H2 and H3 tied, bits 2 and 3; read X1 (bit 5) to X0 (bit 4); nothing shorted.
  CHECK_FALSE(meter.write(200, {0x0002, 0x000C, 0x0020, 0x0010, 0, 0, 8000}).has_value());
  using Texts = std::vector<std::pair<std::string, std::string>>;
  CHECK(meter.instrument.written_texts == Texts{{"feed_from", "H1"},
                                                {"feed_to", "H2+H3"},
                                                {"read_from", "X1"},
                                                {"read_to", "X0"},
                                                {"short_from", ""},
                                                {"short_to", ""}});
  REQUIRE(meter.instrument.written.size() == 1);  // no sequence set off by settings alone
  CHECK(meter.instrument.written[0].second == Approx(80.0));
  CHECK_FALSE(meter.write(207, {1}).has_value());
  CHECK(meter.instrument.written.back().first == "do.measure");
  CHECK_FALSE(meter.write(207, {0}).has_value());
  CHECK(meter.instrument.written.back().first == "do.output_off");
}

TEST_CASE("faults of values change values and leave frames alone", "[sim][wires]") {
  Meter meter("demo-ratio-meter", "ratio_meter");
  meter.instrument.values = {
      {"applied", 80.0}, {"read", 2.6666}, {"ratio", 30.0}, {"phase", 0.0}, {"exciting_current", 0.001}};
  auto const sound = meter.read(Table::input, 101, 2);
  CHECK(sound == Words{0x3500, 0x000C});  // 800,000 counts of 0.1 mV = 000C3500, low word first
  auto const with = [&](char const* fault) { REQUIRE(meter.faults.set(fault, std::nullopt, "meter").empty()); };
  SECTION("swapped words") {
    with("words-swapped");
    CHECK(meter.read(Table::input, 101, 2) == Words{0x000C, 0x3500});
    CHECK(meter.read(Table::holding, 26, 2) == Words{0x1234, 0x5678});
  }
  SECTION("off by one") {
    with("register-off-by-one");
    CHECK(meter.read(Table::input, 102, 2) == sound);
  }
  SECTION("frozen") {
    with("frozen-values");
    CHECK(meter.read(Table::input, 101, 2) == sound);
    meter.instrument.values["applied"] = 90.0;
    CHECK(meter.read(Table::input, 101, 2) == sound);
    meter.faults.clear("all");
    CHECK(meter.read(Table::input, 101, 2) != sound);
  }
  SECTION("torn") {
    with("torn-value");
    meter.read(Table::input, 101, 2);
    meter.instrument.values["applied"] = 90.0;  // 900,000 = 000DBBA0
    CHECK(meter.read(Table::input, 101, 2) == Words{0x3500, 0x000D});
  }
  SECTION("no number") {
    with("not-a-number");
    CHECK(meter.read(Table::input, 101, 2) == Words{0xFFFF, 0xFFFF});
    CHECK(meter.read(Table::holding, 26, 2) == Words{0x5678, 0x1234});  // what it is known by stays
  }
  SECTION("another serial number") {
    with("wrong-identity");
    CHECK(meter.read(Table::holding, 16, 3) == Words{0x4445, 0x4D4F, 0x2D37});
  }
}

TEST_CASE("a text device answers its profile's commands and keeps its errors until they are asked for",
          "[sim][wires]") {
  FakeInstrument instrument("meter", "resistance_meter");
  instrument.values = {{"volts", 0.0774514}, {"current", 10.00004}, {"output_on", 1.0}};
  WireFaults faults(1);
  faults.add_device("meter", "resistance_meter", WireKind::text);
  TextDevice device(built_in_profile("demo-resistance-meter"), instrument, faults, "DEMO-2");
  CHECK(device.answer("*IDN?\n") == "Demo Instruments,Winding Ten,DEMO-2,1.0");
  CHECK(device.answer("MEAS?\r\n") == "0.0774514,10.0000,2");
  CHECK_FALSE(device.answer("ROUT H1,H3\n").has_value());
  using Texts = std::vector<std::pair<std::string, std::string>>;
  CHECK(instrument.written_texts == Texts{{"from", "H1"}, {"to", "H3"}});
  CHECK(instrument.written.back().first == "do.select");
  CHECK_FALSE(device.answer("SOUR:CURR 10.000\n").has_value());
  REQUIRE(instrument.written.size() == 3);
  CHECK(instrument.written[1] == std::pair<std::string, double>("set_current", 10.0));
  CHECK(instrument.written[2].first == "do.set_current");
  CHECK_FALSE(device.answer("OUTP OFF\n").has_value());
  CHECK(instrument.written.back().first == "do.current_off");
  CHECK(device.answer("SYST:ERR?") == "0,\"No error\"");
  CHECK_FALSE(device.answer("MEASURE WHAT").has_value());
  instrument.refuses = true;
  CHECK_FALSE(device.answer("OUTP OFF").has_value());
  CHECK(device.answer("SYST:ERR?") == "-113,\"Undefined header\"");
  CHECK(device.answer("SYST:ERR?") == "-200,\"Execution error\"");
  CHECK(device.answer("SYST:ERR?") == "0,\"No error\"");
  CHECK_FALSE(device.answer("SOUR:CURR 10,5").has_value());
  CHECK_FALSE(device.answer("*CLS").has_value());
  CHECK(device.answer("SYST:ERR?") == "0,\"No error\"");
  instrument.values.erase("volts");
  CHECK(device.answer("MEAS?") == "9.91E37,10.0000,2");
}
