// SPDX-License-Identifier: MIT
// Steps at power frequency: no-load loss and load loss.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/plan/step_builder.hpp"

namespace benchward::planning {

namespace {

/// Predicted heating, kelvins a minute at rated current: copper at 2.5 A/mm2 2.1, aluminium at 1.5 A/mm2 1.8 (derived).
double heating_k_per_minute(Metal metal) { return metal == Metal::copper ? 2.1 : 1.8; }

double phases_factor(StepBuilder const& at) { return at.unit.phases == 3 ? std::sqrt(3.0) : 1.0; }

}  // namespace

Connection low_side_fed(StepBuilder const& at, double fed_volts, char const* name) {
  Connection connection;
  connection.instrument = "ac_source";
  connection.feed = at.low_side_feed();
  connection.measure = connection.feed;  // sense leads at the unit's terminals, apart from the current leads
  connection.tie = at.low_side_series();
  for (auto const& entry : at.low_side_earth()) connection.earth.push_back(entry);
  for (auto const& entry : at.high_side_earth()) connection.earth.push_back(entry);
  for (auto const& entry : at.terminals.h_bushings) {
    if (std::find(connection.earth.begin(), connection.earth.end(), entry) == connection.earth.end()) {
      connection.open.push_back(entry);
    }
  }
  connection.accessories = at.accessories(Straps::on);
  connection.tap = at.rated_tap();
  bool const star = at.high_star_earthed() && at.unit.phases == 3;
  double const high = fed_volts * at.hv_volts() / at.lv_volts() / (star ? std::sqrt(3.0) : 1.0);
  std::vector<LiveTerminal> live;
  for (auto const& entry : connection.open) {
    bool const neutral = entry == at.terminals.h_neutral;
    live.push_back(live_at(entry, neutral ? high / std::sqrt(3.0) : high, false));
  }
  for (auto const& entry : at.terminals.x_bushings) {
    bool const earthed = std::find(connection.earth.begin(), connection.earth.end(), entry) != connection.earth.end();
    if (earthed || entry == at.terminals.x_neutral || entry == at.terminals.x_earth) continue;
    live.push_back(live_at(entry, fed_volts, true));
  }
  finish_connection(connection, std::move(live));
  connection.name = fmt::format("{}: feed {}; {} open and LIVE", name, joined_by(connection.feed.front(), " "),
                                joined_by(connection.open, " "));
  if (!at.terminals.x_earth.empty() && !at.terminals.joined) {
    connection.name += fmt::format("; one earth, at {}", at.terminals.x_earth);
  } else if (auto const corner = at.low_side_earth(); !corner.empty()) {
    connection.name += fmt::format("; one earth, at {}, source floating", corner.front());
  }
  return connection;
}

void add_no_load(StepBuilder& at, char const* reason) {
  if (!at.needs("ac_source", "no_load") || !at.needs("power_analyzer", "no_load")) return;
  NoLoadWork work;
  work.wiring = at.low_side_wiring();
  work.rated = at.unit.lv.rated;
  work.percents = at.unit.options.no_load_percents;
  work.frequency = at.unit.rated_frequency;
  work.expected = at.exciting_current();
  double const highest = *std::max_element(work.percents.begin(), work.percents.end()) / 100.0;
  double const set = at.lv_volts() * highest;
  PlanStep step;
  step.test = "no_load";
  step.area = AreaKind::locked_area;
  step.connection = low_side_fed(at, set, "Low side fed");
  StepEnergy energy;
  energy.test = "no_load";
  energy.source = SourcePath::ac_source;
  energy.set = volts(set);
  energy.ceiling = volts(set * 1.1);
  energy.highest_ratio = std::max(1.0, step.connection.worst_volts / set);
  // A shorted turn takes several per cent of rated current where a sound core takes a fraction of one.
  double const trip = std::max(10.0 * work.expected.in(amperes), 0.05 * at.lv_current().in(amperes));
  energy.trip_current = amperes(std::min(trip, at.bench.envelope.source_current.in(amperes)));
  energy.longest = seconds(60.0 + 40.0 * static_cast<double>(work.percents.size()));
  energy.failure_is_the_units = true;
  set_connection_code(energy, step.connection);
  step.energy = energy;
  at.within_envelope("no_load", "of the source", "V", set, at.bench.envelope.source.in(volts));
  at.within_envelope("no_load", "of the source", "A", 3.0 * work.expected.in(amperes),
                     at.bench.envelope.source_current.in(amperes));
  at.within_envelope("no_load", "of the source", "kVA",
                     phases_factor(at) * set * 3.0 * work.expected.in(amperes) / 1000.0,
                     at.bench.envelope.source_power.in(kilovolt_amperes));
  step.predicted = seconds(leads_s + round_s + 25.0 * static_cast<double>(work.percents.size()));
  step.reason = reason;
  step.work = std::move(work);
  at.add(std::move(step));
}

void add_load_loss(StepBuilder& at) {
  if (!at.needs("ac_source", "load_loss") || !at.needs("power_analyzer", "load_loss")) return;
  double const rated = at.hv_current().in(amperes);
  // Planning value where the order states none: upper end of the usual range. Sets range and ceiling, never a verdict.
  double const impedance = at.unit.guarantees.impedance_percent.value_or(7.5);
  double const at_rated = at.hv_volts() * impedance / 100.0;
  Envelope const& envelope = at.bench.envelope;
  // Impedance volts may be a tenth above the declared ones before the limit speaks.
  double share = 1.0;
  share = std::min(share, envelope.source_current.in(amperes) / rated);
  share = std::min(share, envelope.source.in(volts) / (1.1 * at_rated));
  share =
      std::min(share, std::sqrt(envelope.source_power.in(volt_amperes) / (phases_factor(at) * 1.1 * at_rated * rated)));
  if (share < 0.5) {
    at.refuse(
        fmt::format("load_loss: needs {:.4g} V and {:.4g} A (at least half of that current), the bench has {:.4g} V, "
                    "{:.4g} A, {:.4g} kVA",
                    at_rated, rated, envelope.source.in(volts), envelope.source_current.in(amperes),
                    envelope.source_power.in(kilovolt_amperes)));
    share = 0.5;
  }
  LoadLossWork work;
  work.wiring = at.high_side_wiring();
  work.tap = at.rated_tap();
  work.rated = amperes(rated);
  work.set = amperes(rated * share);
  work.expected = volts(at_rated * share);
  work.frequency = at.unit.rated_frequency;
  double const heating =
      std::max(heating_k_per_minute(at.unit.hv.metal), heating_k_per_minute(at.unit.lv.metal)) * share * share;
  work.on_time = seconds(0.5 / heating * 60.0);
  work.ceiling = volts(std::min(at_rated * share * 1.25, envelope.source.in(volts)));
  std::vector<std::string> shorted = at.terminals.x_lines;
  work.shorted = joined_by(shorted, "-");
  PlanStep step;
  step.test = "load_loss";
  step.area = AreaKind::locked_area;
  Connection& connection = step.connection;
  connection.instrument = "ac_source";
  connection.feed = {at.terminals.h_lines};
  connection.measure = connection.feed;
  connection.short_bar = {shorted};
  // The series link carries the whole low-side current here: a bar like the short, and deducted like it.
  for (auto& link : at.low_side_series()) connection.short_bar.push_back(std::move(link));
  for (auto const& entry : at.low_side_earth()) connection.earth.push_back(entry);
  if (at.terminals.joined) connection.earth.push_back(at.terminals.h_neutral);
  if (at.terminals.one_bushing) connection.earth.push_back(at.terminals.h_lines[1]);
  connection.accessories = at.accessories(Straps::on);
  connection.tap = work.tap;
  connection.name =
      fmt::format("Load loss: feed {}, short {}{}{}", joined_by(at.terminals.h_lines, at.unit.phases == 1 ? "-" : " "),
                  work.shorted, connection.short_bar.size() > 1 ? ", sections in series by a second bar" : "",
                  at.terminals.one_bushing ? "; return on the tank pad, current transformer in the H1 lead" : "");
  std::vector<LiveTerminal> live;
  for (auto const& entry : at.terminals.h_bushings) {
    if (at.terminals.joined && entry == at.terminals.h_neutral) continue;
    bool const clipped =
        std::find(at.terminals.h_lines.begin(), at.terminals.h_lines.end(), entry) != at.terminals.h_lines.end();
    if (at.terminals.one_bushing && entry == at.terminals.h_lines[1]) continue;
    live.push_back(live_at(entry, work.ceiling.in(volts), clipped));
  }
  finish_connection(connection, std::move(live));
  StepEnergy energy;
  energy.test = "load_loss";
  energy.source = SourcePath::ac_source;
  energy.set = work.ceiling / 1.1;
  energy.ceiling = work.ceiling;
  energy.highest_ratio = 1.0;
  energy.trip_current = amperes(std::min(1.25 * work.set.in(amperes), 1.25 * envelope.source_current.in(amperes)));
  energy.longest = work.on_time + seconds(45);
  set_connection_code(energy, connection);
  step.energy = energy;
  step.predicted = seconds(leads_s + round_s + 10.0) + work.on_time;
  step.reason = fmt::format(
      "after resistance, before the dielectric tests; {:.3g} % of rated current{}; {:.2g} s at that current, predicted "
      "heating at most 0.5 K",
      100.0 * share, share < 1.0 ? ", all that this source gives" : "", work.on_time.in(seconds));
  step.work = std::move(work);
  at.add(std::move(step));
}

}  // namespace benchward::planning
