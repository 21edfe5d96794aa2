// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <functional>
#include <string>

#include <nlohmann/json.hpp>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bench/io_signals.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"

using namespace benchward;
using nlohmann::json;

namespace {

std::string const demo = std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/01-scaled.json";

json demo_document() { return json::parse(documents::read_text_file(demo)); }

/// Reads the demo bench after a change and gives the refusal, or an empty id.
struct Refused {
  std::string id, path, words;
};
Refused refused(std::function<void(json&)> const& change) {
  auto document = demo_document();
  change(document);
  try {
    parse_bench(document.dump(), demo);
  } catch (DocumentError const& error) {
    return {error.id(), error.path(), error.message()};
  }
  return {};
}

struct Row {
  char const* what;
  std::function<void(json&)> change;
  char const* id;
  char const* path;
  char const* words;
};

json& instrument(json& bench, char const* name) {
  for (auto& entry : bench["instruments"]) {
    if (entry["name"] == name) return entry;
  }
  throw std::logic_error("no such instrument in the demo bench");
}

}  // namespace

TEST_CASE("both demo benches are read whole", "[drivers][bench]") {
  for (auto const* file : {"01-scaled.json", "02-real.json"}) {
    auto const bench = read_bench(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/" + file);
    CHECK(bench.simulated);
    CHECK(bench.instruments.size() == 6);
    CHECK(bench.sources.size() == 4);
    CHECK(bench.hash.size() == 64);
    CHECK(bench.in_role("ratio_meter")->unit_id == 3);
    CHECK(bench.in_role("power_analyzer")->calibration.channel("power")->phase_error_rad > 0);
    CHECK(bench.envelope.rated_power.in(kilovolt_amperes) == Approx(5000));
  }
}

TEST_CASE("the demo bench for scaled runs has the times that scaling to 20 needs", "[drivers][bench]") {
  auto const guard = read_bench(demo).guard;
  CHECK(guard.period.in(milliseconds) == Approx(50));
  CHECK(guard.stale.in(seconds) == Approx(0.8));
  CHECK(guard.pick_up.in(seconds) == Approx(0.6));
  CHECK(guard.watchdog.in(seconds) == Approx(1));
  CHECK(guard.heartbeat.in(seconds) == Approx(0.2));
}

TEST_CASE("a bench document that cannot be relied on is refused, with place and reason", "[drivers][bench]") {
  auto const row = GENERATE(values<Row>({
      {"two instruments as one unit of a bus", [](json& b) { instrument(b, "thermometers")["unit_id"] = 3; },
       "bench.address-taken", "/instruments/1", "\"ratio-meter\" already answers as unit 3"},
      {"two devices on one text link", [](json& b) { instrument(b, "dielectric-tester")["link"] = "resistance"; },
       "bench.address-taken", "/instruments/5", "already is the device on text link"},
      {"broadcast as an instrument's unit", [](json& b) { instrument(b, "ratio-meter")["unit_id"] = 0; },
       "bench.address-form", "/instruments/0/unit_id", "1 to 247"},
      {"an instrument on the guard's link", [](json& b) { instrument(b, "ac-source")["link"] = "io"; },
       "bench.io-link-shared", "/instruments/4/link", "the guard's alone"},
      {"an unknown link", [](json& b) { instrument(b, "ac-source")["link"] = "sorce"; }, "bench.link-unknown",
       "/instruments/4/link", "known are"},
      {"one input wired twice", [](json& b) { b["io"]["inputs"]["stop_b"] = b["io"]["inputs"]["stop_a"]; },
       "bench.input-taken", "/io/inputs/stop_b", "already carries \"stop_a\""},
      {"a bit inside a whole word", [](json& b) { b["io"]["inputs"]["stop_b"] = {{"word", 3}, {"bit", 2}}; },
       "bench.input-taken", "/io/inputs/stop_b", "already carries \"output_mv\""},
      {"an output wired twice", [](json& b) { b["io"]["outputs"]["red"] = b["io"]["outputs"]["siren"]; },
       "bench.output-taken", "/io/outputs/siren", "already carries"},
      {"an unknown signal", [](json& b) { b["io"]["inputs"]["stop_c"] = {{"word", 0}, {"bit", 0}}; },
       "bench.signal-unknown", "/io/inputs/stop_c", "stop_a"},
      {"a word beyond the image", [](json& b) { b["io"]["inputs"]["scan"]["word"] = 90; }, "bench.signal-place",
       "/io/inputs/scan/word", "beyond"},
      {"a bit signal without a bit", [](json& b) { b["io"]["inputs"]["stop_a"].erase("bit"); }, "bench.signal-place",
       "/io/inputs/stop_a", "add \"bit\""},
      {"a condition neither wired nor declared absent", [](json& b) { b["io"]["inputs"].erase("hooks_home"); },
       "bench.condition-missing", "/io", "I09"},
      {"a condition half wired", [](json& b) { b["io"]["outputs"].erase("lock_gate"); }, "bench.condition-missing", "/io",
       "I03"},
      {"the two-hand control neither wired nor declared absent", [](json& b) { b["absent"] = json::array(); },
       "bench.condition-missing", "/io", "I21"},
      {"a walk-in area without its signals", [](json& b) { b["walk_in"] = true; }, "bench.condition-missing", "/io", "I05"},
      {"wired and declared absent", [](json& b) { b["absent"].push_back({{"condition", 1}, {"reason", "spare"}}); },
       "bench.condition-contradiction", "/absent/1", "I01"},
      {"no watchdog at all",
       [](json& b) {
         b["io"]["outputs"].erase("watchdog_ms");
         b["absent"].push_back({{"condition", 22}, {"reason", "none fitted"}});
       },
       "bench.condition-needed", "/absent/1", "no guard works without it"},
      {"no longest time",
       [](json& b) {
         b["absent"].push_back({{"condition", 33}, {"reason", "somebody looks at a watch"}});
       },
       "bench.condition-needed", "/absent/1", "no guard works without it"},
      {"a warning shorter than 3 s above 1 kV", [](json& b) { b["guard"]["warning_s"] = 2.9; }, "bench.time-floor",
       "/guard/warning_s", "at least 3"},
      {"inputs older than a second", [](json& b) { b["guard"]["stale_s"] = 1.5; }, "bench.time-floor", "/guard/stale_s",
       "at most 1"},
      {"a stale limit of two turns", [](json& b) { b["guard"]["stale_s"] = 0.1; }, "bench.time-floor", "/guard/stale_s",
       "three turns"},
      {"a watchdog of 0", [](json& b) { b["guard"]["watchdog_s"] = 0; }, "bench.watchdog", "/guard/watchdog_s", "for ever"},
      {"a watchdog of 5 s", [](json& b) { b["guard"]["watchdog_s"] = 5; }, "bench.watchdog", "/guard/watchdog_s", "at most 1"},
      {"a heartbeat slower than the watchdog", [](json& b) { b["guard"]["heartbeat_s"] = 1.2; }, "bench.heartbeat",
       "/guard/heartbeat_s", "not faster than the watchdog"},
      {"a heartbeat faster than the guard turns", [](json& b) { b["guard"]["heartbeat_s"] = 0.02; }, "bench.heartbeat",
       "/guard/heartbeat_s", "cannot come"},
      {"a channel too noisy for its threshold", [](json& b) { b["io"]["output_noise_v"] = 17.0; }, "bench.threshold",
       "/guard/low_v", "3 x noise of 17"},
      {"a threshold above 50 V", [](json& b) { b["guard"]["low_v"] = 60.0; }, "bench.threshold", "/guard/low_v", "at most 50 V"},
      {"a driving instrument without contactors", [](json& b) { b["sources"].erase(3); }, "bench.source-missing",
       "/instruments/0/role", "path ratio"},
      {"a path driven by the wrong role", [](json& b) { b["sources"][0]["instrument"] = "power-analyser"; },
       "bench.role-mismatch", "/sources/0/instrument", "power_analyzer"},
      {"one contactor for two paths", [](json& b) { b["sources"][1]["contactors"][0] = "K1"; }, "bench.address-taken",
       "/sources/1/contactors", "K1"},
      {"a misspelt key", [](json& b) { b["guard"]["warnings_s"] = 5; }, "document.unknown-key", "/guard/warnings_s",
       "warning_s"},
      {"a role that does not exist", [](json& b) { instrument(b, "ratio-meter")["role"] = "ratio_metre"; },
       "document.unknown-word", "/instruments/0/role", "ratio_meter"},
      {"power without its phase error",
       [](json& b) { instrument(b, "power-analyser")["calibration"]["channels"][2].erase("phase_u_rad"); },
       "document.missing-key", "/instruments/3/calibration/channels/2/phase_u_rad", "missing"},
      {"a quantity in a foreign unit",
       [](json& b) { instrument(b, "thermometers")["calibration"]["channels"][0]["unit"] = "K"; }, "bench.calibration",
       "/instruments/1/calibration/channels/0/unit", "degC"},
      {"due before calibrated", [](json& b) { instrument(b, "ac-source")["calibration"]["due_on"] = "2020-01-01"; },
       "bench.calibration", "/instruments/4/calibration/due_on", "before"},
      {"a serial port by its changing number",
       [](json& b) { b["links"][0]["address"] = "modbus-rtu:///dev/ttyUSB0?baud=9600"; }, "bench.address-form",
       "/links/0/address", "by-id"},
      {"an address of another kind", [](json& b) { b["links"][0]["address"] = "modbus-tcp://192.0.2.1:502"; },
       "bench.address-form", "/links/0/address", "modbus_rtu"},
      {"two links with one address",
       [](json& b) {
         b["links"][2]["address"] = "modbus-tcp://192.0.2.1:502";
         b["links"][3]["address"] = "modbus-tcp://192.0.2.1:502";
       },
       "bench.address-taken", "/links/3/address", "already has"},
      {"a real bench without addresses", [](json& b) { b["simulated"] = false; b.erase("simulation"); },
       "bench.address-form", "/links/0", "needs an address"},
      {"a real bench with a simulation", [](json& b) { b["simulated"] = false; }, "bench.not-simulated", "/simulation",
       "take it out"},
      {"a guard link on a serial line too slow for its period",
       [](json& b) {
         b["links"][5] = {{"name", "io"}, {"kind", "modbus_rtu"}, {"address", "modbus-rtu:///dev/ttyS1?baud=9600"}};
       },
       "bench.serial-too-slow", "/guard/period_s", "9600 baud"},
      {"a profile that does not exist", [](json& b) { instrument(b, "ratio-meter")["profile"] = "demo-ratio-metre"; },
       "profile.unknown", "/instruments/0/profile", "demo-ratio-meter"},
      {"a profile of another role", [](json& b) { instrument(b, "ratio-meter")["profile"] = "demo-thermometers"; },
       "bench.profile", "/instruments/0/profile", "thermometer_scanner"},
      {"a text device on a Modbus link",
       [](json& b) {
         instrument(b, "resistance-meter")["link"] = "bus-1";
       },
       "bench.profile", "/instruments/2/profile", "speaks text"},
      {"a source above the bench's highest volts", [](json& b) { b["envelope"]["dielectric_v"] = 100000; },
       "bench.envelope", "/envelope/terminal_v", "more than"},
  }));
  INFO(row.what);
  auto const got = refused(row.change);
  CHECK(got.id == row.id);
  CHECK(got.path == row.path);
  CHECK_THAT(got.words, Catch::Contains(row.words));
}

TEST_CASE("a bench document made for tests, with no terminal above 50 V, may warn for less", "[drivers][bench]") {
  CHECK(refused([](json& b) {
          b["guard"]["warning_s"] = 0.1;
          b["envelope"]["terminal_v"] = 50;
          b["envelope"]["source_v"] = 50;
          b["envelope"]["dielectric_v"] = 50;
        }).id.empty());
}

TEST_CASE("a fast enough serial line may carry the guard's link", "[drivers][bench]") {
  CHECK(refused([](json& b) {
          b["links"][5] = {{"name", "io"}, {"kind", "modbus_rtu"}, {"address", "modbus-rtu:///dev/ttyS1?baud=115200"}};
        }).id.empty());
}

TEST_CASE("the time of one exchange on a serial line is its characters at 11 bits", "[drivers][bench]") {
  // Modbus over serial line, specification and implementation guide V1.02, 2.5.1: 11 bits a character; by hand:
  // 13 + 2*2 out, 5 + 2*10 back, 7 of silence = 49 characters = 539 bits at 9600 baud.
  IoMap io;
  io.output_words = 2;
  io.input_words = 10;
  CHECK(serial_exchange_s(io, 9600) == Approx(539.0 / 9600.0));
}

TEST_CASE("a simulated bench takes its addresses from a ready line", "[drivers][bench]") {
  json line{{"ready", true},
            {"simulated", true},
            {"time_scale", 20},
            {"seed", 7},
            {"hands", "127.0.0.1:9"},
            {"links",
             {{"bus-1", "modbus-rtu:///dev/pts/3?baud=9600"},
              {"resistance", "text:///dev/pts/4"},
              {"analyser", "modbus-tcp://127.0.0.1:1502"},
              {"source", "modbus-tcp://127.0.0.1:1503"},
              {"dielectric", "text-tcp://127.0.0.1:1505"},
              {"io", "modbus-tcp://127.0.0.1:1504"}}}};
  auto const id = [&](std::function<void(json&, Bench&)> const& change) -> std::string {
    auto changed = line;
    auto bench = read_bench(demo);
    change(changed, bench);
    try {
      with_links(bench, parse_ready_line(changed.dump(), "ready.json"));
    } catch (DocumentError const& error) {
      return error.id();
    }
    return "taken";
  };
  line["links"]["dielectric"] = "text:///dev/pts/5";
  CHECK(id([](json&, Bench&) {}) == "taken");
  CHECK(id([](json&, Bench& b) { b.simulated = false; }) == "bench.not-simulated");
  CHECK(id([](json& l, Bench&) { l["simulated"] = false; }) == "bench.not-simulated");
  CHECK(id([](json& l, Bench&) { l["links"].erase("io"); }) == "bench.ready-line");
  CHECK(id([](json& l, Bench&) { l["links"]["more"] = "text:///dev/pts/9"; }) == "bench.ready-line");
  CHECK(id([](json& l, Bench&) { l["links"]["io"] = "text:///dev/pts/9"; }) == "bench.address-form");
  CHECK(id([](json& l, Bench&) { l["ready"] = false; }) == "bench.ready-line");
  CHECK(id([](json& l, Bench&) { l["time_scale"] = 33; }) == "bench.scale");
  auto const bench = with_links(read_bench(demo), parse_ready_line(line.dump(), "ready.json"));
  CHECK(bench.link("io")->address == "modbus-tcp://127.0.0.1:1504");
}

TEST_CASE("link addresses are read whole or refused", "[drivers][bench]") {
  auto const rtu = parse_link_address("modbus-rtu:///dev/serial/by-id/usb-demo?baud=19200&parity=even&stop=2");
  CHECK(rtu.kind == "modbus_rtu");
  CHECK(rtu.device == "/dev/serial/by-id/usb-demo");
  CHECK(rtu.baud == 19200);
  CHECK(rtu.parity == 'E');
  CHECK(rtu.stop_bits == 2);
  auto const six = parse_link_address("modbus-tcp://[::1]:1502");
  CHECK(six.host == "::1");
  CHECK(six.port == 1502);
  for (auto const* bad :
       {"", "127.0.0.1:502", "modbus-tcp://host", "modbus-tcp://:502", "modbus-tcp://h:0", "modbus-tcp://h:65536",
        "modbus-tcp://h:5x", "modbus-rtu://dev/x", "text:///dev/x?speed=9", "text:///dev/x?baud=fast",
        "text:///dev/x?parity=maybe", "http://h:80", "text:///dev/ttyACM1"}) {
    INFO(bad);
    CHECK_THROWS_AS(parse_link_address(bad), std::invalid_argument);
  }
}
