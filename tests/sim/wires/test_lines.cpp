// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <limits>

#include "sim/faults/fault_list.hpp"
#include "sim/wires/control_lines.hpp"
#include "sim/wires/hands_lines.hpp"
#include "tests/sim/wires/fake_bench.hpp"

using namespace benchward::sim;
using namespace benchward::sim::testing;

namespace {

struct Desk {
  FakeBench bench;
  WireFaults faults{1};
  WireContext context{{[] { return std::int64_t{5'000'000'000}; }, 1.0}, bench, faults, std::nullopt};
  Desk() { faults.add_device("analyzer", "power_analyzer", WireKind::modbus_tcp); }
  std::string hands(std::string_view line) { return answer_hands(line, context); }
  std::string control(std::string_view line) { return answer_control(line, context); }
};

std::string const done = "{\"done\":true}";

bool has(std::string const& text, std::string_view part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("a connection line puts the leads where it says, and the bench is brought up to now before", "[sim][wires]") {
  Desk desk;
  CHECK(desk.hands(R"({"connect": {"feed": [["H1","H2"]], "short": [["X1","X3"]], "earth": ["H0"],
                       "instrument": "ac_source", "tap": 3}})") == done);
  CHECK(desk.bench.connected.instrument == "ac_source");
  CHECK(desk.bench.connected.feed == std::vector<std::vector<std::string>>{{"H1", "H2"}});
  CHECK(desk.bench.connected.short_bar == std::vector<std::vector<std::string>>{{"X1", "X3"}});
  CHECK(desk.bench.connected.earth == std::vector<std::string>{"H0"});
  CHECK(desk.bench.connected.tap == 3);
  CHECK(desk.bench.advanced == std::vector<std::int64_t>{5'000'000'000});
}

TEST_CASE("every act of a person at the bench has its line", "[sim][wires]") {
  struct Row {
    char const* line;
    char const* act;
  };
  Row const rows[] = {{R"({"disconnect": "all"})", "disconnect"},
                      {R"({"tap": 3})", "tap 3"},
                      {R"({"gate": "open"})", "gate open"},
                      {R"({"gate": "closed"})", "gate closed"},
                      {R"({"inside": true})", "inside"},
                      {R"({"press": "reset"})", "press reset"},
                      {R"({"press": "release-estop"})", "press release-estop"},
                      {R"({"strap": {"name": "X0 strap", "state": "off"}})", "accessory X0 strap off"},
                      {R"({"arrester": {"name": "A1", "state": "on"}})", "accessory A1 on"},
                      {R"({"switch": {"name": "dual", "state": "2"}})", "accessory dual 2"}};
  for (auto const& row : rows) {
    Desk desk;
    CHECK(desk.hands(row.line) == done);
    CHECK(desk.bench.acts == std::vector<std::string>{row.act});
  }
}

TEST_CASE("a wrong line of the hands is answered by an error that names the key, and nothing is done", "[sim][wires]") {
  struct Row {
    char const* line;
    char const* says;
  };
  Row const rows[] = {{"", "hands"},
                      {"gate open", "hands"},
                      {"[]", "expected an object"},
                      {"{}", "expected one of the keys"},
                      {R"({"gat": "open"})", "/gat: unknown key; did you mean"},
                      {R"({"gate": "ajar"})", "/gate"},
                      {R"({"gate": true})", "/gate"},
                      {R"({"gate": "open", "tap": 3})", "one act a line"},
                      {R"({"gate": "open", "gate": "closed"})", "gate"},
                      {R"({"tap": "three"})", "/tap"},
                      {R"({"tap": -1})", "/tap"},
                      {R"({"press": "resett"})", "/press"},
                      {R"({"connect": {"feed": ["H1","H2"]}})", "/feed/0"},
                      {R"({"connect": {"feed": [["H1","H9"]]}})", "H9"},
                      {R"({"connect": {"fed": [["H1","H2"]]}})", "/fed"},
                      {R"({"connect": {"instrument": "source"}})", "/instrument"},
                      {R"({"strap": {"name": "X0 strap"}})", "/strap/state"},
                      {R"({"unit": "no/such/file.json"})", "no/such/file.json"},
                      {R"({"unit": {"serial": "1"}})", "unit"}};
  for (auto const& row : rows) {
    Desk desk;
    CAPTURE(row.line);
    auto const answer = desk.hands(row.line);
    CAPTURE(answer);
    CHECK(answer.rfind("{\"error\":\"", 0) == 0);
    CHECK(has(answer, row.says));
    CHECK(desk.bench.acts.empty());
  }
}

TEST_CASE("what the bench refuses comes back as an error of the key", "[sim][wires]") {
  Desk desk;
  desk.bench.why_not = "the gate is locked";
  CHECK(desk.hands(R"({"gate": "open"})") == R"({"error":"gate: the gate is locked"})");
}

TEST_CASE("a fault goes to whom it belongs", "[sim][wires]") {
  Desk desk;
  CHECK(desk.control(R"({"fault": "shorted-turn", "value": 2})") == done);
  CHECK(desk.bench.acts == std::vector<std::string>{"fault shorted-turn"});
  CHECK(desk.control(R"({"fault": "no-answer"})") == done);
  CHECK(desk.faults.on("analyzer", "no-answer"));
  CHECK(desk.control(R"({"fault": "late-answer", "device": "analyzer"})") == done);
  CHECK(desk.faults.on("analyzer", "late-answer"));
  CHECK(desk.control(R"({"clear": "no-answer"})") == done);
  CHECK_FALSE(desk.faults.on("analyzer", "no-answer"));
  CHECK(desk.faults.on("analyzer", "late-answer"));
  CHECK(desk.control(R"({"clear": "all"})") == done);
  CHECK_FALSE(desk.faults.on("analyzer", "late-answer"));
  CHECK(desk.bench.acts.back() == "clear all");
}

TEST_CASE("a wrong line of the control socket is answered by an error that names the key", "[sim][wires]") {
  struct Row {
    char const* line;
    char const* says;
  };
  Row const rows[] = {{R"({"fault": "short-turn"})", "shorted-turn"},
                      {R"({"fault": 3})", "/fault"},
                      {R"({"fault": "no-answer", "value": "one"})", "/value"},
                      {R"({"fault": "no-answer", "value": 77})", "value: "},
                      {R"({"fault": "no-answer", "device": "io"})", "device: "},
                      {R"({"fault": "shorted-turn", "device": "analyzer"})", "device: "},
                      {R"({"fault": "shorted-turn", "amount": 3})", "/amount"},
                      {R"({"value": 3})", "expected one of the keys"},
                      {R"({"clear": "everything"})", "clear: "},
                      {R"({"set": {"gate": "ajar"}})", "/set/gate"},
                      {R"({"set": {"gates": "open"}})", "/set/gates"},
                      {R"({"get": "lies"})", "/get"}};
  for (auto const& row : rows) {
    Desk desk;
    CAPTURE(row.line);
    auto const answer = desk.control(row.line);
    CAPTURE(answer);
    CHECK(answer.rfind("{\"error\":\"", 0) == 0);
    CHECK(has(answer, row.says));
    CHECK(desk.bench.acts.empty());
  }
}

TEST_CASE("the judge can open the gate and press the emergency stop", "[sim][wires]") {
  Desk desk;
  CHECK(desk.control(R"({"set": {"gate": "open", "estop": "pressed"}})") == done);
  CHECK(desk.bench.acts == std::vector<std::string>{"gate open", "press estop"});
}

TEST_CASE("the truth is told whole, and a heartbeat that never came is old, not infinite", "[sim][wires]") {
  Desk desk;
  auto& truth = desk.bench.true_state;
  truth.simulated_time_s = 12.5;
  truth.energized = true;
  truth.output_voltage_v = 480.0;
  truth.terminals = {{"H1", 7200.5}, {"tank", 0.0}};
  truth.supply_contactors = {"closed", "open"};
  truth.earth_switch = "moving";
  truth.gate = "locked";
  truth.estop = "healthy";
  truth.heartbeat_age_s = std::numeric_limits<double>::infinity();
  truth.dangerous_moments = {{3.25, "gate open while H1 is above 50 V"}};
  CHECK(desk.control(R"({"get": "truth"})") ==
        R"({"truth":{"simulated_time_s":12.5,"energized":true,"output_voltage_v":480,"output_current_a":0,)"
        R"("dc_current_a":0,"terminals":{"H1":7200.5,"tank":0},"supply_contactors":["closed","open"],)"
        R"("earth_switch":"moving","gate":"locked","estop":"healthy","heartbeat_age_s":1e+09,)"
        R"("dangerous_moments":[{"at_s":3.25,"what":"gate open while H1 is above 50 V"}]}})");
  CHECK(desk.control(R"({"get": "true_values"})") == R"({"true_values":{"no_load_loss_w":66.5}})");
}
