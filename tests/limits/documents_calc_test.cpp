// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <set>
#include <string>
#include <tuple>

#include "documents_support.hpp"
#include "limits/documents/calc/calc.hpp"
#include "limits/documents/json_reader.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {

/// A good input of every topic, to be spoiled.
std::vector<std::pair<std::string, std::string>> const good = {
    {"resistance-at-temperature",
     R"({"resistance_ohm": 1.5, "measured_at_c": 25, "reference_c": 85, "metal": "copper"})"},
    {"phase-resistances", R"({"line_to_line_ohm": [1, 1.1, 1.05], "connection": "wye"})"},
    {"no-load-loss", R"({"measured_w": 100, "rms_v": 241, "average_v": 240})"},
    {"load-loss",
     R"({"measured_w": 4000, "test_current_a": 20, "rated_current_a": 23.15, "winding_c": 25, "reference_c": 85,
      "windings": [{"total_resistance_ohm": 3.2, "measured_at_c": 24, "metal": "copper", "rated_phase_current_a": 13.37}],
      "apparent_power_va": 20000, "phase_error_rad": 0.001})"},
    {"impedance",
     R"({"impedance_voltage_v": 500, "rated_voltage_v": 12470, "test_current_a": 23, "rated_current_a": 23.15,
      "load_loss_w": 4000, "rated_kva": 500, "load_loss_reference_w": 4500})"},
    {"ratio", R"({"vector_group": "Dyn1", "hv_rated_v": 12470, "lv_rated_v": 480, "measured_ratio": 45})"},
    {"phase-relation", R"({"vector_group": "Dyn1"})"},
    {"polarity", R"({"join": "adjacent", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 96.7})"},
    {"efficiency", R"({"rated_kva": 50, "no_load_loss_w": 90, "load_loss_w": 515})"},
    {"efficiency-minimum", R"({"phases": 3, "rated_kva": 500, "manufactured_on": "2026-01-01", "submersible": false})"},
    {"represented-efficiency",
     R"({"efficiencies_percent": [99.1, 99.2, 99.15, 99.2, 99.18], "represented_percent": 99.15})"},
    {"equivalent-circuit", R"({"open": {"voltage_v": 240, "current_a": 2, "power_w": 120},
      "short": {"voltage_v": 150, "current_a": 10, "power_w": 600}})"},
    {"regulation", R"({"r_percent": 1.3, "x_percent": 3.8, "power_factor": 0.8})"},
    {"induced-test", R"({"rated_v": 240, "rated_hz": 60, "test_hz": 180})"},
    {"uncertainty",
     R"({"components": [{"name": "a", "standard_uncertainty": 1, "sensitivity": 2, "degrees_of_freedom": 9}]})"},
    {"conformity", R"({"value": 1, "standard_uncertainty": 0.1, "lower": 0, "upper": 2})"},
    {"capability", R"({"values": [1, 2, 3], "lower": 0, "upper": 4})"},
    {"control-chart", R"({"values": [1, 2, 3], "kind": "ewma", "target": 2, "sigma": 1})"},
    {"modbus-crc", R"({"bytes": "01 03 00 00 00 0A"})"},
};
std::string const& input_of(std::string const& topic) {
  for (auto const& [name, text] : good) {
    if (name == topic) return text;
  }
  throw std::logic_error("no good input of " + topic);
}

}  // namespace

TEST_CASE("every topic answers a good input with the output keys that its list names", "[calc]") {
  auto const topics = calc_topics();
  CHECK(topics.size() == good.size());
  for (auto const& topic : topics) {
    INFO(topic.name);
    auto const out = documents::parse_json(calculate(topic.name, input_of(topic.name)), topic.name);
    CHECK(out.at("source") == topic.source);
    std::set<std::string> named{"source"};
    for (auto const& key : topic.output) {
      auto const head = key.name.substr(0, key.name.find('/'));
      named.insert(head);
      INFO(key.name);
      if (key.required == "always") CHECK(out.contains(head));
    }
    for (auto const& entry : out.items()) CHECK(named.contains(entry.key()));
    CHECK(topic.summary.size() > 10);
    CHECK(topic.source.size() > 10);
  }
}

TEST_CASE("every required key of every topic is missed by name when it is left out", "[calc]") {
  int left_out = 0;
  for (auto const& topic : calc_topics()) {
    for (auto const& key : topic.keys) {
      if (key.required != "required") continue;
      INFO(topic.name << " without " << key.name);
      auto json = documents::parse_json(input_of(topic.name), "t");
      std::string path;
      if (auto const slash = key.name.find('/'); slash == std::string::npos) {
        REQUIRE(json.erase(key.name) == 1);
        path = "/" + key.name;
      } else {
        auto const head = key.name.substr(0, slash), tail = key.name.substr(slash + 1);
        auto& holder = json.at(head).is_array() ? json.at(head).at(0) : json.at(head);
        path = "/" + head + (json.at(head).is_array() ? "/0/" : "/") + tail;
        REQUIRE(holder.erase(tail) == 1);
      }
      auto const error = document_error([&] { calculate(topic.name, json.dump()); });
      CHECK(error.id() == "document.missing-key");
      CHECK(error.path() == path);
      ++left_out;
    }
  }
  CHECK(left_out > 50);
}

