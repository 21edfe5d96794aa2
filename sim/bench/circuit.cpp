// SPDX-License-Identifier: MIT
#include "sim/bench/circuit.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace benchward::sim {
namespace {

constexpr double jumper_ohm = 1e-3;
constexpr double earth_ohm = 5e-3;
constexpr double floating_ohm = 2e6;  // a floating source's own leakage: the circuit has a place
constexpr double voltmeter_ohm = 1e6;

std::vector<std::string> split(std::string const& text, char at) {
  std::vector<std::string> parts(1);
  for (char c : text) {
    if (c == at) {
      parts.emplace_back();
    } else {
      parts.back().push_back(c);
    }
  }
  return parts;
}

bool lists(std::vector<std::vector<std::string>> const& groups, std::string const& word) {
  return std::any_of(groups.begin(), groups.end(),
                     [&](auto const& group) { return std::find(group.begin(), group.end(), word) != group.end(); });
}

}  // namespace

SourcePath path_of(std::string const& role) {
  if (role == "ac_source" || role == "power_analyzer") return SourcePath::ac_source;
  if (role == "dielectric_tester") return SourcePath::dielectric;
  if (role == "resistance_meter") return SourcePath::resistance;
  if (role == "ratio_meter") return SourcePath::ratio;
  if (role == "insulation_meter") return SourcePath::insulation;
  return SourcePath::none;
}

bool is_clipped(Connection const& connection, std::string const& terminal) {
  if (terminal == "tank" || lists(connection.feed, terminal) || lists(connection.measure, terminal)) return true;
  // A lead on tied terminals stands on the first of the tie.
  return std::any_of(connection.tie.begin(), connection.tie.end(), [&](auto const& tie) {
    bool const in_tie = std::find(tie.begin(), tie.end(), terminal) != tie.end();
    return in_tie && std::any_of(tie.begin(), tie.end(), [&](auto const& other) {
             return lists(connection.feed, other) || lists(connection.measure, other);
           });
  });
}

std::optional<Node> CircuitBuilder::node(std::string const& terminal) const {
  if (terminal == "tank") return earth;
  if (!unit_.has_terminal(terminal)) return std::nullopt;
  return unit_.terminal(terminal);
}

std::vector<int> CircuitBuilder::lay_jumpers(Network& network, Connection const& connection, BarHeat heat) const {
  auto const chain = [&](std::vector<std::string> const& names, double ohm, double henry, std::vector<int>* laid) {
    for (std::size_t i = 1; i < names.size(); ++i) {
      auto const a = node(names[i - 1]), b = node(names[i]);
      if (!a || !b || *a == *b) continue;
      int const branch = network.add(NetworkBranch{*a, *b, ohm, henry, 0.0});
      if (laid != nullptr) laid->push_back(branch);
    }
  };
  for (auto const& tie : connection.tie) chain(tie, jumper_ohm, 0.0, nullptr);
  std::vector<int> bars;
  if (!faults_.on("shorting-bar-missing")) {
    double const poor = faults_.value_or("shorting-bar-poor", 0.0) * 1e-3 * heat.contact;
    double const deviation = 1.0 + parameters_.true_bar_deviation.value_or(0.0);
    double const ohm = parameters_.bar_ohm * deviation * heat.bar + poor;
    for (auto const& bar : connection.short_bar) {
      chain(bar, ohm, parameters_.bar_henry * deviation, &bars);
    }
  }
  for (auto const& name : connection.earth) {
    auto const at = node(name);
    if (!at || *at == earth) continue;
    bool const fed_high = path_of(connection.instrument) == SourcePath::dielectric;
    if (fed_high && faults_.on("earth-lead-off")) continue;
    network.tie(*at, earth, earth_ohm);
  }
  return bars;
}

void CircuitBuilder::lay_switches(Network& network, std::vector<Node> const& at_source,
                                  CircuitSwitches switches) const {
  for (Node const at : at_source) {
    if (at == earth) continue;
    if (switches.earth_closed) network.tie(at, earth, earth_ohm);
    if (switches.resistor_on) network.tie(at, earth, parameters_.discharge_resistor_ohm);
  }
}

