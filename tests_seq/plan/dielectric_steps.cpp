// SPDX-License-Identifier: MIT
// Dielectric steps: applied voltage per winding, induced voltage.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "limits/correct/dielectric.hpp"
#include "limits/correct/input_error.hpp"
#include "tests_seq/plan/step_builder.hpp"

namespace benchward::planning {

namespace {

/// Of the exciting kVA: from here on a free limb is not left to chance.
constexpr double highest_free_share = 0.25;

/// Zigzag fed, no delta, and a core with a way for what the three limbs have in common: the volts that are fed say
/// nothing of it, so no limb's volts are held. Where the high winding's capacitance comes near to balancing the
/// exciting current at the test frequency, one limb can jump far above the others (found on the simulated bench: 107 kV
/// where 70 kV were meant; ferroresonance in general: common practice, no source).
bool limbs_are_free(StepBuilder const& at) {
  auto const& group = at.terminals.group;
  return group.lv == WindingForm::zigzag && group.hv == WindingForm::wye && at.unit.core_form != CoreForm::three_limb;
}

/// Why a winding cannot be lifted to a level; empty: it can.
std::string why_not_applied(StepBuilder const& at, bool high) {
  if (at.terminals.joined)
    return "the neutrals of both sides are joined: neither winding can be lifted against the other";
  NeutralKind const neutral = high ? at.unit.hv_neutral : at.unit.lv_neutral;
  if (neutral == NeutralKind::on_tank) {
    return high ? "one end of the high-voltage winding is on the tank: the induced test to earth takes its place"
                : "the low-voltage neutral is on the tank: it cannot be lifted";
  }
  if (high && neutral == NeutralKind::own_bushing &&
      (!at.unit.neutral_insulation_kv || *at.unit.neutral_insulation_kv < at.unit.hv.applied_kv.value_or(0.0))) {
    return "the high-voltage neutral is not insulated for the level";
  }
  auto const& winding = high ? at.unit.hv : at.unit.lv;
  if (!winding.applied_kv) {
    return high ? "the order sets no applied level for the high-voltage winding"
                : "the order sets no applied level for the low-voltage winding";
  }
  return "";
}

void add_applied_side(StepBuilder& at, bool high) {
  if (auto const why = why_not_applied(at, high); !why.empty()) {
    at.leave_out("applied", (high ? "high side: " : "low side: ") + why);
    return;
  }
  if (!at.needs("dielectric_tester", "applied")) return;
  auto const& winding = high ? at.unit.hv : at.unit.lv;
  auto const* line = at.sheet.line("applied", "level_kv", high ? "hv" : "lv");
  double const level_kv = line && line->nominal ? *line->nominal : *winding.applied_kv;
  double const hz = at.rated_hz();
  AppliedWork work;
  work.winding = high ? "hv" : "lv";
  work.level = kilovolts(level_kv);
  work.frequency = hertz(hz);
  Envelope const& envelope = at.bench.envelope;
  if (at.bench.dielectric_stray_current_per_kv) {
    work.stray = *at.bench.dielectric_stray_current_per_kv * level_kv;
  }
  double total = work.stray ? work.stray->in(amperes) : 0.0;
  if (winding.capacitance_to_earth) {
    work.expected = capacitive_current(work.level, work.frequency, *winding.capacitance_to_earth);
    total += work.expected->in(amperes);
    at.within_envelope("applied", "of the dielectric set", "A", 1.5 * total, envelope.dielectric_current.in(amperes));
    // The hold current may lie at 1.5 times the expected one and still be judged: the relay stands above that.
    work.trip = amperes(std::min(2.0 * total, 1.5 * envelope.dielectric_current.in(amperes)));
  } else {
    work.trip = envelope.dielectric_current;
  }
  at.within_envelope("applied", "of the dielectric set", "kV", level_kv, envelope.dielectric.in(kilovolts));

  auto const& tested = high ? at.terminals.h_bushings : at.terminals.x_bushings;
  auto const& other = high ? at.terminals.x_bushings : at.terminals.h_bushings;
  PlanStep step;
  step.test = "applied";
  step.area = AreaKind::locked_area;
  Connection& connection = step.connection;
  connection.instrument = "dielectric_tester";
  connection.feed = {{tested.front()}};
  connection.tie = {tested};
  if (other.size() > 1) connection.tie.push_back(other);
  connection.earth = {other.front()};
  if (!high && at.terminals.one_bushing) connection.earth = {"H1"};
  connection.accessories = at.accessories(Straps::off);
  connection.tap = at.rated_tap();
  connection.name =
      fmt::format("Applied voltage on the {} side: {} joined to the set, {} joined and earthed{}",
                  high ? "high" : "low", joined_by(tested, "+"), joined_by(other, "+"), high ? "" : ", strap OFF");
  std::vector<LiveTerminal> live;
  live.reserve(tested.size());
  for (auto const& entry : tested) live.push_back(live_at(entry, work.level.in(volts), entry == tested.front()));
  finish_connection(connection, std::move(live));
  StepEnergy energy;
  energy.test = "applied";
  energy.source = SourcePath::dielectric;
  energy.stop = StopWay::dielectric;
  energy.set = work.level;
  energy.ceiling = work.level * 1.05;
  energy.highest_ratio = 1.0;
  energy.trip_current = work.trip;
  energy.longest = work.hold + seconds(60);
  energy.failure_is_the_units = true;
  set_connection_code(energy, connection);
  energy.earthed_terminals = terminal_bits(other);
  step.energy = energy;
  step.predicted = seconds(leads_s + round_s + 15.0) + work.hold;
  step.reason = fmt::format(
      "{:.3g} kV for {:.3g} s at {:.3g} Hz, {}; before the induced test", level_kv, work.hold.in(seconds), hz,
      work.expected ? fmt::format("expected {:.3g} mA ({:.2g} kVA)", 1000.0 * total, total * level_kv)
                    : std::string("no design capacitance: the operator confirms the current"));
  step.work = std::move(work);
  at.add(std::move(step));
}

/// A test frequency that keeps the flux a tenth below rated where the bench can, from the lowest that will do.
double test_frequency(double lowest, double highest_of_bench) {
  for (double const candidate : {100.0, 120.0, 150.0, 180.0, 200.0, 240.0, 300.0, 360.0, 400.0}) {
    if (candidate >= 1.1 * lowest && candidate <= highest_of_bench) return candidate;
  }
  return std::max(lowest, highest_of_bench);
}

}  // namespace

void add_applied(StepBuilder& at) {
  add_applied_side(at, false);
  add_applied_side(at, true);
}

void add_induced(StepBuilder& at) {
  if (!at.needs("ac_source", "induced") || !at.needs("power_analyzer", "induced")) return;
  auto const* level = at.sheet.line("induced", "level_v");
  if (level == nullptr || !level->nominal) {
    at.refuse("induced: the limit sheet has no level for it: complete the limit set");
    return;
  }
  InducedWork work;
  work.wiring = at.low_side_wiring();
  double const set = *level->nominal;
  work.level = volts(set);
  bool const to_ground =
      at.unit.standard == StandardFamily::ieee && (at.unit.hv_neutral == NeutralKind::on_tank || at.terminals.joined);
  work.case_name = to_ground ? "line_to_ground" : "twice_rated";
  double const lowest = at.rated_hz() * set / at.lv_volts();
  Envelope const& envelope = at.bench.envelope;
  double const hz = test_frequency(lowest, envelope.highest.in(hertz));
  at.within_envelope("induced", "of the source", "Hz", lowest, envelope.highest.in(hertz));
  at.within_envelope("induced", "of the source", "V", set, envelope.source.in(volts));
  work.frequency = hertz(hz);
  auto const* duration = at.sheet.line("induced", "duration_s");
  if (duration != nullptr) {
    Limit const limit = duration->limit_at(hz);
    work.hold = seconds(limit.lower.value_or(60.0));
  } else {
    work.hold = seconds(60.0);
  }
  work.expected = at.exciting_current() * (set / at.lv_volts());
  double trip = std::max(10.0 * work.expected.in(amperes), 0.1 * at.lv_current().in(amperes));
  // Raised frequency: the winding's capacitance to earth, its volts rising evenly from the earthed end, loads the
  // source.
  if (at.unit.hv.capacitance_to_earth) {
    double const high = set * at.hv_volts() / at.lv_volts() / (at.unit.phases == 3 ? std::sqrt(3.0) : 1.0);
    double const reactive = 2.0 * M_PI * hz * at.unit.hv.capacitance_to_earth->in(farads)*high * high / 3.0;
    at.within_envelope("induced", "capacitive, of the source", "kVA", reactive / 1000.0,
                       envelope.source_power.in(kilovolt_amperes));
    double const line = reactive / (set * (at.unit.phases == 3 ? std::sqrt(3.0) : 1.0));
    trip = std::max(trip, 3.0 * line);
    double const exciting = std::sqrt(3.0) * at.lv_volts() *
                            at.exciting_current().in(amperes)*std::pow(set / at.lv_volts(), 2) * at.rated_hz() / hz;
    if (to_ground && limbs_are_free(at) && reactive > highest_free_share * exciting) {
      at.refuse(fmt::format(
          "induced: zigzag fed, no delta, and a core whose limbs have a flux in common: nothing holds the volts of one "
          "limb, and at {:.0f} Hz the high winding's capacitance takes {:.0f} % of the exciting kVA: a limb can rise "
          "far above {:.4g} V to earth. Ask the designer how this unit is tested",
          hz, 100.0 * reactive / exciting, high));
    }
  }
  work.trip = amperes(std::min(trip, envelope.source_current.in(amperes)));
  PlanStep step;
  step.test = "induced";
  step.area = AreaKind::locked_area;
  step.connection = low_side_fed(at, set, "Low side fed");
  StepEnergy energy;
  energy.test = "induced";
  energy.source = SourcePath::ac_source;
  energy.stop = StopWay::dielectric;
  energy.set = volts(set);
  energy.ceiling = volts(set * 1.05);
  energy.highest_ratio = std::max(1.0, step.connection.worst_volts / set);
  energy.trip_current = work.trip;
  energy.longest = work.hold + seconds(60);
  energy.failure_is_the_units = true;
  set_connection_code(energy, step.connection);
  step.energy = energy;
  step.predicted = seconds(round_s + 15.0) + work.hold;
  step.reason =
      fmt::format("{}: {:.4g} V on the fed winding, {:.3g} Hz (at least {:.4g} Hz keeps the flux at rated), {:.3g} s",
                  to_ground ? "line to ground, the only insulation test to earth here" : "twice rated volts", set, hz,
                  lowest, work.hold.in(seconds));
  step.work = std::move(work);
  at.add(std::move(step));
}

}  // namespace benchward::planning