TEST_CASE("an unknown key, a text for a number and a number beyond all range are refused by name in every topic",
          "[calc]") {
  for (auto const& [topic, text] : good) {
    INFO(topic);
    auto json = documents::parse_json(text, "t");
    json["measuerd"] = 1;
    auto error = document_error([&, topic = topic] { calculate(topic, json.dump()); });
    CHECK(error.id() == "document.unknown-key");
    CHECK(error.path() == "/measuerd");
    auto const fresh = documents::parse_json(text, "t");
    for (auto const& entry : fresh.items()) {
      if (!entry.value().is_number()) continue;
      auto spoiled = fresh;
      for (auto const& wrong : {documents::Json("five"), documents::Json(nullptr), documents::Json(true)}) {
        spoiled[entry.key()] = wrong;
        error = document_error([&, topic = topic] { calculate(topic, spoiled.dump()); });
        CHECK(error.id() == "document.wrong-type");
        CHECK(error.path() == "/" + entry.key());
      }
      spoiled[entry.key()] = "HERE";
      for (char const* wrong : {"NaN", "Infinity", "1e999", "-1e999"}) {
        error = document_error([&, topic = topic] { calculate(topic, with(spoiled.dump(), "\"HERE\"", wrong)); });
        CHECK(error.id() == "document.not-json");
        CHECK(error.path() == "/" + entry.key());
      }
    }
  }
}

