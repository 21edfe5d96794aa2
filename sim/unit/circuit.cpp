// SPDX-License-Identifier: MIT
#include "circuit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace benchward::sim {
namespace {

constexpr double open_ohm = 1e13;
/// The phase on which a defect of one phase sits: the middle one of three.
int defect_phase(Unit const& unit) { return unit.phases == 3 ? 1 : 0; }

double rated_percent(Unit const& unit) {
  for (Tap const& tap : unit.hv.taps)
    if (tap.position == unit.hv.rated_tap) return tap.percent;
  return 0.0;
}

double dual_factor(Unit const& unit, CircuitState const& state) {
  if (!unit.hv.dual || state.dual_position == 0) return 1.0;
  auto const volts_at = [&](int position) {
    return (position == 2 ? unit.hv.dual->lower : unit.hv.dual->higher).in(volts);
  };
  return volts_at(state.dual_position) / volts_at(unit.hv.dual->ordered_position == 2 ? 2 : 1);
}

/// Builds one compiled circuit; holds the nodes inside the tank while it does.
class Compiler {
 public:
  Compiler(Unit const& unit, Design const& design, TerminalTable const& terminals, CircuitState const& state)
      : unit_(unit), design_(design), terminals_(terminals), state_(state) {}

  Circuit build() {
    series_devices();
    coils();
    shunt_devices();
    capacitances();
    arcs();
    circuit_.internal_nodes = internal_;
    return std::move(circuit_);
  }

 private:
  int new_node() { return -(++internal_); }

  void series(int terminal, double ohm) {
    int& inner = inside_[static_cast<std::size_t>(terminal)];
    // The bushing has its own small capacitance: behind an open contact it does not follow the winding.
    if (inner == terminal) circuit_.capacitances.push_back({terminal, terminal, Design::bushing_f});
    int const next = new_node();
    circuit_.branches.push_back({inner, next, ohm});
    inner = next;
  }

  void series_devices() {
    inside_.resize(terminals_.names.size() + 1);
    for (std::size_t n = 0; n < inside_.size(); ++n) inside_[n] = static_cast<int>(n);
    using Kind = AccessorySetting::Kind;
    for (AccessorySetting const& a : state_.accessories) {
      if (a.kind != Kind::fuse && a.kind != Kind::switch_ && a.kind != Kind::breaker) continue;
      int const at = terminals_.find(a.terminal);
      bool const hv_side = a.kind != Kind::breaker && (at <= 0 || std::find(terminals_.hv.begin(), terminals_.hv.end(),
                                                                            at) != terminals_.hv.end());
      // Contact or link resistance: a small part of the winding's own.
      double const ohm = hv_side ? 0.002 * design_.hv_ohm_20 : 0.004 * design_.lv_part_ohm_20;
      double const now = a.passes() ? ohm : open_ohm;
      if (at > 0) {
        series(at, now);
      } else {
        auto const& lines = hv_side ? terminals_.hv_line : terminals_.lv_line;
        for (int line : lines)
          if (line > 0) series(line, now);
      }
    }
  }

  int inside(int terminal) const { return terminal <= 0 ? 0 : inside_[static_cast<std::size_t>(terminal)]; }

  int end_node(bool hv, WindingEnd end) {
    int const e = static_cast<int>(end);
    if (e <= 2) {
      int phase = e;
      if (!hv && state_.defects.has(Defect::lead_swap)) {
        // Two leads on each other's bushing: X1 and X3 of three, X1 and the last of two.
        int const last = unit_.phases == 3 ? 2 : 1;
        phase = phase == 0 ? last : (phase == last ? 0 : phase);
      }
      int const node = (hv ? terminals_.hv_line : terminals_.lv_line)[static_cast<std::size_t>(phase)];
      return node < 0 ? star(hv) : inside(node);
    }
    if (end == WindingEnd::neutral) {
      int const node = hv ? terminals_.hv_neutral : terminals_.lv_neutral;
      return node < 0 ? star(hv) : inside(node);
    }
    int const phase = e - 4;
    if (unit_.phases == 1) return terminals_.middle < 0 ? middle(0) : inside(terminals_.middle);
    return middle(phase);
  }

