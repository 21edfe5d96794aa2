// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <functional>
#include <set>

#include <nlohmann/json.hpp>

#include "drivers/profile/built_in.hpp"
#include "drivers/profile/profile_document.hpp"
#include "limits/documents/document_error.hpp"

using namespace benchward;
using nlohmann::json;

namespace {

json document(char const* id) {
  for (auto const& [name, text] : built_in_profile_texts()) {
    if (name == id) return json::parse(text);
  }
  throw std::logic_error("no such profile");
}
json& named(json& list, std::string const& name) {
  for (auto& entry : list) {
    if (entry["name"] == name) return entry;
  }
  throw std::logic_error("no " + name);
}
struct Row {
  char const* what;
  char const* profile;
  std::function<void(json&)> change;
  char const* id;
  char const* words;
};

}  // namespace

TEST_CASE("every compiled-in profile is taken, and each role of the demo bench has one", "[drivers][profile]") {
  std::set<std::string> roles;
  for (auto const& id : built_in_profiles()) {
    auto const& profile = built_in_profile(id);
    CHECK(profile.id == id);
    CHECK_THAT(profile.note, Catch::Contains("invented"));
    roles.insert(profile.role);
  }
  CHECK(roles == std::set<std::string>{"ac_source", "dielectric_tester", "insulation_meter", "power_analyzer",
                                       "ratio_meter", "resistance_meter", "thermometer_scanner"});
}

TEST_CASE("a profile that would be read wrongly later is refused", "[drivers][profile]") {
  auto const row = GENERATE(values<Row>({
      {"overlapping registers", "demo-ratio-meter", [](json& p) { named(p["rows"], "read")["address"] = 102; },
       "profile.overlap", "overlap \"applied\""},
      {"more than 125 words together", "demo-ratio-meter", [](json& p) { named(p["rows"], "read")["address"] = 900; },
       "profile.span", "at most 125"},
      {"one group of two functions", "demo-ratio-meter", [](json& p) { named(p["rows"], "read")["function"] = 3; },
       "profile.span", "another function"},
      {"a unit of another quantity", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied")["unit"] = "mA"; },
       "profile.unit", "is a voltage"},
      {"an unknown unit", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied")["unit"] = "Volt"; },
       "profile.unit", "no unit known"},
      {"a temperature in volts", "demo-thermometers", [](json& p) { named(p["rows"], "top")["unit"] = "V"; },
       "profile.unit", "is a temperature"},
      {"a scale of 0", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied")["scale"] = 0; }, "profile.scale",
       "scale of 0"},
      {"an upside-down range", "demo-ratio-meter",
       [](json& p) {
         named(p["rows"], "applied")["range"] = {300, 0};
       },
       "profile.range", "no range"},
      {"two words without their order", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied").erase("order"); },
       "profile.order", "abcd, cdab, badc or dcba"},
      {"a text with its words swapped", "demo-ratio-meter",
       [](json& p) { named(p["rows"], "maker")["order"] = "cdab"; }, "profile.order", "order of their words"},
      {"an unknown key", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied")["adress"] = 3; },
       "document.unknown-key", "unknown key"},
      {"an unknown type", "demo-ratio-meter", [](json& p) { named(p["rows"], "applied")["type"] = "float"; },
       "document.unknown-word", "f32"},
      {"a name twice", "demo-ratio-meter",
       [](json& p) {
         p["rows"].push_back({{"name", "applied"}, {"function", 3}, {"address", 500}, {"type", "u16"}});
       },
       "profile.name-twice", "twice"},
      {"a missing reading", "demo-thermometers",
       [](json& p) {
         p["groups"][1]["rows"] = {"status", "top", "bottom"};
       },
       "profile.row-missing", "lacks \"ambient\""},
      {"a missing setting", "demo-ac-source", [](json& p) { named(p["rows"], "ramp_s").erase("writable"); },
       "profile.row-missing", "ramp_s"},
      {"a missing status bit", "demo-ac-source", [](json& p) { named(p["rows"], "status")["bits"].erase(0); },
       "profile.row-missing", "at_zero"},
      {"a missing sequence", "demo-ac-source", [](json& p) { p["sequences"].erase("to_zero"); }, "profile.sequence",
       "to_zero"},
      {"a driving sequence that is not marked", "demo-ac-source",
       [](json& p) { p["sequences"]["set"][0].erase("energising"); }, "profile.sequence", "drives the unit"},
      {"a write of registers that are no neighbours", "demo-ac-source",
       [](json& p) {
         p["sequences"]["to_zero"][0]["write"] = {"voltage_set", "command"};
         p["sequences"]["to_zero"][0].erase("values");
       },
       "profile.sequence", "neighbours"},
      {"a constant that is not written", "demo-ac-source",
       [](json& p) { p["sequences"]["to_zero"][0]["values"]["voltage_set"] = 0; }, "profile.sequence", "not written"},
      {"several registers by function 6", "demo-ac-source", [](json& p) { p["write_function"] = 6; },
       "profile.sequence", "one register"},
      {"a known row that is none", "demo-ac-source", [](json& p) { p["known"]["row"] = "magic"; },
       "profile.row-missing", "magic"},
      {"writable input registers", "demo-ac-source", [](json& p) { named(p["rows"], "voltage")["writable"] = true; },
       "profile.address", "cannot be written"},
      {"no largest output", "demo-ac-source", [](json& p) { p.erase("highest"); }, "profile.row-missing",
       "largest voltage"},
      {"a role that is none", "demo-ac-source", [](json& p) { p["role"] = "source"; }, "profile.role", "no role"},
      {"a bit twice", "demo-ac-source", [](json& p) { named(p["rows"], "status")["bits"][1]["bit"] = 0; },
       "profile.bits", "twice"},
      {"bits of a number", "demo-ac-source",
       [](json& p) { named(p["rows"], "voltage")["bits"] = {{{"name", "x"}, {"bit", 0}}}; }, "profile.bits",
       "type bits"},
      {"an argument that the line lacks", "demo-resistance-meter",
       [](json& p) { named(p["commands"], "current_on")["line"] = "SOUR:CURR"; }, "profile.command",
       "has no {set_current}"},
      {"a brace without an argument", "demo-resistance-meter",
       [](json& p) { named(p["commands"], "clear")["line"] = "*CLS {now}"; }, "profile.command", "\"arguments\""},
      {"a sequence of an unknown command", "demo-resistance-meter",
       [](json& p) { p["sequences"]["current_off"][0]["send"] = "off"; }, "profile.command", "no command \"off\""},
      {"a text unit of another quantity", "demo-resistance-meter",
       [](json& p) { named(p["commands"], "sample")["reply"][0]["unit"] = "A"; }, "profile.unit", "is a voltage"},
      {"a register number by guess", "demo-ac-source", [](json& p) { named(p["rows"], "voltage")["address"] = 400101; },
       "document.out-of-range", "zero-based"},
  }));
  INFO(row.what);
  auto changed = document(row.profile);
  row.change(changed);
  std::string id, words;
  try {
    parse_profile(changed.dump(), "profile.json");
  } catch (DocumentError const& error) {
    id = error.id();
    words = error.message();
  }
  CHECK(id == row.id);
  CHECK_THAT(words, Catch::Contains(row.words));
}

