// SPDX-License-Identifier: MIT
#include "tests_seq/plan/step_builder.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace benchward::planning {

void StepBuilder::add(PlanStep step) {
  if (step.energy) {
    within_envelope(step.test.c_str(), "at a terminal", "V", step.connection.worst_volts,
                    bench.envelope.terminal.in(volts));
  }
  plan_.steps.push_back(std::move(step));
}

void StepBuilder::leave_out(std::string test, std::string reason) {
  LeftOut left;
  left.test = std::move(test);
  left.reason = std::move(reason);
  plan_.left_out.push_back(std::move(left));
}

void StepBuilder::refuse(std::string why) {
  if (std::find(plan_.why_not.begin(), plan_.why_not.end(), why) == plan_.why_not.end()) {
    plan_.why_not.push_back(std::move(why));
  }
}

bool StepBuilder::needs(char const* role, char const* test) {
  if (bench.in_role(role) != nullptr) return true;
  refuse(fmt::format("{}: the bench has no instrument in the role {}", test, role));
  return false;
}

void StepBuilder::within_envelope(char const* test, char const* what, char const* unit_word, double value,
                                  double largest) {
  // A hair of tolerance: a bench built for exactly the value may give it.
  if (value <= largest * (1.0 + 1e-9)) return;
  refuse(
      fmt::format("{}: needs {:.4g} {} {}, the bench has {:.4g} {}", test, value, unit_word, what, largest, unit_word));
}

std::vector<AccessoryState> StepBuilder::accessories(Straps straps) const {
  std::vector<AccessoryState> list;
  auto const put = [&](std::string const& name, std::string const& state) {
    AccessoryState entry;
    entry.name = name;
    entry.state = state;
    list.push_back(std::move(entry));
  };
  for (auto const& strap : unit.straps) {
    bool const low_side = !strap.terminal.empty() && strap.terminal.front() == 'X';
    put(strap.name, low_side ? (straps == Straps::on ? "on" : "off") : "on");
  }
  for (auto const& arrester : unit.arresters) put(arrester.name, "off");
  for (auto const& fuse : unit.fuses) put(fuse.name, "fitted");
  for (auto const& entry : unit.switches) {
    put(entry.name, entry.shipped_state == "open" || entry.shipped_state == "off" ? "closed" : entry.shipped_state);
  }
  if (unit.breaker) put(unit.breaker->name, "closed");
  return list;
}

std::vector<std::string> StepBuilder::low_side_earth() const {
  if (terminals.joined || terminals.x_neutral == "tank") return {};
  // No middle and no neutral: one end or corner. A low side that floats is lifted to kilovolts by the capacitance to
  // the high side, and the source's own leakage takes watts that are no core loss.
  if (terminals.x_earth.empty()) return {terminals.x_lines.back()};
  bool const strapped = std::any_of(unit.straps.begin(), unit.straps.end(),
                                    [&](Accessory const& strap) { return strap.terminal == terminals.x_earth; });
  if (strapped) return {};
  return {terminals.x_earth};
}

bool StepBuilder::high_star_earthed() const {
  if (terminals.h_neutral.empty()) return false;
  return !(unit.hv_neutral == NeutralKind::own_bushing && unit.neutral_insulation_kv);
}

std::vector<std::string> StepBuilder::high_side_earth() const {
  if (terminals.one_bushing && terminals.h_lines[1] != "tank") return {terminals.h_lines[1]};
  if (!high_star_earthed() || terminals.h_neutral == "tank") return {};
  return {terminals.h_neutral};
}

std::optional<int> StepBuilder::rated_tap() const {
  if (unit.hv.taps.empty()) return std::nullopt;
  return unit.hv.rated_tap;
}

Current StepBuilder::exciting_current() const {
  double const percent = unit.guarantees.exciting_current_percent.value_or(2.0);
  return lv_current() * (percent / 100.0);
}

AcWiring StepBuilder::low_side_wiring() const {
  AcWiring wiring;
  wiring.phases = unit.phases;
  wiring.fed = joined_by(terminals.x_lines, unit.phases == 1 ? "-" : ",");
  if (unit.phases == 3) {
    wiring.wiring = terminals.x_neutral.empty() ? PowerAnalyzer::Wiring::three_phase_floating
                                                : PowerAnalyzer::Wiring::three_phase_neutral;
  }
  return wiring;
}

AcWiring StepBuilder::high_side_wiring() const {
  AcWiring wiring;
  wiring.phases = unit.phases;
  wiring.fed = joined_by(terminals.h_lines, unit.phases == 1 ? "-" : ",");
  // Load loss is fed on the three lines alone, whatever the neutral: terminal to terminal.
  if (unit.phases == 3) wiring.wiring = PowerAnalyzer::Wiring::three_phase_floating;
  return wiring;
}

std::vector<std::vector<std::string>> StepBuilder::low_side_feed() const {
  std::vector<std::string> leads = terminals.x_lines;
  if (unit.phases == 3 && !terminals.x_neutral.empty()) leads.push_back(terminals.x_neutral);
  return {leads};
}

std::vector<std::vector<std::string>> StepBuilder::low_side_series() const {
  if (unit.lv_form != LowVoltageForm::series_parallel) return {};
  return {{"X2", "X3"}};
}

LiveTerminal live_at(std::string terminal, double to_earth, bool clipped) {
  LiveTerminal live;
  live.terminal = std::move(terminal);
  live.volts_to_earth = to_earth;
  live.clipped = clipped;
  return live;
}

void finish_connection(Connection& connection, std::vector<LiveTerminal> live) {
  connection.worst_volts = 0.0;
  for (auto const& entry : live) connection.worst_volts = std::max(connection.worst_volts, entry.volts_to_earth);
  connection.live = std::move(live);
}

void set_connection_code(StepEnergy& energy, Connection const& connection) {
  std::vector<std::string> live;
  for (auto const& entry : connection.live) {
    if (entry.volts_to_earth > 0.0) live.push_back(entry.terminal);
  }
  energy.live_terminals = terminal_bits(live);
  energy.earthed_terminals = terminal_bits(connection.earth);
}

}  // namespace benchward::planning
