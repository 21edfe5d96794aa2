// SPDX-License-Identifier: MIT
// Steps at low voltage and with direct current: identity, temperatures, ratio, polarity, phase relation, insulation
// resistance, winding resistance.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/plan/step_builder.hpp"

namespace benchward::planning {

namespace {

constexpr double ratio_volts = 80.0;  ///< as the trade's ratio meters apply at most; the meter's own limit is below
constexpr double ratio_start_volts = 1.0;    ///< practice: size checked here before raising
constexpr double insulation_volts = 1000.0;  ///< low and medium voltage windings; common practice, no source

Voltage ratio_voltage(StepBuilder const& at) { return volts(std::min(ratio_volts, at.hv_volts())); }

/// All ratio leads clipped once: the meter's selector chooses the pair.
Connection ratio_connection(StepBuilder const& at, Straps straps, double hv_volts) {
  Connection connection;
  connection.instrument = "ratio_meter";
  connection.feed = {at.terminals.h_bushings};
  if (at.terminals.one_bushing && at.terminals.h_lines[1] == "tank") connection.feed.front().push_back("tank");
  connection.measure = {at.terminals.x_bushings};
  connection.name = fmt::format("Ratio leads: feed {}, read {}", joined_by(connection.feed.front(), " "),
                                joined_by(connection.measure.front(), " "));
  connection.accessories = at.accessories(straps);
  double const applied = ratio_voltage(at).in(volts);
  // Read volts at most: low over high side, on the pair with the smallest ratio.
  double const read = applied * at.lv_volts() / hv_volts * std::sqrt(3.0);
  std::vector<LiveTerminal> live;
  for (auto const& name : at.terminals.h_bushings) {
    live.push_back(live_at(name, applied, true));
  }
  for (auto const& name : at.terminals.x_bushings) {
    if (!(at.terminals.joined && name == at.terminals.x_neutral))
      live.push_back(live_at(name, std::min(read, applied), true));
  }
  finish_connection(connection, std::move(live));
  return connection;
}

StepEnergy ratio_energy(StepBuilder const& at, char const* test, Connection const& connection, double longest_s) {
  StepEnergy energy;
  energy.test = test;
  energy.source = SourcePath::ratio;
  energy.set = ratio_voltage(at);
  energy.ceiling = energy.set * 1.1;
  energy.highest_ratio = 1.0;
  energy.trip_current = amperes(1.0);
  energy.longest = seconds(longest_s);
  set_connection_code(energy, connection);
  return energy;
}

/// Taps in the order of measuring: the rated one last, so that nothing needs to be set back afterwards.
std::vector<RatioPlanPoint> rated_tap_last(StepBuilder const& at) {
  std::vector<RatioPlanPoint> points = ratio_plan(at.unit);
  auto const rated = at.rated_tap();
  std::stable_partition(points.begin(), points.end(), [&](RatioPlanPoint const& point) { return point.tap != rated; });
  return points;
}

int taps_in(std::vector<RatioPlanPoint> const& points) {
  int count = 0;
  std::optional<int> last;
  for (auto const& point : points) {
    if (count == 0 || point.tap != last) ++count;
    last = point.tap;
  }
  return count;
}

}  // namespace

void add_identity(StepBuilder& at) {
  PlanStep step;
  step.test = "identity";
  step.work = IdentityWork{};
  step.connection.name = "Unit in place, tank earthed";
  step.connection.instrument = "none";
  step.predicted = seconds(15);
  step.reason = "first: plate, size and bushings against the unit document, instruments against the bench document";
  at.add(std::move(step));
}

void add_temperatures(StepBuilder& at) {
  if (!at.needs("thermometer_scanner", "temperatures")) return;
  PlanStep step;
  step.test = "temperatures";
  step.work = TemperaturesWork{};
  step.connection.name = "Temperature sensors in place";
  step.connection.instrument = "none";
  step.predicted = seconds(5);
  step.reason = "before anything that heats: resistance is reduced to the reference temperature from here";
  at.add(std::move(step));
}

void add_ratio_in_other_position(StepBuilder& at) {
  if (!at.unit.hv.dual || !at.needs("ratio_meter", "ratio")) return;
  int const ordered = at.unit.hv.dual->ordered_position, position = ordered == 1 ? 2 : 1;
  auto const unit = in_dual_voltage_position(at.unit, position);
  PlanStep step;
  step.test = "ratio";
  step.area = AreaKind::gate_or_covers;
  step.connection = ratio_connection(at, Straps::off, unit.hv.rated.in(volts));
  for (auto& accessory : step.connection.accessories) {
    bool const is_it = std::any_of(at.unit.switches.begin(), at.unit.switches.end(), [&](Accessory const& entry) {
      return entry.name == accessory.name && entry.shipped_state == std::to_string(ordered);
    });
    if (is_it) accessory.state = std::to_string(position);
  }
  step.connection.tap = at.rated_tap();
  RatioWork work;
  work.points = ratio_plan_on_tap(unit, at.rated_tap());
  work.start = volts(ratio_start_volts);
  work.applied = ratio_voltage(at);
  work.dual_voltage_position = position;
  double const measuring = 3.0 * static_cast<double>(work.points.size());
  step.energy = ratio_energy(at, "ratio", step.connection, 30.0 + measuring);
  step.predicted = seconds(leads_s + round_s + measuring);
  step.reason = fmt::format(
      "the dual-voltage switch in position {} ({:.5g} V), which this order does not ship: the switch moves, and its "
      "other "
      "winding ends are right; losses and dielectric tests are the ordered position's",
      position, unit.hv.rated.in(volts));
  step.work = std::move(work);
  at.add(std::move(step));
}

void add_ratio(StepBuilder& at) {
  if (!at.needs("ratio_meter", "ratio")) return;
  PlanStep step;
  step.test = "ratio";
  step.area = AreaKind::gate_or_covers;
  step.connection = ratio_connection(at, Straps::off, at.hv_volts());
  RatioWork work;
  work.points = rated_tap_last(at);
  work.start = volts(std::min(ratio_start_volts, at.hv_volts()));
  work.applied = ratio_voltage(at);
  int const taps = taps_in(work.points);
  if (!work.points.empty()) step.connection.tap = work.points.front().tap;
  double const measuring = 3.0 * static_cast<double>(work.points.size());
  step.energy = ratio_energy(at, "ratio", step.connection, 30.0 + measuring);
  step.predicted = seconds(leads_s + taps * (round_s + tap_s) + measuring);
  step.reason = fmt::format(
      "before any power: finds wrong turns, wrong tap wiring and exchanged leads at {:.3g} V; feeds the high side "
      "only, "
      "from at most 1 V; {} tap(s), the rated one last",
      work.applied.in(volts), taps);
  step.work = std::move(work);
  at.add(std::move(step));
}

void add_polarity(StepBuilder& at) {
  if (at.unit.phases != 1) {
    at.leave_out("polarity", "three-phase: the phase relation takes its place");
    return;
  }
  if (!at.needs("ratio_meter", "polarity")) return;
  auto const& h = at.terminals.h_lines;
  auto const& x = at.terminals.x_lines;
  bool const additive = at.unit.lead_placement == LeadPlacement::additive;
  for (bool const adjacent : {true, false}) {
    // Like-marked: H1-X1. Adjacent bushings of one side: X1 beside H1 if subtractive, diagonally opposite if additive.
    std::string const tied_x = adjacent && additive ? x[1] : x[0];
    std::string const read_x = adjacent && additive ? x[0] : x[1];
    PolarityWork work;
    work.join = adjacent ? "adjacent" : "like_marked";
    work.tied = h[0] + "-" + tied_x;
    work.feed_from = h[0];
    work.feed_to = h[1];
    work.read_from = h[1];
    work.read_to = read_x;
    work.start = volts(1.0);
    work.applied = ratio_voltage(at);
    work.expected_ratio = at.hv_volts() / at.lv_volts();
    PlanStep step;
    step.test = "polarity";
    step.area = AreaKind::gate_or_covers;
    Connection& connection = step.connection;
    connection.instrument = "ratio_meter";
    connection.feed = {{h[0], h[1]}};
    connection.measure = {{h[1], read_x}};
    connection.tie = {{h[0], tied_x}};
    for (auto const& pair : at.low_side_series()) connection.tie.push_back(pair);
    connection.name = fmt::format("Polarity, {} join: tie {}, feed {}-{}, read {}-{}",
                                  adjacent ? "adjacent" : "like-marked", work.tied, h[0], h[1], h[1], read_x);
    connection.accessories = at.accessories(Straps::off);
    connection.tap = at.rated_tap();
    double const applied = work.applied.in(volts);
    double const sum = applied * (1.0 + 1.0 / work.expected_ratio);
    std::vector<LiveTerminal> live;
    for (auto const& name : at.terminals.h_bushings) live.push_back(live_at(name, applied, true));
    for (auto const& name : at.terminals.x_bushings) {
      live.push_back(live_at(name, sum, name == tied_x || name == read_x));
    }
    finish_connection(connection, std::move(live));
    step.energy = ratio_energy(at, "polarity", connection, 60.0);
    step.energy->highest_ratio = 1.0 + 1.0 / work.expected_ratio;
    step.predicted = seconds(leads_s / 2.0 + round_s + 6.0);
    step.reason = adjacent ? fmt::format(
                                 "adjacent bushings joined: reads {} the applied volts on {} unit; X free of earth, "
                                 "because the tie would close a fault loop",
                                 additive ? "above" : "below", additive ? "an additive" : "a subtractive")
                           : std::string(
                                 "H1-X1 joined: reads below the applied volts on every rightly marked unit, a check of "
                                 "its own; X free of earth");
    step.work = std::move(work);
    at.add(std::move(step));
  }
}

void add_phase_relation(StepBuilder& at) {
  if (at.unit.phases == 1) {
    at.leave_out("phase_relation", "single-phase: polarity takes its place");
    return;
  }
  if (!at.needs("ratio_meter", "phase_relation")) return;
  PlanStep step;
  step.test = "phase_relation";
  step.area = AreaKind::gate_or_covers;
  step.connection = ratio_connection(at, Straps::off, at.hv_volts());
  step.connection.tap = at.rated_tap();
  RatioWork work;
  work.points = ratio_plan_on_tap(at.unit, at.rated_tap());
  work.start = volts(1.0);
  work.applied = ratio_voltage(at);
  double const measuring = 3.0 * static_cast<double>(work.points.size());
  step.energy = ratio_energy(at, "phase_relation", step.connection, 30.0 + measuring);
  step.predicted = seconds(3.0 + measuring);
  bool const shorted = std::any_of(work.points.begin(), work.points.end(),
                                   [](RatioPlanPoint const& point) { return point.shorted.has_value(); });
  bool const tied = std::any_of(work.points.begin(), work.points.end(),
                                [](RatioPlanPoint const& point) { return point.fed_return_tie.has_value(); });
  if (at.terminals.joined) {
    step.reason =
        "joined neutral: a jumper H1-X1 would be a short, so the signs of the single-phase ratios give the relation";
  } else {
    step.reason = fmt::format("{}: which pairs are in phase, on the ratio leads as they are{}{}", at.unit.vector_group,
                              shorted ? "; the selector shorts the coil of the limb that is not fed" : "",
                              tied ? "; two high-side terminals tied by the selector" : "");
  }
  step.work = std::move(work);
  at.add(std::move(step));
}

void add_insulation_resistance(StepBuilder& at) {
  if (!at.unit.options.insulation_resistance) {
    at.leave_out("insulation_resistance",
                 "not ordered; the standards set no limit for it on new liquid-immersed units");
    return;
  }
  if (at.terminals.joined) {
    at.leave_out("insulation_resistance",
                 "the neutrals of both sides are joined: no insulation between them to measure");
    return;
  }
  if (at.bench.in_role("insulation_meter") == nullptr) {
    // Ordered, so it may not be lost: another station's report, which blocks release like every result from elsewhere.
    at.leave_out("insulation_resistance",
                 "this bench has no insulation meter: a result of another station is asked for");
    PlanStep step;
    step.test = "elsewhere";
    ElsewhereWork work;
    work.item = "insulation resistance";
    step.work = std::move(work);
    step.connection.name = "Result of another station: insulation resistance";
    step.connection.instrument = "none";
    step.predicted = seconds(10);
    step.reason = "ordered, and this bench has no insulation meter; blocks release";
    at.add(std::move(step));
    return;
  }
  for (bool const high : {true, false}) {
    bool const on_tank = high ? at.unit.hv_neutral == NeutralKind::on_tank : at.unit.lv_neutral == NeutralKind::on_tank;
    if (on_tank) {
      at.leave_out("insulation_resistance",
                   high ? "high side: one end of the winding is on the tank" : "low side: its neutral is on the tank");
      continue;
    }
    auto const& tested = high ? at.terminals.h_bushings : at.terminals.x_bushings;
    auto const& other = high ? at.terminals.x_bushings : at.terminals.h_bushings;
    PlanStep step;
    step.test = "insulation_resistance";
    step.area = AreaKind::locked_area;
    InsulationWork work;
    work.between = high ? "H to X+tank" : "X to H+tank";
    work.test_voltage = volts(high ? std::min(5.0 * insulation_volts, std::max(insulation_volts, at.hv_volts()))
                                   : std::min(insulation_volts, std::max(500.0, at.lv_volts())));
    Connection& connection = step.connection;
    connection.instrument = "insulation_meter";
    connection.feed = {{tested.front(), "tank"}};
    connection.tie = {tested};
    if (other.size() > 1) connection.tie.push_back(other);
    connection.earth = {other.front()};
    connection.name = fmt::format("Insulation resistance: {}, {} joined, {} joined and earthed, strap off",
                                  work.between, joined_by(tested, "+"), joined_by(other, "+"));
    connection.accessories = at.accessories(Straps::off);
    connection.tap = at.rated_tap();
    std::vector<LiveTerminal> live;
    live.reserve(tested.size());
    for (auto const& name : tested) live.push_back(live_at(name, work.test_voltage.in(volts), name == tested.front()));
    finish_connection(connection, std::move(live));
    StepEnergy energy;
    energy.test = "insulation_resistance";
    energy.source = SourcePath::insulation;
    energy.set = work.test_voltage;
    energy.ceiling = energy.set * 1.1;
    energy.trip_current = milliamperes(20);
    energy.longest = work.hold + seconds(30);
    set_connection_code(energy, connection);
    energy.earthed_terminals = terminal_bits(other);
    step.energy = energy;
    step.predicted = seconds(leads_s + round_s + 4.0) + work.hold * 5.0;
    step.reason = "ordered; gross earth faults before power; discharged for four times as long, because it recharges";
    step.work = std::move(work);
    at.add(std::move(step));
  }
}

void add_winding_resistance(StepBuilder& at) {
  if (!at.needs("resistance_meter", "winding_resistance")) return;
  Connection connection;
  connection.instrument = "resistance_meter";
  std::vector<std::string> leads = at.terminals.h_bushings;
  if (at.terminals.one_bushing && at.terminals.h_lines[1] == "tank") leads.push_back("tank");
  for (auto const& name : at.terminals.x_bushings) {
    if (std::find(leads.begin(), leads.end(), name) == leads.end()) leads.push_back(name);
  }
  connection.feed = {leads};
  connection.measure = {leads};
  connection.name = fmt::format("Resistance leads, current and sense apart: {}", joined_by(leads, " "));
  connection.accessories = at.accessories(Straps::off);
  connection.tap = at.rated_tap();
  // Switching off kicks: half of rated flux in 10 ms, on every terminal of every winding.
  double const kick_per_volt = std::sqrt(2.0) / (2.0 * M_PI * at.rated_hz()) * 0.5 / 0.010;
  std::vector<LiveTerminal> live;
  for (auto const& name : at.terminals.h_bushings) live.push_back(live_at(name, kick_per_volt * at.hv_volts(), true));
  for (auto const& name : at.terminals.x_bushings) {
    if (at.terminals.joined && name == at.terminals.x_neutral) continue;
    live.push_back(live_at(name, kick_per_volt * at.lv_volts(), true));
  }
  finish_connection(connection, std::move(live));

  for (bool const high : {true, false}) {
    Current const rated = high ? at.hv_current() : at.lv_current();
    // 10 % of rated line current: in a closed delta two thirds of it flow in one winding, 11.5 % of that one's rating,
    // below the 15 % of 10 CFR 431 subpart K appendix A 3.3.
    Current const wanted = rated * 0.10;
    Current const largest = at.bench.envelope.direct_current;
    Current const current = wanted < largest ? wanted : largest;
    ResistanceWork work;
    work.tap = at.rated_tap();
    // A current that does not saturate the core leaves its whole inductance in the way, and a closed delta lets its own
    // circulating current go slowly: such units take their time. Both waits end as soon as the readings allow.
    double const exciting_a = rated.in(amperes)*at.unit.guarantees.exciting_current_percent.value_or(1.0) / 100.0;
    bool const slow = current.in(amperes) < 3.0 * exciting_a || rated < amperes(1.0) ||
                      at.unit.core_form == CoreForm::five_limb || at.unit.core_form == CoreForm::three_single_cores;
    work.longest_wait = seconds(!slow ? 300 : at.unit.rated_power.in(kilovolt_amperes) > 2000 ? 5400 : 1800);
    work.least_watch = seconds(slow && !high ? 45 : 0);
    work.longest_decay = seconds(slow ? 600 : 60);
    auto const pair = [&](std::string const& from, std::string const& to) {
      ResistancePair one;
      one.from = lead_of(at.terminals, from);
      one.to = lead_of(at.terminals, to);
      one.high_voltage_side = high;
      one.current = current;
      work.pairs.push_back(std::move(one));
    };
    auto const& lines = high ? at.terminals.h_lines : at.terminals.x_lines;
    std::string const& neutral = high ? at.terminals.h_neutral : at.terminals.x_neutral;
    if (at.unit.phases == 1) {
      if (!high && at.unit.lv_form == LowVoltageForm::series_parallel) {
        pair("X1", "X2");
        pair("X3", "X4");
      } else {
        pair(lines[0], lines[1]);
      }
    } else if (!neutral.empty() && neutral != "tank") {
      for (auto const& line : lines) pair(line, neutral);
    } else {
      pair(lines[0], lines[1]);
      pair(lines[1], lines[2]);
      pair(lines[2], lines[0]);
    }
    PlanStep step;
    step.test = "winding_resistance";
    step.area = AreaKind::gate_or_covers;
    step.connection = connection;
    StepEnergy energy;
    energy.test = "winding_resistance";
    energy.source = SourcePath::resistance;
    energy.stop = StopWay::direct_current;
    energy.set_direct = current;
    double const exciting_percent = at.unit.guarantees.exciting_current_percent.value_or(0.5);
    // I29 of the practice, less a fifth: the transducer that proves it has an error of its own.
    constexpr double proven_share = 0.8;
    double const limit =
        proven_share * std::min({0.01 * current.in(amperes), 0.010, 0.05 * rated.in(amperes)*exciting_percent / 100.0});
    energy.direct_limit = amperes(limit);
    energy.ceiling = volts(100.0);  // the meter's own compliance is below; a terminal's kick is not at its output
    energy.trip_current = current * 1.2;
    energy.longest = work.longest_wait + work.longest_decay + seconds(60);  // settling, readings, decay of the current
    set_connection_code(energy, step.connection);
    step.energy = energy;
    step.predicted = seconds((high ? leads_s : 0.0) + static_cast<double>(work.pairs.size()) * (round_s + 45.0));
    step.reason = fmt::format(
        "while isothermal and before anything that heats; {} side, {} A, at most 15 % of rated; discharged into a "
        "short "
        "before the next pair",
        high ? "high" : "low", fmt::format("{:.3g}", current.in(amperes)));
    step.work = std::move(work);
    at.add(std::move(step));
  }
}

}  // namespace benchward::planning