TEST_CASE("what a formula cannot take is refused by name", "[calc]") {
  using Row = std::tuple<std::string, std::string, std::string, std::string>;  // topic, replaced, by, path
  auto const row = GENERATE(values<Row>({
      {"resistance-at-temperature", "\"resistance_ohm\": 1.5", "\"resistance_ohm\": 0", "/resistance_ohm"},
      {"resistance-at-temperature", "\"measured_at_c\": 25", "\"measured_at_c\": -234.5", "/measured_at_c"},
      {"resistance-at-temperature", "\"reference_c\": 85", "\"reference_c\": -300", "/reference_c"},
      {"resistance-at-temperature", "\"copper\"", "\"iron\"", "/metal"},
      {"phase-resistances", "[1, 1.1, 1.05]", "[1, 1.1]", "/line_to_line_ohm"},
      {"phase-resistances", "[1, 1.1, 1.05]", "[1, 1.1, 1.05, 1]", "/line_to_line_ohm"},
      {"phase-resistances", "[1, 1.1, 1.05]", "[1, -1.1, 1.05]", "/line_to_line_ohm/1"},
      {"phase-resistances", "[1, 1.1, 1.05]", "[1, 1, 2.5]", "/line_to_line_ohm"},
      {"no-load-loss", "\"average_v\": 240", "\"average_v\": 240, \"rated_v\": 0", "/rated_v"},
      {"no-load-loss", "\"average_v\": 240", "\"average_v\": 240, \"eddy_fraction\": 1.1", "/eddy_fraction"},
      {"no-load-loss", "\"measured_w\": 100", "\"measured_w\": -1", "/measured_w"},
      {"load-loss", "\"measured_w\": 4000", "\"measured_w\": 20001", "/measured_w"},
      {"load-loss", ", \"phase_error_rad\": 0.001", "", "/phase_error_rad"},
      {"load-loss", "\"apparent_power_va\": 20000, ", "", "/apparent_power_va"},
      {"load-loss", "\"rated_current_a\": 23.15", "\"rated_current_a\": 0", "/rated_current_a"},
      {"load-loss", "\"rated_phase_current_a\": 13.37", "\"rated_phase_current_a\": 0",
       "/windings/0/rated_phase_current_a"},
      {"load-loss", "\"metal\": \"copper\"", "\"metal\": \"gold\"", "/windings/0/metal"},
      {"load-loss", "\"winding_c\": 25", "\"winding_c\": -400", "/winding_c"},
      {"load-loss", "\"reference_c\": 85", "\"reference_c\": -400", "/reference_c"},
      {"load-loss", "\"measured_at_c\": 24", "\"measured_at_c\": -234.5", "/windings/0/measured_at_c"},
      {"impedance", "\"load_loss_w\": 4000", "\"load_loss_w\": 40000", "/load_loss_w"},
      {"impedance", "\"rated_voltage_v\": 12470", "\"rated_voltage_v\": 0", "/rated_voltage_v"},
      {"impedance", "\"rated_kva\": 500", "\"rated_kva\": 0", "/rated_kva"},
      {"ratio", "\"Dyn1\"", "\"Dyn2\"", "/vector_group"},
      {"ratio", "\"measured_ratio\": 45", "\"measured_ratio\": 45, \"tap_percent\": -100", "/tap_percent"},
      {"phase-relation", "\"Dyn1\"", "\"Dyn13\"", "/vector_group"},
      {"phase-relation", "\"Dyn1\"", "\"hello\"", "/vector_group"},
      {"polarity", "\"adjacent\"", "\"adjacnt\"", "/join"},
      {"polarity", "\"applied_v\": 100", "\"applied_v\": 0", "/applied_v"},
      {"efficiency", "\"rated_kva\": 50", "\"rated_kva\": 0", "/rated_kva"},
      {"efficiency", "\"load_loss_w\": 515", "\"load_loss_w\": 515, \"power_factor\": 0", "/power_factor"},
      {"efficiency-minimum", "2026-01-01", "2026-02-29", "/manufactured_on"},
      {"efficiency-minimum", "2026-01-01", "2009-12-31", "/manufactured_on"},
      {"efficiency-minimum", "\"rated_kva\": 500", "\"rated_kva\": 2501", "/rated_kva"},
      {"efficiency-minimum", "\"rated_kva\": 500", "\"rated_kva\": 14.9", "/rated_kva"},
      {"efficiency-minimum", "\"phases\": 3", "\"phases\": 2", "/phases"},
      {"efficiency-minimum", "\"submersible\": false", "\"submersible\": 0", "/submersible"},
      {"represented-efficiency", "[99.1, 99.2, 99.15, 99.2, 99.18]", "[]", "/efficiencies_percent"},
      {"represented-efficiency", "99.15, 99.2", "99.15, 100", "/efficiencies_percent/3"},
      {"represented-efficiency", "\"represented_percent\": 99.15", "\"represented_percent\": 100",
       "/represented_percent"},
      {"equivalent-circuit", "\"power_w\": 120", "\"power_w\": 481", "/open/power_w"},
      {"equivalent-circuit", "\"power_w\": 600", "\"power_w\": 1501", "/short/power_w"},
      {"equivalent-circuit", "\"current_a\": 10", "\"current_a\": 0", "/short/current_a"},
      {"regulation", "\"power_factor\": 0.8", "\"power_factor\": 1.01", "/power_factor"},
      {"induced-test", "\"test_hz\": 180", "\"test_hz\": 119.9", "/test_hz"},
      {"induced-test", "\"test_hz\": 180", "\"test_hz\": 400, \"case\": \"line_to_ground\"", "/winding_v"},
      {"induced-test", "\"test_hz\": 180",
       "\"test_hz\": 400, \"case\": \"line_to_ground\", \"winding_v\": 7200, \"standard\": \"iec\"", "/case"},
      {"induced-test", "\"test_hz\": 180", "\"test_hz\": 180, \"winding_v\": 7200", "/winding_v"},
      {"uncertainty", "\"degrees_of_freedom\": 9", "\"degrees_of_freedom\": 0", "/components/0/degrees_of_freedom"},
      {"uncertainty", "\"standard_uncertainty\": 1", "\"standard_uncertainty\": -1",
       "/components/0/standard_uncertainty"},
      {"uncertainty", "\"components\"", "\"coverage\": 1, \"components\"", "/coverage"},
      {"conformity", ", \"lower\": 0, \"upper\": 2", "", "/upper"},
      {"conformity", "\"upper\": 2", "\"upper\": -2", "/upper"},
      {"conformity", "\"standard_uncertainty\": 0.1", "\"standard_uncertainty\": -0.1", "/standard_uncertainty"},
      {"capability", "[1, 2, 3]", "[1]", "/values"},
      {"capability", "[1, 2, 3]", "[2, 2, 2]", "/values"},
      {"capability", "\"upper\": 4", "\"upper\": -1", "/upper"},
      {"control-chart", "\"sigma\": 1", "\"sigma\": 0", "/sigma"},
      {"control-chart", "\"target\": 2, ", "", "/target"},
      {"control-chart", "\"kind\": \"ewma\"", "\"kind\": \"ewma\", \"weight\": 0", "/weight"},
      {"control-chart", "[1, 2, 3]", "[]", "/values"},
      {"modbus-crc", "00 0A", "00 0", "/bytes"},
      {"modbus-crc", "00 0A", "00 0G", "/bytes"},
      {"modbus-crc", "00 0A", "0 00A", "/bytes"},
      {"modbus-crc", "01 03 00 00 00 0A", " ", "/bytes"},
  }));
  auto const& [topic, from, to, path] = row;
  INFO(topic << ": " << from << " -> " << to);
  auto const error =
      document_error([&, topic = topic, from = from, to = to] { calculate(topic, with(input_of(topic), from, to)); });
  CHECK(error.path() == path);
  CHECK_THAT(error.what(), Catch::StartsWith("calc " + topic + ": " + path + ": "));
}