AlternatingCircuit CircuitBuilder::source(Connection const& connection, CircuitSwitches switches,
                                          SourceBuild const& build, BarHeat heat) const {
  AlternatingCircuit circuit{unit_.network(), {}, {}, {}, earth, false, earth, {}};
  Network& network = circuit.network;
  network.frequency_hz = build.frequency_hz;
  circuit.bars = lay_jumpers(network, connection, heat);
  if (faults_.on("shorting-bar-left-on") && connection.short_bar.empty()) {
    std::vector<std::string> low = unit_.lv_terminals();
    if (low.size() >= 2) {
      // Of a mid-tapped leg the last terminal is its middle; the bar lay across the lines.
      bool const middle = unit_.has_terminal("X4") && unit_.has_terminal("X3") && !unit_.has_terminal("X0");
      auto const a = node(low.front()), b = node(middle ? low[1] : low.back());
      if (a && b && *a != *b) network.add(NetworkBranch{*a, *b, parameters_.bar_ohm, parameters_.bar_henry, 0.0});
    }
  }
  std::vector<std::string> leads = connection.feed.empty() ? std::vector<std::string>{} : connection.feed.front();
  if (faults_.on("feed-on-middle-terminal")) {
    for (auto& lead : leads) {
      if (lead == "X3" && unit_.has_terminal("X2")) lead = "X2";
    }
  }
  double const soft = faults_.value_or("soft-supply", 1.0);
  double const magnitude = build.impedance_ohm * soft;
  double const resistance = magnitude / std::sqrt(1.0 + build.x_over_r * build.x_over_r);
  double const inductance = resistance * build.x_over_r / (2.0 * std::numbers::pi * build.frequency_hz);
  circuit.neutral = network.add_node();
  network.tie(circuit.neutral, earth, floating_ohm);
  std::size_t const hot = build.phases == 3 ? 3 : 1;
  double const loose = faults_.value_or("feed-lead-loose", 0.0);
  for (std::size_t phase = 0; phase < hot; ++phase) {
    Node const at = network.add_node();
    circuit.emf.push_back(network.add(NetworkEmf{circuit.neutral, at, {}, resistance, inductance, 0.0, 0.0}));
    circuit.at_source.push_back(at);
    Node terminal = at;
    if (phase < leads.size()) {
      if (auto const found = node(leads[phase])) {
        network.add(
            NetworkBranch{at, *found, parameters_.lead_ohm + (phase == 0 ? loose : 0.0), parameters_.lead_henry, 0.0});
        terminal = *found;
      }
    }
    circuit.at_unit.push_back(terminal);
  }
  if (leads.size() > hot) {  // the return of a single phase, or lead N
    if (auto const found = node(leads[hot])) {
      network.add(NetworkBranch{*found, circuit.neutral, parameters_.lead_ohm, parameters_.lead_henry, 0.0});
      circuit.neutral_on_unit = true;
      circuit.neutral_terminal = *found;
    }
  }
  std::vector<Node> ends = circuit.at_source;
  ends.push_back(circuit.neutral);
  lay_switches(network, ends, switches);
  return circuit;
}

AlternatingCircuit CircuitBuilder::dielectric(Connection const& connection, CircuitSwitches switches,
                                              SourceBuild const& build, double rated_hz) const {
  AlternatingCircuit circuit{unit_.network(), {}, {}, {}, earth, true, earth, {}};
  Network& network = circuit.network;
  network.frequency_hz = build.frequency_hz;
  circuit.bars = lay_jumpers(network, connection, BarHeat{});
  Node const at = network.add_node();
  double const resistance = build.impedance_ohm / std::sqrt(1.0 + build.x_over_r * build.x_over_r);
  double const inductance = resistance * build.x_over_r / (2.0 * std::numbers::pi * rated_hz);
  circuit.emf.push_back(network.add(NetworkEmf{earth, at, {}, resistance, inductance, 0.0, 0.0}));
  circuit.at_source.push_back(at);
  network.add(NetworkBranch{at, earth, 50.0, 0.0, std::max(parameters_.dielectric_stray_nf, 1e-3) * 1e-9});
  network.tie(at, earth, parameters_.divider_ohm);
  Node terminal = at;
  if (!connection.feed.empty() && !connection.feed.front().empty() && !faults_.on("test-lead-off")) {
    if (auto const found = node(connection.feed.front().front())) {
      network.add(NetworkBranch{at, *found, 100.0, 0.0, 0.0});
      terminal = *found;
    }
  }
  circuit.at_unit.push_back(terminal);
  if (switches.flashed_over) network.tie(terminal, earth, 200.0);
  lay_switches(network, circuit.at_source, switches);
  return circuit;
}