// Pitfall 2: zero-based addresses; the one-based notation only where it is written as such.
TEST_CASE("register references in quotes are one-based and name their table", "[drivers][profile]") {
  struct Case {
    char const* reference;
    RegisterTable table;
    int address;
  };
  auto const one = GENERATE(values<Case>({{"40001", RegisterTable::holding, 0},
                                          {"40101", RegisterTable::holding, 100},
                                          {"30007", RegisterTable::input, 6},
                                          {"400001", RegisterTable::holding, 0},
                                          {"365536", RegisterTable::input, 65535}}));
  auto changed = document("demo-thermometers");
  changed["rows"].push_back({{"name", "spare"}, {"reference", one.reference}, {"type", "u16"}});
  // Away from the other rows of the profile, so that nothing overlaps.
  for (auto& row : changed["rows"]) {
    if (row.contains("address")) row["address"] = row["address"].get<int>() + 20000;
  }
  auto const profile = parse_profile(changed.dump(), "p");
  CHECK(profile.row("spare")->table == one.table);
  CHECK(profile.row("spare")->address == one.address);
}

TEST_CASE("register references that are none are refused", "[drivers][profile]") {
  auto const reference = GENERATE(as<std::string>{}, "00001", "10001", "4001", "40000", "4x001", "465537", "");
  auto changed = document("demo-thermometers");
  changed["rows"].push_back({{"name", "spare"}, {"reference", reference}, {"type", "u16"}});
  CHECK_THROWS_AS(parse_profile(changed.dump(), "p"), DocumentError);
}