  int star(bool hv) {
    int& node = hv ? hv_star_ : lv_star_;
    if (node == 0) node = new_node();
    return node;
  }
  int middle(int phase) {
    int& node = middles_[static_cast<std::size_t>(phase)];
    if (node == 0) node = new_node();
    return node;
  }

  void coils() {
    Defects const& defects = state_.defects;
    bool const halves = unit_.phases == 1 && design_.parts == 2;
    int const bad = defect_phase(unit_);
    double const leak = leakage_factor();
    for (CoilPlace const& place : place_coils(design_.group, halves)) {
      CircuitCoil coil;
      coil.limb = place.limb;
      coil.hv = place.hv;
      coil.phase = place.phase;
      coil.part = place.part;
      coil.start = end_node(place.hv, place.start);
      coil.end = end_node(place.hv, place.end);
      double sense = place.sense;
      if (!place.hv && defects.has(Defect::wrong_vector_group)) sense = -sense;
      std::size_t const phase = static_cast<std::size_t>(place.phase);
      if (place.hv) {
        double const turns = hv_turns_now(unit_, design_, state_, place.phase);
        double const ratio = turns / design_.hv_turns;
        double const dual = dual_factor(unit_, state_);
        bool const sections = unit_.hv.dual && std::abs(unit_.hv.dual->higher / unit_.hv.dual->lower - 2.0) < 0.01;
        coil.turns = sense * turns;
        coil.metal = design_.hv_metal;
        coil.ohm_20 = design_.hv_ohm_20 * design_.hv_ohm_spread[phase] * ratio * (sections ? dual : 1.0);
        if (defects.has(Defect::wrong_conductor)) coil.ohm_20 *= 1.0 + defects.value(Defect::wrong_conductor) / 100.0;
        coil.leakage_h = design_.hv_leakage_h * ratio * ratio * leak;
        coil.stray_weight = ratio * ratio * (1.0 + defects.value(Defect::stray_high) / 100.0);
        if (place.phase == bad) {
          coil.turns += sense * defects.value(Defect::hv_turns_error);
          coil.ohm_20 *= 1.0 + defects.value(Defect::hv_turns_error) / turns;
          if (defects.has(Defect::poor_joint))
            coil.ohm_20 *= 1.0 + defects.value(Defect::poor_joint) / 100.0 * state_.joint_wander;
          if (defects.has(Defect::open_winding)) coil.ohm_20 = open_ohm;
        }
      } else {
        double turns = design_.lv_part_turns;
        bool const bad_coil = place.phase == bad && place.part == design_.parts - 1;
        if (bad_coil) turns += defects.value(Defect::lv_turns_error);
        if (halves) turns += (place.part == 0 ? 1.0 : -1.0) * defects.value(Defect::center_tap_off);
        if (bad_coil && defects.has(Defect::reversed_coil)) sense = -sense;
        coil.turns = sense * turns;
        coil.metal = design_.lv_metal;
        double const ratio = turns / design_.lv_part_turns;
        coil.ohm_20 = design_.lv_part_ohm_20 * design_.lv_ohm_spread[phase] * ratio;
        coil.leakage_h = design_.lv_part_leakage_h * ratio * ratio * leak;
      }
      place_coil(coil, place);
    }
    if (defects.has(Defect::shorted_turn) || state_.arc[static_cast<std::size_t>(Insulation::hv_turn)] ||
        state_.arc[static_cast<std::size_t>(Insulation::lv_turn)])
      shorted_turn(bad);
  }