std::optional<CircuitBuilder::RatioCircuit> CircuitBuilder::ratio(Connection const& connection,
                                                                  CircuitSwitches switches,
                                                                  RatioSelection const& selection) const {
  RatioCircuit circuit{unit_.network(), 0, earth, earth, earth, earth};
  Network& network = circuit.network;
  lay_jumpers(network, connection, BarHeat{});
  bool missing = false;
  // "H2+H3": the selector ties them.
  auto const at = [&](std::string const& words) -> Node {
    auto const names = split(words, '+');
    Node first = earth;
    for (std::size_t i = 0; i < names.size(); ++i) {
      auto const found = node(names[i]);
      if (!found || !is_clipped(connection, names[i])) {
        missing = true;
        return earth;
      }
      if (i == 0) {
        first = *found;
      } else if (*found != first) {
        network.tie(first, *found, jumper_ohm);
      }
    }
    return first;
  };
  auto fed_from = at(selection.feed_from), fed_to = at(selection.feed_to);
  auto read_from = at(selection.read_from), read_to = at(selection.read_to);
  if (missing) return std::nullopt;
  if (faults_.on("ratio-leads-swapped")) {
    std::swap(fed_from, read_from);
    std::swap(fed_to, read_to);
  }
  if (!selection.shorted.empty()) {
    auto const ends = split(selection.shorted, '-');
    if (ends.size() == 2) {
      auto const a = at(ends[0]), b = at(ends[1]);
      if (missing) return std::nullopt;
      if (a != b) network.tie(a, b, jumper_ohm);
    }
  }
  circuit.fed_from = fed_from;
  circuit.fed_to = fed_to;
  circuit.read_from = read_from;
  circuit.read_to = read_to;
  Node const low = network.add_node();
  Node const high = network.add_node();
  circuit.emf = network.add(NetworkEmf{low, high, {}, parameters_.ratio_source_ohm, 0.0, 0.0, 0.0});
  network.tie(high, fed_from, jumper_ohm);
  network.tie(low, fed_to, jumper_ohm);
  network.tie(low, earth, floating_ohm);
  if (read_from != read_to) network.tie(read_from, read_to, parameters_.ratio_voltage_burden_ohm);
  lay_switches(network, {high, low}, switches);
  return circuit;
}

std::optional<CircuitBuilder::DirectCircuit> CircuitBuilder::direct(Connection const& connection,
                                                                    CircuitSwitches switches, std::string const& from,
                                                                    std::string const& to) const {
  auto const from_node = node(from), to_node = node(to);
  if (!from_node || !to_node || *from_node == *to_node) return std::nullopt;
  if (!is_clipped(connection, from) || !is_clipped(connection, to)) return std::nullopt;
  DirectCircuit circuit{unit_.network(), *from_node, *to_node, -1, -1, -1};
  Network& network = circuit.network;
  lay_jumpers(network, connection, BarHeat{});
  Node const high = network.add_node();
  Node const low = network.add_node();
  double const lead = 0.5 * parameters_.direct_lead_ohm;
  circuit.lead =
      network.add(NetworkBranch{high, *from_node, lead + faults_.value_or("current-lead-loose", 0.0), 0.0, 0.0});
  network.add(NetworkBranch{*to_node, low, lead, 0.0, 0.0});
  network.tie(low, earth, floating_ohm);
  network.tie(*from_node, *to_node, voltmeter_ohm);
  if (switches.source_on) {
    bool const broken = faults_.on("dc-discharge-path-open");
    circuit.current_source =
        network.add(NetworkCurrentSource{low, high, 0.0, parameters_.direct_compliance_v, broken ? 1e6 : 2.0});
  }
  if (switches.short_closed) circuit.short_contact = network.tie(high, low, 2e-3);
  lay_switches(network, {high, low}, switches);
  return circuit;
}

InsulationConnection CircuitBuilder::insulation(Connection const& connection, CircuitSwitches switches,
                                                double volts) const {
  InsulationConnection tied;
  tied.volts = volts;
  auto const any_of = [&](std::vector<std::string> const& terminals, auto const& holds) {
    return std::any_of(terminals.begin(), terminals.end(), holds);
  };
  auto const fed = [&](std::string const& name) { return lists(connection.feed, name); };
  auto const earthed = [&](std::string const& name) {
    return std::find(connection.earth.begin(), connection.earth.end(), name) != connection.earth.end();
  };
  bool const down = switches.earth_closed || switches.resistor_on;
  auto const tie = [&](std::vector<std::string> const& terminals) {
    if (any_of(terminals, earthed)) return WindingTie::earthed;
    // Told to stop, the meter stands at no volts behind its own resistance: it discharges what it charged.
    if (any_of(terminals, fed)) {
      return switches.source_on ? WindingTie::driven : down ? WindingTie::earthed : WindingTie::free;
    }
    return WindingTie::free;
  };
  tied.hv = tie(unit_.hv_terminals());
  tied.lv = tie(unit_.lv_terminals());
  return tied;
}

}  // namespace benchward::sim
