// SPDX-License-Identifier: MIT
#include "drivers/bench/io_signals.hpp"

#include <algorithm>
#include <array>

namespace benchward {
namespace {

/// Where a field lies in an image. Both images are standard-layout structs of plain members.
template <class Image, class Field>
IoSignal at(Image const& image, Field const& field, std::string name) {
  static_assert(sizeof(Field) == 1 || sizeof(Field) == 2 || sizeof(Field) == 4);
  auto const offset =
      static_cast<std::size_t>(reinterpret_cast<char const*>(&field) - reinterpret_cast<char const*>(&image));
  constexpr auto width = sizeof(Field) == 1   ? SignalWidth::bit
                         : sizeof(Field) == 2 ? SignalWidth::word
                                              : SignalWidth::two_words;
  return {std::move(name), width, offset};
}

std::vector<IoSignal> list_inputs() {
  BenchInputs const in{};
  std::vector<IoSignal> list{at(in, in.stop_a, "stop_a"), at(in, in.stop_b, "stop_b")};
  for (int gate = 0; gate < max_gates; ++gate) {
    auto const n = "." + std::to_string(gate);
    list.push_back(at(in, in.gate_a[gate], "gate_a" + n));
    list.push_back(at(in, in.gate_b[gate], "gate_b" + n));
    list.push_back(at(in, in.gate_locked[gate], "gate_locked" + n));
  }
  auto const more = {at(in, in.chain_closed, "chain_closed"),
                     at(in, in.reset_pressed, "reset_pressed"),
                     at(in, in.earth_closed, "earth_closed"),
                     at(in, in.earth_open, "earth_open"),
                     at(in, in.resistor_on, "resistor_on"),
                     at(in, in.red_ok, "red_ok"),
                     at(in, in.siren_ok, "siren_ok"),
                     at(in, in.red_lit, "red_lit"),
                     at(in, in.green_lit, "green_lit"),
                     at(in, in.regulator_at_zero, "regulator_at_zero"),
                     at(in, in.source_healthy, "source_healthy"),
                     at(in, in.voltage_absent, "voltage_absent"),
                     at(in, in.short_closed, "short_closed"),
                     at(in, in.hooks_home, "hooks_home"),
                     at(in, in.keys_home, "keys_home"),
                     at(in, in.covers_closed, "covers_closed"),
                     at(in, in.area_searched, "area_searched"),
                     at(in, in.person_inside, "person_inside"),
                     at(in, in.two_hand, "two_hand"),
                     at(in, in.ground_ok, "ground_ok"),
                     at(in, in.breaker_closed, "breaker_closed"),
                     at(in, in.bypass_key, "bypass_key"),
                     at(in, in.crane_clear, "crane_clear"),
                     at(in, in.output_good, "output_good"),
                     at(in, in.direct_good, "direct_good"),
                     at(in, in.output_mv, "output_mv"),
                     at(in, in.output_ma, "output_ma"),
                     at(in, in.direct_ua, "direct_ua"),
                     at(in, in.watchdog_ms, "watchdog_ms"),
                     at(in, in.heartbeat_echo, "heartbeat_echo"),
                     at(in, in.owner_echo, "owner_echo"),
                     at(in, in.scan, "scan"),
                     at(in, in.challenge_answer, "challenge_answer"),
                     at(in, in.seed_high, "seed_high"),
                     at(in, in.seed_low, "seed_low")};
  list.insert(list.end(), more.begin(), more.end());
  for (int source = 1; source < max_sources; ++source) {
    auto const prefix = "source." + std::to_string(source) + ".";
    list.push_back(at(in, in.source[source].first_open, prefix + "first_open"));
    list.push_back(at(in, in.source[source].second_open, prefix + "second_open"));
    list.push_back(at(in, in.source[source].isolated, prefix + "isolated"));
    list.push_back(at(in, in.source[source].store_discharged, prefix + "store_discharged"));
  }
  return list;
}

std::vector<IoSignal> list_outputs() {
  BenchOutputs const out{};
  std::vector<IoSignal> list{at(out, out.open_earth, "open_earth"),
                             at(out, out.resistor, "resistor"),
                             at(out, out.lock_gate, "lock_gate"),
                             at(out, out.red, "red"),
                             at(out, out.siren, "siren"),
                             at(out, out.ramp_permitted, "ramp_permitted"),
                             at(out, out.open_short, "open_short"),
                             at(out, out.trip_breaker, "trip_breaker"),
                             at(out, out.heartbeat, "heartbeat"),
                             at(out, out.owner, "owner"),
                             at(out, out.watchdog_ms, "watchdog_ms"),
                             at(out, out.live_terminals, "live_terminals"),
                             at(out, out.earthed_terminals, "earthed_terminals"),
                             at(out, out.challenge, "challenge")};
  for (int source = 1; source < max_sources; ++source) {
    list.push_back(at(out, out.first[source], "first." + std::to_string(source)));
    list.push_back(at(out, out.second[source], "second." + std::to_string(source)));
  }
  return list;
}

std::optional<IoSignal> find(std::vector<IoSignal> const& list, std::string const& name) {
  auto const found = std::find_if(list.begin(), list.end(), [&](auto const& entry) { return entry.name == name; });
  return found == list.end() ? std::nullopt : std::optional<IoSignal>(*found);
}

constexpr std::array<char const*, max_sources> source_words{"none",       "ac_source", "dielectric",
                                                            "resistance", "ratio",     "insulation"};

constexpr std::array<char const*, 37> condition_words{"",
                                                      "emergency stops healthy, not pressed",                   // I01
                                                      "each gate closed, two channels",                         // I02
                                                      "gate locked until the earth is proven closed",           // I03
                                                      "two-channel discrepancy of stops and gates",             // I04
                                                      "walk-in area: searched, keys home, nobody inside",       // I05
                                                      "signal lamp and siren proven working",                   // I06
                                                      "warning before energising",                              // I07
                                                      "earth switch closed before access, open before supply",  // I08
                                                      "earth sticks and unused leads on their hooks",           // I09
                                                      "both contactors of every source proven open",            // I10
                                                      "contactor feedback",                                     // I11
                                                      "voltage with the contactors open",                       // I12
                                                      "start from zero",                                        // I13
                                                      "regulator stuck, wrong way, or running on",              // I14
                                                      "over-current",                                           // I15
                                                      "voltage above the step's ceiling",                       // I16
                                                      "rate of rise",                                           // I17
                                                      "range, tap, connection feedback",                        // I18
                                                      "tank and source earth",                                  // I19
                                                      "instrument covers closed",                               // I20
                                                      "two-hand or hold-to-run control",                        // I21
                                                      "watchdog written, read back, not zero; heartbeat",       // I22
                                                      "critical reading stale or link lost",                    // I23
                                                      "impossible reading",                                     // I24
                                                      "start and restart in the safe state",                    // I25
                                                      "supply phases and sequence",                             // I26
                                                      "calibration valid",                                      // I27
                                                      "authorised operator",                                    // I28
                                                      "direct current decayed and shorting contact closed",     // I29
                                                      "dwell, discharge resistor, earth after an AC test",      // I30
                                                      "discharge after an insulation test",                     // I31
                                                      "gate never opened between two units",                    // I32
                                                      "energised longer than the step allows",                  // I33
                                                      "exactly one source path to the unit",                    // I34
                                                      "source energy store discharged and measured",            // I35
                                                      "an independent proof that there is no voltage"};         // I36

bool has_source(Bench const& bench, SourcePath path) {
  return std::any_of(bench.sources.begin(), bench.sources.end(), [&](auto const& entry) { return entry.path == path; });
}

}  // namespace

std::vector<IoSignal> const& input_signals() {
  static auto const list = list_inputs();
  return list;
}
std::vector<IoSignal> const& output_signals() {
  static auto const list = list_outputs();
  return list;
}
std::optional<IoSignal> input_signal(std::string const& name) { return find(input_signals(), name); }
std::optional<IoSignal> output_signal(std::string const& name) { return find(output_signals(), name); }

ConditionSignals signals_of_condition(int number, Bench const& bench) {
  ConditionSignals need;
  auto const per_gate = [&](std::string const& stem) {
    for (int gate = 0; gate < bench.gates; ++gate) need.inputs.push_back(stem + std::to_string(gate));
  };
  auto const per_source = [&](std::string const& tail) {
    for (auto const& source : bench.sources) {
      need.inputs.push_back("source." + std::to_string(static_cast<int>(source.path)) + "." + tail);
    }
  };
  switch (number) {
    case 1:
      need.inputs = {"stop_a", "stop_b"};
      break;
    case 2:
      per_gate("gate_a.");
      per_gate("gate_b.");
      break;
    case 3:
      per_gate("gate_locked.");
      need.outputs = {"lock_gate"};
      break;
    case 5:
      need.inputs = {"area_searched", "keys_home", "person_inside"};
      break;
    case 6:
      need.inputs = {"red_ok", "siren_ok"};
      break;
    case 7:
      need.outputs = {"red", "siren"};
      break;
    case 8:
      need.inputs = {"earth_closed", "earth_open"};
      need.outputs = {"open_earth"};
      break;
    case 9:
      need.inputs = {"hooks_home"};
      break;
    case 10:
    case 11:
      per_source("first_open");
      per_source("second_open");
      for (auto const& source : bench.sources) {
        auto const n = std::to_string(static_cast<int>(source.path));
        need.outputs.push_back("first." + n);
        need.outputs.push_back("second." + n);
      }
      break;
    case 12:
    case 16:
      need.inputs = {"output_mv", "output_good"};
      break;
    case 13:
    case 14:
      need.inputs = {"regulator_at_zero", "output_mv"};
      break;
    case 15:
      need.inputs = {"output_ma", "output_good"};
      break;
    case 19:
      need.inputs = {"ground_ok"};
      break;
    case 20:
      need.inputs = {"covers_closed"};
      break;
    case 21:
      need.inputs = {"two_hand"};
      break;
    case 22:
      need.inputs = {"watchdog_ms", "heartbeat_echo", "owner_echo"};
      need.outputs = {"watchdog_ms", "heartbeat", "owner"};
      break;
    case 23:
      need.inputs = {"scan"};
      break;
    case 26:
      need.inputs = {"source_healthy"};
      break;
    case 29:
      if (has_source(bench, SourcePath::resistance)) {
        need.inputs = {"direct_ua", "direct_good", "short_closed"};
        need.outputs = {"open_short"};
      }
      break;
    case 30:
      need.inputs = {"resistor_on"};
      need.outputs = {"resistor"};
      break;
    case 34:
      per_source("isolated");
      break;
    case 35:
      per_source("store_discharged");
      break;
    case 36:
      need.inputs = {"voltage_absent"};
      break;
    default:
      break;  // judged by the program from signals of other conditions, or from the plan
  }
  return need;
}

bool condition_is_mandatory(int number, Bench const& bench) {
  if (number == 5) return bench.walk_in;
  auto const need = signals_of_condition(number, bench);
  return !need.inputs.empty() || !need.outputs.empty();
}

std::string words_of_condition(int number) {
  return number >= 1 && number <= 36 ? condition_words[static_cast<std::size_t>(number)] : "";
}

std::optional<SourcePath> source_path_named(std::string const& word) {
  for (int index = 1; index < max_sources; ++index) {
    if (word == source_words[static_cast<std::size_t>(index)]) return static_cast<SourcePath>(index);
  }
  return std::nullopt;
}
std::string name_of(SourcePath path) { return source_words.at(static_cast<std::size_t>(path)); }

}  // namespace benchward