  /// A coil between its ends; the tapped leg of a delta and the sections of a series-parallel winding get their middle.
  void place_coil(CircuitCoil coil, CoilPlace const& place) {
    if (unit_.lv_form == LowVoltageForm::series_parallel && !place.hv && terminals_.section_end > 0) {
      // X1-X2 and X3-X4: two sections that nothing joins inside.
      if (place.part == 0) coil.end = inside(terminals_.section_end);
      if (place.part == 1) coil.start = inside(terminals_.section_start);
    }
    bool const leg_between_1_and_3 = (place.start == WindingEnd::line_1 && place.end == WindingEnd::line_3) ||
                                     (place.start == WindingEnd::line_3 && place.end == WindingEnd::line_1);
    if (unit_.lv_form == LowVoltageForm::mid_tapped_leg && !place.hv && terminals_.middle > 0 && leg_between_1_and_3) {
      CircuitCoil first = coil, second = coil;
      double const off = coil.turns < 0.0 ? -state_.defects.value(Defect::center_tap_off)
                                          : state_.defects.value(Defect::center_tap_off);
      first.turns = coil.turns / 2.0 + off;
      second.turns = coil.turns / 2.0 - off;
      first.ohm_20 = second.ohm_20 = coil.ohm_20 / 2.0;
      first.leakage_h = second.leakage_h = coil.leakage_h / 2.0;
      first.end = second.start = inside(terminals_.middle);
      second.part = 1;
      circuit_.coils.push_back(first);
      circuit_.coils.push_back(second);
      return;
    }
    circuit_.coils.push_back(coil);
  }

  double leakage_factor() const {
    if (!state_.defects.has(Defect::leakage_gap)) return 1.0;
    double const z = design_.impedance_percent * (1.0 + state_.defects.value(Defect::leakage_gap) / 100.0);
    double const r = design_.load_loss_w / (10.0 * design_.kva);
    double const x = std::sqrt(design_.impedance_percent * design_.impedance_percent - r * r);
    return std::sqrt(std::max(0.01 * x * x, z * z - r * r)) / x;
  }

  void shorted_turn(int phase) {
    CircuitCoil turn;
    for (CircuitCoil const& c : circuit_.coils)
      if (c.hv && c.phase == phase) turn.limb = c.limb;
    bool const lv_arc = state_.arc[static_cast<std::size_t>(Insulation::lv_turn)];
    double const count = state_.defects.has(Defect::shorted_turn) ? state_.defects.value(Defect::shorted_turn) : 1.0;
    turn.turns = count;
    turn.winding = false;
    turn.hv = !lv_arc;
    turn.phase = phase;
    turn.metal = lv_arc ? design_.lv_metal : design_.hv_metal;
    turn.ohm_20 =
        lv_arc ? design_.lv_part_ohm_20 / design_.lv_part_turns : count * design_.hv_ohm_20 / design_.hv_turns;
    // One turn against all the rest leaks far more than its share of the coil's: a narrow ring in a wide window.
    double const leak_of_turn = design_.hv_leakage_h / (static_cast<double>(design_.hv_turns) * design_.hv_turns);
    turn.leakage_h = 60.0 * count * count * leak_of_turn;
    circuit_.coils.push_back(turn);
  }

  void shunt_devices() {
    for (std::size_t k = 0; k < state_.accessories.size(); ++k) {
      AccessorySetting const& a = state_.accessories[k];
      int const at = terminals_.find(a.terminal);
      if (at <= 0) continue;
      if (a.kind == AccessorySetting::Kind::strap && a.passes()) circuit_.branches.push_back({at, 0, 2e-4});
      if (a.kind == AccessorySetting::Kind::arrester && a.passes() && k < state_.arrester_conducts.size() &&
          state_.arrester_conducts[k])
        circuit_.branches.push_back({at, 0, 0.2 * design_.hv_coil_volts / design_.hv_coil_amperes});
    }
  }

