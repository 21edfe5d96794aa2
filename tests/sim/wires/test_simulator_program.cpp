// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "sim/wires/modbus_frame.hpp"
#include "tests/sim/wires/fake_bench.hpp"
#include "tests/sim/wires/program.hpp"
#include "tests/sim/wires/wire_client.hpp"

using namespace benchward::sim;
using namespace benchward::sim::testing;
using nlohmann::json;

namespace {

std::string const program = std::string(BENCHWARD_BINARY_DIR) + "/bin/benchward-sim";
std::string const bench = std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/01-scaled.json";
std::string const unit = std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/single-phase-pad-50kva.json";

int port_of(std::string const& address) { return std::stoi(address.substr(address.rfind(':') + 1)); }

/// The simulator with the first demo bench, at 20 times.
struct Simulator {
  Program process;
  json ready;
  explicit Simulator(std::vector<std::string> const& more = {})
      : process(words(more)), ready(json::parse(process.line())) {}
  static std::vector<std::string> words(std::vector<std::string> const& more) {
    std::vector<std::string> all{program, "--bench", bench, "--unit", unit, "--time-scale", "20"};
    all.insert(all.end(), more.begin(), more.end());
    return all;
  }
  Client socket(char const* name) const { return tcp_client(port_of(ready.at(name).get<std::string>())); }
};

json ask(Client& client, std::string const& line) {
  client.send(line + "\n");
  return json::parse(client.line(5000));
}

}  // namespace

TEST_CASE("benchward-sim says when it is ready, tells the truth, and stops cleanly on a signal", "[sim][wires]") {
  for (int const number : {SIGINT, SIGTERM}) {
    Simulator simulator({"--seed", "9"});
    CHECK(simulator.ready.at("ready") == true);
    CHECK(simulator.ready.at("simulated") == true);
    CHECK(simulator.ready.at("time_scale") == 20.0);
    CHECK(simulator.ready.at("seed") == 9);
    CHECK(simulator.ready.at("links").size() == 6);
    auto control = simulator.socket("control");
    auto const truth = ask(control, R"({"get": "truth"})").at("truth");
    for (auto const* key :
         {"simulated_time_s", "energized", "output_voltage_v", "output_current_a", "dc_current_a", "terminals",
          "supply_contactors", "earth_switch", "gate", "estop", "heartbeat_age_s", "dangerous_moments"}) {
      CHECK(truth.contains(key));
    }
    CHECK(truth.at("energized") == false);
    CHECK(truth.at("dangerous_moments").empty());
    simulator.process.signal(number);
    CHECK(simulator.process.exit_code() == 0);
  }
}

TEST_CASE("hands and judge act on the simulated bench over their sockets", "[sim][wires]") {
  Simulator simulator;
  auto hands = simulator.socket("hands");
  auto control = simulator.socket("control");
  CHECK(ask(hands, R"({"connect": {"feed": [["X1","X3"]], "instrument": "ac_source", "earth": ["H2"]}})")
            .contains("done"));
  CHECK(ask(hands, R"({"gate": "open"})").contains("done"));
  CHECK(ask(control, R"({"get": "truth"})").at("truth").at("gate") == "open");
  CHECK(ask(hands, R"({"press": "estop"})").contains("done"));
  CHECK(ask(control, R"({"get": "truth"})").at("truth").at("estop") == "pressed");
  CHECK(ask(control, R"({"fault": "no-answer"})").contains("done"));
  CHECK(ask(control, R"({"fault": "no-such"})").contains("error"));
  CHECK(ask(hands, json{{"unit", unit}}.dump()).contains("done"));
}

TEST_CASE("simulated time runs as many times faster as was asked for", "[sim][wires]") {
  Simulator simulator;
  auto control = simulator.socket("control");
  auto const time_s = [&] {
    return ask(control, R"({"get": "truth"})").at("truth").at("simulated_time_s").get<double>();
  };
  auto const start = std::chrono::steady_clock::now();
  double const before_s = time_s();
  control.receive(1, 500);  // half a second of the wall's time in which nobody says anything
  double const after_s = time_s();
  double const wall_s = seconds_since(start);
  CHECK(after_s - before_s >= 20.0 * 0.5);
  CHECK(after_s - before_s <= 20.0 * wall_s + 0.001);
}

