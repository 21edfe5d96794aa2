// SPDX-License-Identifier: MIT
#include "internals.hpp"

#include <algorithm>
#include <cmath>

namespace benchward::sim {
namespace {

/// Resistances are worked out again when a winding has moved by this much: 2e-5 of its ohms.
constexpr double temperature_grain_k = 0.005;

AccessorySetting setting(AccessorySetting::Kind kind, Accessory const& a, std::string const& usual) {
  return {kind, a.name, a.terminal, a.shipped_state.empty() ? usual : a.shipped_state};
}

std::size_t at(Insulation where) { return static_cast<std::size_t>(where); }

}  // namespace

UnitModel::Internals::Internals(Unit const& unit_data, Manufacture const& manufacture)
    : unit(unit_data),
      design(solve_design(unit_data, manufacture)),
      terminals(make_terminals(unit_data, design.group)),
      chance(manufacture.seed * 0x9E3779B97F4A7C15ull + 77) {
  using Kind = AccessorySetting::Kind;
  for (Accessory const& a : unit.straps) state.accessories.push_back(setting(Kind::strap, a, "on"));
  for (Accessory const& a : unit.arresters) state.accessories.push_back(setting(Kind::arrester, a, "on"));
  for (Accessory const& a : unit.fuses) state.accessories.push_back(setting(Kind::fuse, a, "fitted"));
  for (Accessory const& a : unit.switches) state.accessories.push_back(setting(Kind::switch_, a, "closed"));
  if (unit.breaker) {
    AccessorySetting breaker = setting(Kind::breaker, *unit.breaker, "closed");
    if (breaker.name.empty()) breaker.name = "breaker";
    state.accessories.push_back(breaker);
  }
  state.arrester_conducts.assign(state.accessories.size(), false);
  for (std::size_t k = 0; k < unit.hv.taps.size(); ++k)
    if (unit.hv.taps[k].position == unit.hv.rated_tap) state.tap_percent_index = static_cast<int>(k);
  if (!unit.hv.taps.empty() && state.tap_percent_index < 0)
    throw UnsolvableUnit("the rated tap is not among the tap positions");
  if (unit.hv.dual) state.dual_position = unit.hv.dual->ordered_position == 2 ? 2 : 1;

  direct.hv.set(design.capacitance_hv_earth_f, 40.0);
  direct.lv.set(design.capacitance_lv_earth_f, 40.0);
  direct.between.set(design.capacitance_hv_lv_f, 40.0);
  // Healthy insulation stands 2.6 times its test level for a minute with 63 % chance of failing: a test breaks it once
  // in some four million.
  auto const strength = [&](double level) { return 2.6 * level * chance.spread(1.0, 0.03); };
  stressed[at(Insulation::hv_to_earth)].set(strength(design.hv_test_volts), chance);
  stressed[at(Insulation::lv_to_earth)].set(strength(design.lv_test_volts), chance);
  stressed[at(Insulation::hv_to_lv)].set(strength(design.hv_test_volts), chance);
  double const line_to_earth = design.hv_coil_volts;
  double const induced = design.hv_graded ? std::max(2.0, design.hv_test_volts / line_to_earth) : 2.0;
  stressed[at(Insulation::hv_turn)].set(strength(induced), chance);
  stressed[at(Insulation::lv_turn)].set(1.2 * strength(induced), chance);
  apply_defects();
  ready();
}

void UnitModel::Internals::apply_defects() {
  Defects const& d = state.defects;
  auto const old = core;
  core = design.core;
  for (std::size_t l = 0; l < 3; ++l) {
    double const strength = core[l].bank.strength();
    core[l].bank = old[l].bank;
    core[l].bank.set_strength(strength);
    double const magnetising = core[l].curve.m * (1.0 + core[l].curve.bend);
    core[l].curve.gap = magnetising * d.value(Defect::core_gap) / 100.0;
    // A loop through two earths is eddy current: its loss goes with the volts squared.
    if (d.has(Defect::core_double_earth)) {
      double const both = core[l].loss.eddy_siemens * 2.0;
      core[l].loss.eddy_siemens += both * d.value(Defect::core_double_earth) / 100.0;
    }
  }
  core_loss_factor = 1.0 + d.value(Defect::core_burrs) / 100.0;
  set_leakage();
  double const soaked = d.has(Defect::moisture) ? 0.85 : 1.0;
  auto const weak = [&](Defect defect) { return d.has(defect) ? d.value(defect) / 2.6 : 1.0; };
  stressed[at(Insulation::hv_to_earth)].scale(soaked * weak(Defect::weak_insulation_hv));
  stressed[at(Insulation::lv_to_earth)].scale(soaked * weak(Defect::weak_insulation_lv));
  stressed[at(Insulation::hv_to_lv)].scale(soaked * weak(Defect::weak_insulation_hv_lv));
  stressed[at(Insulation::hv_turn)].scale(soaked * weak(Defect::weak_insulation_turn));
  stressed[at(Insulation::lv_turn)].scale(soaked);
  changed();
}

void UnitModel::Internals::set_leakage() {
  Defects const& d = state.defects;
  double const wet = d.has(Defect::moisture) ? 1.0 / d.value(Defect::moisture) : 1.0;
  // Leakage halves each 10 K.
  double const warmth = std::pow(2.0, -(thermal.now.oil_top_c - 20.0) / 10.0);
  for (AbsorbingLeg* leg : {&direct.hv, &direct.lv, &direct.between})
    leg->set_leakage(40.0 / leg->farad() * wet * warmth);
}

void UnitModel::Internals::ready() {
  Temperatures const& t = thermal.now;
  bool const warmer = std::abs(t.hv_c - compiled_hv_c_) > temperature_grain_k ||
                      std::abs(t.lv_c - compiled_lv_c_) > temperature_grain_k;
  bool const core_warmer = std::abs(t.core_c - compiled_core_c_) > 0.05;
  if (dirty_) circuit = compile(unit, design, terminals, state);
  if (dirty_ || warmer) {
    compiled_hv_c_ = t.hv_c;
    compiled_lv_c_ = t.lv_c;
    ++revision;
  }
  if (core_warmer) compiled_core_c_ = t.core_c;
  dirty_ = false;
}

UnitCondition UnitModel::Internals::condition() const {
  UnitCondition c;
  c.hv_c = compiled_hv_c_;
  c.lv_c = compiled_lv_c_;
  c.core_loss_factor = core_loss_factor * core_temperature_factor(compiled_core_c_);
  c.loss_tangent = state.defects.has(Defect::moisture) ? 0.02 : 0.003;
  for (std::size_t l = 0; l < 3; ++l) c.flux_offset[l] = core[l].bank.at();
  c.revision = revision;
  return c;
}

void UnitModel::Internals::advance_core(double seconds) {
  if (!ac.excited()) return;
  double const turns = design.lv_part_turns;
  double const ohm =
      design.lv_part_ohm_20 * resistance_factor(design.lv_metal, thermal.now.lv_c) / (turns * turns * design.parts);
  for (std::size_t l = 0; l < static_cast<std::size_t>(design.limbs); ++l) {
    HysteresisBank& bank = core[l].bank;
    double const standing = bank.at(), swing = ac.response()[l].peak;
    bank.move_to(standing + swing);
    double const high = core[l].curve.mmf(standing + swing) + bank.force(standing + swing);
    bank.move_to(standing - swing);
    double const low = core[l].curve.mmf(standing - swing) + bank.force(standing - swing);
    // Standing flux decays as its mean ampere-turns drive direct current through the winding, and, more slowly, as the
    // steel accommodates to the swing (1.2 a second at rated flux, common practice: seconds at rated volts suffice).
    double const slope = 0.5 * (core[l].curve.slope(standing + swing) + core[l].curve.slope(standing - swing));
    double const rate = ohm * seconds / design.flux_peak_wb;
    double const pulled = standing - 0.5 * (high + low) * rate / (1.0 + rate * slope);
    double const next = pulled * std::exp(-1.2 * std::min(1.0, swing * swing) * seconds);
    bank.move_to(std::abs(next) < 1e-9 ? 0.0 : next);
  }
}

void UnitModel::Internals::relax(int limb) {
  CoreLimb& c = core[static_cast<std::size_t>(limb)];
  double const start = c.bank.at();
  auto const force = [&](double x) { return c.curve.mmf(x) + c.bank.force(x); };
  double const here = force(start);
  if (here == 0.0) return;
  // Force rises with flux: the place of no force lies on the other side of zero current.
  double low = here > 0.0 ? start - 3.0 : start, high = here > 0.0 ? start : start + 3.0;
  for (int round = 0; round < 60; ++round) {
    double const middle = 0.5 * (low + high);
    (force(middle) < 0.0 ? low : high) = middle;
  }
  c.bank.move_to(0.5 * (low + high));
}

void UnitModel::Internals::magnetise(int limb, double remanent) {
  CoreLimb& c = core[static_cast<std::size_t>(limb)];
  double const sign = remanent < 0.0 ? -1.0 : 1.0;
  double low = 0.0, high = 2.0;
  for (int round = 0; round < 50; ++round) {
    double const crest = 0.5 * (low + high);
    c.bank.reset(0.0);
    c.bank.move_to(sign * crest);
    relax(limb);
    (sign * c.bank.at() < std::abs(remanent) ? low : high) = crest;
  }
}

void UnitModel::Internals::heat(double seconds) {
  double hv = 0.0, lv = 0.0, loss = 0.0;
  int hv_coils = 0, lv_coils = 0;
  for (std::size_t k = 0; k < circuit.coils.size(); ++k) {
    CircuitCoil const& c = circuit.coils[k];
    double amperes = 0.0;
    if (last == Last::alternating && k < ac.coil_current().size()) amperes = ac.coil_current()[k].rms();
    if (last == Last::direct && k < dc.coil_current().size()) amperes = std::abs(dc.coil_current()[k]);
    double const ohm = c.ohm_20 * resistance_factor(c.metal, c.hv ? thermal.now.hv_c : thermal.now.lv_c);
    loss += amperes * amperes * ohm;
    if (!c.winding) continue;
    double const rated = c.hv ? design.hv_coil_amperes : design.lv_part_amperes;
    (c.hv ? hv : lv) += amperes * amperes / (rated * rated);
    ++(c.hv ? hv_coils : lv_coils);
  }
  if (last == Last::alternating)
    for (std::size_t l = 0; l < static_cast<std::size_t>(design.limbs); ++l) {
      double const x = ac.response()[l].peak;
      loss += design.no_load_loss_w / design.limbs * x * x;
    }
  thermal.advance(design, hv_coils ? hv / hv_coils : 0.0, lv_coils ? lv / lv_coils : 0.0, loss, seconds);
  if (state.defects.has(Defect::poor_joint)) {
    joint_clock_ += seconds;
    if (joint_clock_ > 2.0) {
      joint_clock_ = 0.0;
      state.joint_wander = std::clamp(state.joint_wander + 0.03 * chance.normal(), 0.85, 1.15);
      changed();
    }
  }
}

void UnitModel::Internals::stress(std::array<double, 5> const& volts, double seconds) {
  for (std::size_t k = 0; k < stressed.size(); ++k) {
    if (stressed[k].stress(volts[k], seconds, chance)) {
      state.arc[k] = true;
      changed();
    } else if (stressed[k].arcing) {
      // An arc burns until the volts are nearly gone.
      double const level = k == at(Insulation::lv_to_earth) ? design.lv_test_volts
                           : k >= at(Insulation::hv_turn)   ? 2.0
                                                            : design.hv_test_volts;
      if (volts[k] < 0.003 * level) {
        stressed[k].arcing = false;
        state.arc[k] = false;
        changed();
      }
    }
  }
}

void UnitModel::Internals::stress_by_ac(double seconds) {
  AcSolution const& s = ac.solution();
  std::array<double, 5> volts{};
  for (int n : terminals.hv)
    volts[at(Insulation::hv_to_earth)] =
        std::max(volts[at(Insulation::hv_to_earth)], s.node[static_cast<std::size_t>(n)].rms());
  for (int n : terminals.lv)
    volts[at(Insulation::lv_to_earth)] =
        std::max(volts[at(Insulation::lv_to_earth)], s.node[static_cast<std::size_t>(n)].rms());
  for (int h : terminals.hv)
    for (int x : terminals.lv)
      volts[at(Insulation::hv_to_lv)] = std::max(
          volts[at(Insulation::hv_to_lv)],
          std::abs(s.node[static_cast<std::size_t>(h)].phasor[0] - s.node[static_cast<std::size_t>(x)].phasor[0]));
  for (std::size_t l = 0; l < static_cast<std::size_t>(design.limbs); ++l) {
    double const times_rated = s.limb_volts_per_turn[l].rms() / design.volts_per_turn;
    volts[at(Insulation::hv_turn)] = std::max(volts[at(Insulation::hv_turn)], times_rated);
    volts[at(Insulation::lv_turn)] = std::max(volts[at(Insulation::lv_turn)], times_rated);
  }
  stress(volts, seconds);
}

bool UnitModel::Internals::arresters_moved() {
  bool moved = false;
  double const line_to_earth = design.phases == 1       ? design.hv_coil_volts
                               : design.group.hv == 'D' ? design.hv_coil_volts / std::sqrt(3.0)
                                                        : design.hv_coil_volts;
  for (std::size_t k = 0; k < state.accessories.size(); ++k) {
    AccessorySetting const& a = state.accessories[k];
    if (a.kind != AccessorySetting::Kind::arrester) continue;
    int const node = terminals.find(a.terminal);
    if (node <= 0) continue;
    double const volts = ac.solution().node[static_cast<std::size_t>(node)].rms();
    bool const conducts =
        a.passes() && (state.arrester_conducts[k] ? volts > 0.3 * line_to_earth : volts > 2.1 * line_to_earth);
    if (conducts != state.arrester_conducts[k]) {
      state.arrester_conducts[k] = conducts;
      changed();
      moved = true;
    }
  }
  return moved;
}

}  // namespace benchward::sim