TEST_CASE("an unknown topic names the nearest one, and a result beyond all numbers is refused in words", "[calc]") {
  auto const error = document_error([] { calculate("no-load-los", "{}"); });
  CHECK(error.id() == "calc.no-such-topic");
  CHECK_THAT(error.what(), Catch::Contains("no-load-loss"));
  CHECK(document_error([] { calculate("ratio", "[]"); }).id() == "document.wrong-type");
  CHECK(document_error([] { calculate("ratio", ""); }).id() == "document.empty");
  CHECK(document_error([] {
          calculate("no-load-loss", R"({"measured_w": 1e308, "rms_v": 1e-300, "average_v": 1e300, "core_c": 1000})");
        }).id() == "calc.out-of-range");
}

TEST_CASE("topics answer known cases", "[calc][reference]") {
  auto const out = [](std::string const& topic, std::string const& text) {
    return documents::parse_json(calculate(topic, text), topic);
  };
  // Displacements and pairs: vector groups by phasors, known answers of the trade (common practice, no source).
  auto json = out("phase-relation", R"({"vector_group": "Dyn1"})");
  CHECK(json["displacement_deg"] == 30.0);
  REQUIRE(json["pairs"].size() == 3);
  CHECK(json["pairs"][0]["hv"] == "H1-H3");
  CHECK(json["pairs"][0]["lv"] == "X1-X0");
  CHECK(json["pairs"][0]["factor"].get<double>() == Approx(std::sqrt(3.0)));
  json = out("phase-relation", R"({"vector_group": "Yd1"})");
  CHECK(json["pairs"][0]["factor"].get<double>() == Approx(2.0 / std::sqrt(3.0)));
  CHECK(json["pairs"][0].contains("short"));
  json = out("phase-relation", R"({"vector_group": "Dz0"})");
  CHECK(json["pairs"][0]["factor"].get<double>() == Approx(1.5));
  CHECK(json["pairs"][0].contains("feed"));
  // IEEE C57.12.00 clause 5.7.1 and C57.12.90 clause 6, by arithmetic.
  CHECK(out("polarity",
            R"({"join": "adjacent", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 103.3})")["polarity"] ==
        "additive");
  CHECK(out("polarity",
            R"({"join": "adjacent", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 96.7})")["polarity"] ==
        "subtractive");
  CHECK(
      out("polarity", R"({"join": "adjacent", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 101})")["polarity"] ==
      "undetermined");
  CHECK(out("polarity",
            R"({"join": "like_marked", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 96.7})")["marking"] ==
        "right");
  CHECK(out("polarity",
            R"({"join": "like_marked", "applied_v": 100, "expected_lv_v": 3.3, "across_v": 103.3})")["marking"] ==
        "wrong");
  // 10 CFR 431.196(b)(2): 500 kVA three-phase 99.35 %; what it leaves at half load, 1635.6 W.
  json = out("efficiency-minimum", input_of("efficiency-minimum"));
  CHECK(json["efficiency_percent"] == 99.35);
  CHECK(json["allowed_loss_w"].get<double>() == Approx(1635.6).margin(0.05));
  // IEEE C57.12.90: 7200 cycles; 40 s at 180 Hz (from memory).
  json = out("induced-test", input_of("induced-test"));
  CHECK(json["test_v"] == 480.0);
  CHECK(json["duration_s"].get<double>() == Approx(40.0));
  CHECK(json["lowest_test_hz"].get<double>() == Approx(120.0));
  // ILAC-G8:09/2019, guard band w = U: the four words.
  auto const verdict = [&](char const* value) {
    return out("conformity",
               std::string(R"({"standard_uncertainty": 0.5, "upper": 10, "value": )") + value + "}")["verdict"]
        .get<std::string>();
  };
  CHECK(verdict("8.9") == "pass");
  CHECK(verdict("9.5") == "conditional pass");
  CHECK(verdict("10.5") == "conditional fail");
  CHECK(verdict("11.1") == "fail");
  CHECK(out("no-load-loss",
            R"({"measured_w": 100, "rms_v": 240, "average_v": 240, "rated_v": 250})")["voltage_error_percent"]
            .get<double>() == Approx(-4.0));
  CHECK(out("control-chart", R"({"values": [0, 0, 9], "kind": "individuals", "target": 0, "sigma": 1})")["signals"] ==
        documents::Json::array({3}));
}