TEST_CASE("the I/O block of the demo bench answers the challenge with its transform and the run's seed",
          "[sim][wires]") {
  Simulator simulator({"--seed", "70000"});
  std::ifstream file(bench);
  auto const io = json::parse(file).at("io");
  auto const& outputs = io.at("outputs");
  int const out_at = io.at("output_address"), out_words = io.at("output_words");
  int const in_at = io.at("input_address"), in_words = io.at("input_words");
  auto const place = [](json const& point) {
    return point.is_object() ? point.at("word").get<std::size_t>() : point.get<std::size_t>();
  };
  std::vector<std::uint16_t> words(static_cast<std::size_t>(out_words));
  words.at(place(outputs.at("challenge"))) = 0xBEEF;
  Bytes pdu{23};
  for (int const word : {in_at, in_words, out_at, out_words}) append_word(pdu, static_cast<std::uint16_t>(word));
  pdu.push_back(static_cast<std::uint8_t>(words.size() * 2));
  for (auto const word : words) append_word(pdu, word);
  auto client = tcp_client(port_of(simulator.ready.at("links").at("io").get<std::string>()));
  client.send(encode_tcp({1, static_cast<std::uint8_t>(io.at("unit_id").get<int>()), pdu}));
  auto const answer = client.receive(9 + static_cast<std::size_t>(in_words) * 2);
  REQUIRE(answer.size() == 9 + static_cast<std::size_t>(in_words) * 2);
  auto const input = [&](char const* name) { return word_at(answer, 9 + 2 * place(io.at("inputs").at(name))); };
  // By hand from the documented transform: 0xBEEF * 40503 + 12345 = 0x7600B792; xor 0x7600, xor 0x5AA5, or 1.
  CHECK(input("challenge_answer") == ((0xB792 ^ 0x7600 ^ 0x5AA5) | 1));
  CHECK(input("seed_high") == 1);
  CHECK(input("seed_low") == 70000 - 65536);
}

TEST_CASE("bad input ends benchward-sim with code 2 and one line that says what to do", "[sim][wires]") {
  struct Row {
    std::vector<std::string> words;
    char const* says;
  };
  auto const with = [](std::vector<std::string> more) {
    std::vector<std::string> all{"--bench", bench, "--unit", unit};
    all.insert(all.end(), more.begin(), more.end());
    return all;
  };
  std::vector<Row> const rows{{{}, "--bench is missing"},
                              {{"--bench", bench}, "--unit is missing"},
                              {{"--bench", "no-such.json", "--unit", unit}, "no-such.json"},
                              {{"--bench", bench, "--unit", bench}, "01-scaled.json"},
                              {with({"--fault", "shortd-turn"}), "did you mean \"shorted-turn\""},
                              {with({"--fault", "shorted-turn=many"}), "expected a number"},
                              {with({"--fault", "shorted-turn=1@io"}), "wires only"},
                              {with({"--fault", "no-answer=1@nobody"}), "device"},
                              {with({"--time-scale", "40"}), "20 ms of wall time"},
                              {with({"--time-scale", "0"}), "from 0.1 to 20"},
                              {with({"--time-scale", "fast"}), "--time-scale: expected a number"},
                              {with({"--seed", "1.5"}), "--seed"},
                              {with({"--frobnicate"}), "--frobnicate"}};
  for (auto const& row : rows) {
    std::vector<std::string> all{program};
    all.insert(all.end(), row.words.begin(), row.words.end());
    Program run(all);
    auto const text = run.rest();
    CAPTURE(text);
    CHECK(text.find(row.says) != std::string::npos);
    CHECK(std::count(text.begin(), text.end(), '\n') == 1);
    CHECK(run.exit_code() == 2);
  }
}

TEST_CASE("a bench that is not marked simulated is not simulated", "[sim][wires]") {
  std::ifstream file(bench);
  auto document = json::parse(file);
  document["simulated"] = false;
  int number = 9;
  for (auto& link : document["links"]) {
    auto const kind = link.at("kind").get<std::string>();
    link["address"] = kind == "modbus_tcp" ? "modbus-tcp://127.0.0.1:150" + std::to_string(number++)
                                           : (kind == "modbus_rtu" ? "modbus-rtu" : "text") +
                                                 std::string(":///dev/none") + std::to_string(number++);
  }
  document.erase("simulation");
  std::string const path = std::string(BENCHWARD_BINARY_DIR) + "/bench-not-simulated.json";
  std::ofstream(path) << document.dump();
  Program run({program, "--bench", path, "--unit", unit});
  auto const text = run.rest();
  CAPTURE(text);
  CHECK(text.find("not marked simulated") != std::string::npos);
  CHECK(run.exit_code() == 2);
}

TEST_CASE("a port that is taken ends benchward-sim with code 2 and says which", "[sim][wires]") {
  Simulator first;
  auto const port = std::to_string(port_of(first.ready.at("hands").get<std::string>()));
  Program second({program, "--bench", bench, "--unit", unit, "--hands-port", port});
  auto const text = second.rest();
  CAPTURE(text);
  CHECK(text.find("127.0.0.1:" + port) != std::string::npos);
  CHECK(second.exit_code() == 2);
}

TEST_CASE("the fault list as JSON has every key of its contract", "[sim][wires]") {
  Program run({program, "--list-faults", "--json"});
  auto const list = json::parse(run.rest());
  CHECK(run.exit_code() == 0);
  CHECK(list.size() > 50);
  bool shorted_turn = false;
  for (auto const& fault : list) {
    for (auto const* key : {"name", "where", "parameter", "unit", "default", "effect", "applies_to", "expected_outcome",
                            "bench_check", "dangerous_by_hardware"}) {
      CHECK(fault.contains(key));
    }
    shorted_turn = shorted_turn || fault.at("name") == "shorted-turn";
  }
  CHECK(shorted_turn);
}