  /// Charge of a coil with volts that run linearly from end to end: [1/3 1/6; 1/6 1/3] of its capacitance.
  void spread_capacitance(int a, int b, int c, int d, double farad) {
    // (va..vb) against (vc..vd); with c = d = 0 against earth.
    double const own = farad / 3.0, other = farad / 6.0;
    int const nodes[4] = {a, b, c, d};
    double const sign[4] = {1.0, 1.0, -1.0, -1.0};
    for (int i = 0; i < 4; ++i)
      for (int k = 0; k < 4; ++k) {
        if (nodes[i] == 0 || nodes[k] == 0) continue;
        double const m = (i % 2 == k % 2) ? own : other;
        circuit_.capacitances.push_back({nodes[i], nodes[k], sign[i] * sign[k] * m});
      }
  }

  void capacitances() {
    double const phases = design_.phases;
    std::size_t const count = circuit_.coils.size();
    std::vector<CircuitCoil> const coils_now(circuit_.coils.begin(), circuit_.coils.begin() + static_cast<long>(count));
    for (CircuitCoil const& c : coils_now) {
      if (!c.winding) continue;
      if (c.hv) {
        spread_capacitance(c.start, c.end, 0, 0, design_.capacitance_hv_earth_f / phases);
        double lv_coils = 0.0;
        for (CircuitCoil const& x : coils_now) lv_coils += x.winding && !x.hv && x.limb == c.limb ? 1.0 : 0.0;
        for (CircuitCoil const& x : coils_now)
          if (x.winding && !x.hv && x.limb == c.limb)
            spread_capacitance(c.start, c.end, x.start, x.end, design_.capacitance_hv_lv_f / phases / lv_coils);
      } else {
        double lv_coils = 0.0;
        for (CircuitCoil const& x : coils_now) lv_coils += x.winding && !x.hv ? 1.0 : 0.0;
        spread_capacitance(c.start, c.end, 0, 0, design_.capacitance_lv_earth_f / lv_coils);
      }
    }
  }

  void arcs() {
    int const hv = first_inner(true), lv = first_inner(false);
    double const arc_ohm = 300.0;
    auto const burns = [&](Insulation where) { return state_.arc[static_cast<std::size_t>(where)]; };
    if (burns(Insulation::hv_to_earth)) circuit_.branches.push_back({hv, 0, arc_ohm});
    if (burns(Insulation::lv_to_earth)) circuit_.branches.push_back({lv, 0, arc_ohm});
    if (burns(Insulation::hv_to_lv)) circuit_.branches.push_back({hv, lv, arc_ohm});
  }
  int first_inner(bool hv) const {
    for (CircuitCoil const& c : circuit_.coils)
      if (c.winding && c.hv == hv) return c.start;
    return 0;
  }

  Unit const& unit_;
  Design const& design_;
  TerminalTable const& terminals_;
  CircuitState const& state_;
  Circuit circuit_;
  std::vector<int> inside_;
  int internal_ = 0, hv_star_ = 0, lv_star_ = 0;
  std::array<int, 3> middles_{};
};

}  // namespace

double hv_turns_now(Unit const& unit, Design const& design, CircuitState const& state, int phase) {
  double percent = rated_percent(unit);
  double const base = 1.0 + percent / 100.0;
  if (state.tap_percent_index >= 0) {
    int index = state.tap_percent_index;
    if (state.defects.has(Defect::tap_step_wrong) && phase == defect_phase(unit)) {
      // Two neighbouring taps are on each other's contact.
      int const position = static_cast<int>(std::lround(state.defects.value(Defect::tap_step_wrong)));
      int const last = static_cast<int>(unit.hv.taps.size()) - 1;
      for (int k = 0; k <= last; ++k)
        if (unit.hv.taps[static_cast<std::size_t>(k)].position == position) {
          int const neighbour = k < last ? k + 1 : k - 1;
          if (index == k)
            index = neighbour;
          else if (index == neighbour)
            index = k;
          break;
        }
    }
    percent = unit.hv.taps[static_cast<std::size_t>(index)].percent;
  }
  return std::round(design.hv_turns * dual_factor(unit, state) * (1.0 + percent / 100.0) / base);
}

Circuit compile(Unit const& unit, Design const& design, TerminalTable const& terminals, CircuitState const& state) {
  return Compiler(unit, design, terminals, state).build();
}

}  // namespace benchward::sim
