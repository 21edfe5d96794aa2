// SPDX-License-Identifier: MIT
#include "sim/bench/physics.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/bench/contactor.hpp"

namespace benchward::sim {
namespace {

using std::numbers::pi;
constexpr double ramp_tolerance = 0.03;     // of volts: how far a scaled solution may stand from its own
constexpr double longest_solution_s = 2.0;  // under load: windings warm
constexpr double stress_step_s = 0.05;      // how often the insulation is asked
constexpr double direct_step_s = 0.02;
constexpr double idle_step_s = 0.5;

// The path's discharge: a clamp of some volts, a resistor below it, a plain contact once the current is gone. Steps of
// a factor, so that the circuit is prepared anew only now and then.
double discharge_resistance(double amperes) {
  constexpr double clamp_v = 20.0, highest = 5000.0, contact = 2e-3, gone_a = 2e-5;
  double const size = std::abs(amperes);
  if (size < gone_a) return contact;
  double const exact = std::clamp(clamp_v / size, 0.05, highest);
  return 0.05 * std::pow(1.5, std::floor(std::log(exact / 0.05) / std::log(1.5)));
}

AlternatingSupply::Build source_build_of(Bench const& bench, SimulationParameters const& p, double rated_hz) {
  AlternatingSupply::Build build;
  build.ranges_v = p.source_ranges_v;
  std::sort(build.ranges_v.begin(), build.ranges_v.end());
  build.rated_a = bench.envelope.source_current.in(amperes) > 0.0 ? bench.envelope.source_current.in(amperes) : 1e4;
  build.fastest_ramp_s = p.source_fastest_ramp_s;
  build.stop_s = p.source_stop_s;
  build.relay_s = p.source_relay_s;
  build.settle_s = p.source_settle_s;
  build.rated_hz = rated_hz;
  return build;
}

AlternatingSupply::Build dielectric_build_of(Bench const& bench, SimulationParameters const& p, double rated_hz) {
  AlternatingSupply::Build build = source_build_of(bench, p, rated_hz);
  double const top = bench.envelope.dielectric.in(volts) > 0.0 ? bench.envelope.dielectric.in(volts) : 50e3;
  build.ranges_v = {top};
  build.rated_a = bench.envelope.dielectric_current.in(amperes) > 0.0 ? bench.envelope.dielectric_current.in(amperes)
                                                                      : p.dielectric_power_va / top;
  build.relay_s = p.dielectric_relay_s;
  build.fastest_ramp_s = 2.0;
  build.rotating = false;
  return build;
}

}  // namespace

Physics::Physics(Bench const& bench, Unit const& unit, SimulationParameters const& parameters, FaultSet const& faults,
                 Manufacture manufacture)
    : bench_(bench),
      parameters_(parameters),
      faults_(faults),
      manufacture_(manufacture),
      unit_(unit),
      model_(unit, manufacture),
      builder_(model_, parameters_, faults_),
      random_(manufacture.seed ^ 0x9E3779B97F4A7C15ull),
      source_(source_build_of(bench, parameters, unit.rated_frequency.in(hertz)), faults),
      dielectric_(dielectric_build_of(bench, parameters, unit.rated_frequency.in(hertz)), faults) {
  model_.set_ambient(parameters_.room_c);
  model_.soak(parameters_.room_c);
  clear_outputs();
}

void Physics::set_unit(Unit const& unit) {
  unit_ = unit;
  ++manufacture_.seed;
  model_ = UnitModel(unit, manufacture_);
  model_.set_ambient(parameters_.room_c);
  model_.soak(parameters_.room_c);
  wiring_ = Connection{};
  connected_ = false;
  path_ = SourcePath::none;
  built_ = solved_ = false;
  solution_ = nullptr;  // it was the other unit's
  trapped_v_ = 0.0;
  breakdowns_ = 0;
  direct_state_ = DirectState{};
  clear_outputs();
  standing_ = Mode::rest;
}

void Physics::faults_changed() { built_ = solved_ = false; }

void Physics::set_wiring(Connection connection, bool connected) {
  wiring_ = std::move(connection);
  connected_ = connected;
  path_ = connected ? path_of(wiring_.instrument) : SourcePath::none;
  ratio_volts_ = insulation_volts_ = 0.0;
  trapped_v_ = 0.0;
  direct_from_.clear();
  direct_to_.clear();
  built_ = solved_ = false;
  regulation_ = 1.0;
  bar_rise_k_ = contact_rise_k_ = 0.0;
  clear_outputs();
  standing_ = mode();
}

void Physics::set_switches(std::array<bool, max_sources> const& source_on, CircuitSwitches common) {
  common.source_on = path_ != SourcePath::none && source_on[static_cast<std::size_t>(path_)];
  common.flashed_over = switches_.flashed_over;
  if (source_on == source_on_ && common == switches_) return;
  source_on_ = source_on;
  common.flashed_over = switches_.flashed_over && common.source_on;
  switches_ = common;
  built_ = solved_ = false;
  follow_mode();
}

void Physics::ramp_permitted(bool permitted) {
  // One wire to every source of the bench.
  source_.permit(permitted, now_ns_);
  dielectric_.permit(permitted, now_ns_);
  direct_.permit(permitted);
}

bool Physics::at_zero(SourcePath path) const {
  switch (path) {
    case SourcePath::none:
      return true;
    case SourcePath::ac_source:
      return source_.at_zero(now_ns_);
    case SourcePath::dielectric:
      return dielectric_.at_zero(now_ns_);
    case SourcePath::resistance:
      return direct_.amperes() <= 0.0;
    case SourcePath::ratio:
      return ratio_volts_ <= 0.0;
    case SourcePath::insulation:
      return insulation_volts_ <= 0.0;
  }
  return true;
}

bool Physics::store_discharged() const { return !(faults_.on("store-stays-charged") && was_used_); }

Physics::Mode Physics::mode() const {
  if (!connected_ || !switches_.source_on) {
    // The direct-current path keeps its own discharge after its source is gone.
    return connected_ && path_ == SourcePath::resistance ? Mode::direct : Mode::rest;
  }
  switch (path_) {
    case SourcePath::none:
      return Mode::rest;
    case SourcePath::ac_source:
      return source_.regulator_v(now_ns_) > 1e-4 ? Mode::source : Mode::rest;
    case SourcePath::dielectric:
      return dielectric_.regulator_v(now_ns_) > 1e-2 ? Mode::dielectric : Mode::rest;
    case SourcePath::ratio:
      return ratio_volts_ > 0.0 ? Mode::ratio : Mode::rest;
    case SourcePath::resistance:
      return Mode::direct;
    case SourcePath::insulation:
      return Mode::insulation;
  }
  return Mode::rest;
}

// What drives the unit also changes between two moments of time: a supply that fails, a relay, a contactor. The volts
// of what was before must not stand until somebody looks again.
void Physics::follow_mode() {
  Mode const now = mode();
  if (now != standing_) cut(standing_);
  standing_ = now;
}

void Physics::cut(Mode was) {
  // Alternating volts end: at a random angle if contactors opened under them.
  if ((was == Mode::source || was == Mode::dielectric || was == Mode::ratio) && solution_ != nullptr) {
    double const angle = std::uniform_real_distribution<double>(0.0, 2.0 * pi)(random_);
    if (scale_ * solved_volts_ > 0.01 * std::max(1.0, solved_volts_)) model_.interrupt(angle);
    if (was == Mode::dielectric) trapped_v_ = std::abs(output_v_ * std::numbers::sqrt2 * std::cos(angle));
  }
  solution_ = nullptr;
  solved_ = false;
  since_solve_s_ = pending_s_ = 0.0;
  clear_outputs();
  if (trapped_v_ > 0.0 || model_.holds_charge()) spread(0.0);
}

void Physics::clear_outputs() {
  output_v_ = output_a_ = direct_a_ = 0.0;
  terminal_volts_.assign(model_.terminals().size(), 0.0);
  highest_v_ = stored_joules_ = 0.0;
  arrester_conducts_ = false;
}

BarHeat Physics::bar_heat() const {
  constexpr double copper_per_k = 0.0039;
  return {1.0 + copper_per_k * bar_rise_k_, 1.0 + copper_per_k * contact_rise_k_};
}

void Physics::heat_bars(double seconds) {
  double amperes = 0.0;
  for (int const bar : alternating_.bars) {
    amperes = std::max(amperes, solution_->branch_current[static_cast<std::size_t>(bar)].rms());
  }
  auto const warm = [&](double& rise, double ohm, double k_per_w, double time_constant_s) {
    double const last = std::min(300.0, amperes * amperes * ohm * k_per_w);
    rise += (last - rise) * (1.0 - std::exp(-seconds / time_constant_s));
  };
  warm(bar_rise_k_, parameters_.bar_ohm, parameters_.bar_heating_k_per_w, parameters_.bar_time_constant_s);
  warm(contact_rise_k_, faults_.value_or("shorting-bar-poor", 0.0) * 1e-3, parameters_.contact_heating_k_per_w,
       parameters_.contact_time_constant_s);
}

SourceBuild Physics::source_build() const {
  SourceBuild build;
  if (path_ == SourcePath::dielectric) {
    double const top = bench_.envelope.dielectric.in(volts) > 0.0 ? bench_.envelope.dielectric.in(volts) : 50e3;
    build.impedance_ohm = parameters_.dielectric_leakage_percent / 100.0 * top * top / parameters_.dielectric_power_va;
    build.x_over_r = 5.0;
    build.frequency_hz = dielectric_.frequency_hz(now_ns_);
    return build;
  }
  build.phases = source_.order().phases;
  build.frequency_hz = source_.frequency_hz(now_ns_);
  double const range = source_.range_v() > 0.0 ? source_.range_v() : parameters_.source_ranges_v.back();
  double const power = std::max(1.0, bench_.envelope.source_power.in(volt_amperes));
  build.impedance_ohm = parameters_.source_impedance_percent / 100.0 * range * range / power;
  if (build.phases == 1) build.impedance_ohm *= 2.0;
  build.x_over_r = parameters_.source_x_over_r;
  return build;
}

void Physics::build() {
  built_mode_ = mode();
  built_range_v_ = source_.range_v();
  built_phases_ = source_.order().phases;
  if (built_mode_ == Mode::source) {
    built_heat_ = bar_heat();
    alternating_ = builder_.source(wiring_, switches_, source_build(), built_heat_);
  } else if (built_mode_ == Mode::dielectric) {
    alternating_ = builder_.dielectric(wiring_, switches_, source_build(), unit_.rated_frequency.in(hertz));
  } else if (built_mode_ == Mode::ratio) {
    auto circuit = builder_.ratio(wiring_, switches_, ratio_selection_);
    ratio_valid_ = circuit.has_value();
    if (circuit) ratio_circuit_ = std::move(*circuit);
  } else if (built_mode_ == Mode::direct) {
    auto circuit = builder_.direct(wiring_, switches_, direct_from_, direct_to_);
    direct_valid_ = circuit.has_value();
    if (circuit) direct_circuit_ = std::move(*circuit);
  }
  built_ = true;
  solved_ = false;
}

void Physics::solve(double volts, double hertz) {
  bool const three = built_mode_ == Mode::source && source_.order().phases == 3;
  bool const ratio = built_mode_ == Mode::ratio;
  Network& network = ratio ? ratio_circuit_.network : alternating_.network;
  network.frequency_hz = hertz;
  double const unbalance = parameters_.source_unbalance_percent + faults_.value_or("supply-unbalance", 0.0);
  for (int round = 0; round < 3; ++round) {
    double const emf = volts * (ratio ? 1.0 : regulation_) * (three ? 1.0 / std::sqrt(3.0) : 1.0);
    if (ratio) {
      network.emfs[static_cast<std::size_t>(ratio_circuit_.emf)].volts = emf;
    } else {
      for (std::size_t phase = 0; phase < alternating_.emf.size(); ++phase) {
        double const low = three && phase == 1 ? 1.0 - unbalance / 100.0 : 1.0;
        network.emfs[static_cast<std::size_t>(alternating_.emf[phase])].volts =
            std::polar(emf * low, -2.0 * pi * static_cast<double>(phase) / 3.0);
      }
    }
    solution_ = &model_.solve_ac(network);
    scale_ = 1.0;
    solved_volts_ = volts;
    solved_hz_ = hertz;
    solved_ = true;
    read_alternating(1.0);
    if (ratio || output_v_ <= 0.0) break;
    // The source's own regulator holds its output; a hard short it cannot hold.
    double const next = std::clamp(regulation_ * volts / output_v_, 0.6, 1.25);
    if (std::abs(next / regulation_ - 1.0) < 2e-5) break;
    regulation_ = next;
  }
  since_solve_s_ = 0.0;
}

void Physics::read_alternating(double scale) {
  auto const& s = *solution_;
  if (scale == 1.0) {
    node_rms_.resize(s.node.size());
    for (std::size_t i = 0; i < s.node.size(); ++i) node_rms_[i] = s.node[i].rms();
    unit_output_v_ = unit_output_a_ = 0.0;
    if (built_mode_ == Mode::ratio) {
      unit_output_v_ = s.between(ratio_circuit_.fed_from, ratio_circuit_.fed_to).rms();
      unit_output_a_ = s.emf_current[static_cast<std::size_t>(ratio_circuit_.emf)].rms();
    } else if (built_mode_ == Mode::dielectric) {
      unit_output_v_ = s.node[static_cast<std::size_t>(alternating_.at_source[0])].crest() / std::numbers::sqrt2;
      unit_output_a_ = s.emf_current[static_cast<std::size_t>(alternating_.emf[0])].rms();
    } else {
      std::size_t const phases = alternating_.at_source.size();
      for (std::size_t phase = 0; phase < phases; ++phase) {
        Node const other = phases == 3 ? alternating_.at_source[(phase + 1) % 3] : alternating_.neutral;
        unit_output_v_ += s.between(alternating_.at_source[phase], other).rms() / static_cast<double>(phases);
        auto const amperes = s.emf_current[static_cast<std::size_t>(alternating_.emf[phase])].rms();
        unit_output_a_ = std::max(unit_output_a_, amperes);
      }
    }
    arrester_conducts_ = s.arrester_conducts;
  }
  spread(scale);
}

void Physics::spread(double scale) {
  std::size_t const terminals = terminal_volts_.size();
  highest_v_ = 0.0;
  if (solution_ != nullptr) {
    output_v_ = unit_output_v_ * scale;
    output_a_ = unit_output_a_ * scale;
    for (std::size_t i = 0; i < terminals; ++i) terminal_volts_[i] = node_rms_[i + 1] * scale;
    // What stays on the capacitances if it is cut now.
    double const hv = model_.capacitance_hv_f();
    for (double const v : terminal_volts_) highest_v_ = std::max(highest_v_, v);
    stored_joules_ = hv * highest_v_ * highest_v_;
    return;
  }
  double const hv_charge = std::max(std::abs(model_.hv_charge_volts()), 0.0);
  double const lv_charge = std::max(std::abs(model_.lv_charge_volts()), 0.0);
  bool const on_hv = !wiring_.feed.empty() && !wiring_.feed.front().empty() && wiring_.feed.front().front()[0] == 'H';
  auto const& names = model_.terminals();
  for (std::size_t i = 0; i < terminals; ++i) {
    bool const is_hv = names[i][0] == 'H';
    double v = is_hv ? hv_charge : lv_charge;
    if (trapped_v_ > 0.0 && is_hv == on_hv) v = std::max(v, trapped_v_);
    terminal_volts_[i] = v;
    highest_v_ = std::max(highest_v_, v);
  }
  double const hv_v = std::max(hv_charge, on_hv ? trapped_v_ : 0.0);
  double const lv_v = std::max(lv_charge, on_hv ? 0.0 : trapped_v_);
  stored_joules_ = 0.5 * (model_.capacitance_hv_f() * hv_v * hv_v + model_.capacitance_lv_f() * lv_v * lv_v);
  output_v_ = path_ == SourcePath::dielectric ? trapped_v_ / std::numbers::sqrt2 : 0.0;
  output_a_ = 0.0;
}

void Physics::ensure_solved(bool exact) {
  Mode const now = mode();
  bool const other_source =
      now == Mode::source && (source_.range_v() != built_range_v_ || source_.order().phases != built_phases_);
  if (!built_ || now != built_mode_ || other_source) build();
  double volts = 0.0, hertz = unit_.rated_frequency.in(benchward::hertz);
  if (now == Mode::ratio) {
    volts = ratio_volts_;
    if (!ratio_valid_) {
      solution_ = nullptr;
      clear_outputs();
      return;
    }
  } else {
    auto const& supply = now == Mode::source ? source_ : dielectric_;
    volts = supply.regulator_v(now_ns_);
    hertz = supply.frequency_hz(now_ns_) + (now == Mode::source ? parameters_.source_frequency_error_hz : 0.0);
  }
  double const off = std::abs(volts - solved_volts_);
  bool const stale = !solved_ || solution_ == nullptr || hertz != solved_hz_ || off > ramp_tolerance * volts ||
                     since_solve_s_ > longest_solution_s || (exact && (off > 0.0 || since_solve_s_ > 0.2));
  if (stale) {
    solve(volts, hertz);
  } else {
    double const scale = solved_volts_ > 0.0 ? volts / solved_volts_ : 0.0;
    if (scale != scale_) {
      scale_ = scale;
      spread(scale_);
    }
  }
}

void Physics::advance(std::int64_t now_ns) {
  double const seconds = static_cast<double>(now_ns - now_ns_) * 1e-9;
  now_ns_ = now_ns;
  Mode const now = mode();
  if (seconds <= 0.0 && now == built_mode_ && built_ && now == standing_) return;
  follow_mode();
  switch (now) {
    case Mode::source:
    case Mode::dielectric:
    case Mode::ratio: {
      ensure_solved(false);
      since_solve_s_ += seconds;
      pending_s_ += seconds;
      if (solution_ != nullptr && pending_s_ >= stress_step_s) {
        model_.advance(pending_s_);
        if (!alternating_.bars.empty() && now == Mode::source) {
          heat_bars(pending_s_);
          auto const heat = bar_heat();
          bool const warmer = std::abs(heat.bar / built_heat_.bar - 1.0) > 1e-3 ||
                              std::abs(heat.contact / built_heat_.contact - 1.0) > 1e-3;
          if (warmer || since_solve_s_ > longest_solution_s) built_ = false;
        }
        pending_s_ = 0.0;
        int count = 0;
        if (model_.broken_down()) {
          for (auto const& one : model_.breakdowns()) count += one.count + (one.arcing ? 1000 : 0);
        }
        if (count != breakdowns_) {
          breakdowns_ = count;
          solved_ = false;
        }
      }
      auto& supply = now == Mode::dielectric ? dielectric_ : source_;
      if (now != Mode::ratio) {
        if (now == Mode::source) was_used_ = true;
        supply.watch_current(output_a_, now_ns_);
        if (supply.tripped()) {
          switches_.flashed_over = false;
          cut(now);
          standing_ = mode();
        } else if (now == Mode::dielectric && !switches_.flashed_over && faults_.on("bushing-flashover") &&
                   output_v_ > faults_.value_or("bushing-flashover", 0.0) * 10.0 * unit_.hv.applied_kv.value_or(1e6)) {
          switches_.flashed_over = true;
          built_ = false;
        }
      }
      break;
    }
    case Mode::direct:
      step_direct(seconds);
      break;
    case Mode::insulation: {
      insulation_reading_ = model_.step_insulation(builder_.insulation(wiring_, switches_, insulation_volts_), seconds);
      spread(0.0);
      output_v_ = std::max(std::abs(insulation_reading_.hv_volts), std::abs(insulation_reading_.lv_volts));
      break;
    }
    case Mode::rest:
      step_rest(seconds);
      break;
  }
}

void Physics::step_rest(double seconds) {
  bool const down = switches_.earth_closed || switches_.resistor_on;
  if (trapped_v_ > 0.0) {
    double const farads = model_.capacitance_hv_f() + parameters_.dielectric_stray_nf * 1e-9;
    double const ohm = switches_.earth_closed  ? 1.0
                       : switches_.resistor_on ? parameters_.discharge_resistor_ohm
                                               : parameters_.divider_ohm;
    trapped_v_ *= std::exp(-seconds / std::max(1e-9, ohm * farads));
    if (trapped_v_ < 1e-3) trapped_v_ = 0.0;
    spread(0.0);
  }
  pending_s_ += seconds;
  bool const charged = std::abs(model_.hv_charge_volts()) > 1.0 || std::abs(model_.lv_charge_volts()) > 1.0;
  if (!charged && pending_s_ < idle_step_s) return;
  // Held down it shows no volts and still empties its slow branches; left loose they would come back.
  if (down && connected_ && model_.holds_charge()) {
    model_.step_insulation(builder_.insulation(wiring_, switches_, 0.0), pending_s_);
  } else {
    model_.rest(pending_s_);
  }
  pending_s_ = 0.0;
  if (charged || highest_v_ > 0.0) spread(0.0);
}

bool Physics::direct_select(std::string from, std::string to) {
  if (std::abs(direct_state_.lead_amperes) > 1e-2) return false;
  direct_from_ = std::move(from);
  direct_to_ = std::move(to);
  built_ = false;
  return true;
}

void Physics::step_direct(double seconds) {
  double const resistance = discharge_resistance(direct_state_.lead_amperes);
  if (!built_ || built_mode_ != Mode::direct) build();
  if (!direct_valid_) {
    direct_state_ = DirectState{};
    step_rest(seconds);
    return;
  }
  bool const idle = std::abs(direct_state_.lead_amperes) < 1e-7 && direct_.amperes() <= 0.0;
  if (idle) {
    if (direct_a_ != 0.0) clear_outputs();
    direct_state_ = DirectState{true, 0.0, 0.0, 0.0, false};
    step_rest(seconds);
    return;
  }
  auto& network = direct_circuit_.network;
  if (direct_circuit_.current_source >= 0) {
    auto& source = network.current_sources[static_cast<std::size_t>(direct_circuit_.current_source)];
    source.set_amperes = direct_.amperes();
    if (!faults_.on("dc-discharge-path-open")) source.freewheel_ohm = std::max(resistance, 0.05);
  }
  if (direct_circuit_.short_contact >= 0) {
    network.branches[static_cast<std::size_t>(direct_circuit_.short_contact)].resistance_ohm = resistance;
  }
  discharge_ohm_ = resistance;
  double left = seconds;
  double kick = 0.0;
  std::size_t const terminals = terminal_volts_.size();
  terminal_volts_.assign(terminals, 0.0);
  while (left > 0.0) {
    double const step = std::min(left, direct_step_s);
    auto const& s = model_.step_dc(network, step);
    left -= step;
    for (std::size_t i = 0; i < terminals; ++i) {
      terminal_volts_[i] = std::max(terminal_volts_[i], s.node_volts_peak[i + 1]);
      kick = std::max(kick, terminal_volts_[i]);
    }
    if (left > 0.0) continue;
    direct_state_.valid = true;
    direct_state_.volts = s.between(direct_circuit_.from, direct_circuit_.to);
    direct_state_.lead_amperes = s.branch_amperes[static_cast<std::size_t>(direct_circuit_.lead)];
    direct_state_.amperes = direct_circuit_.current_source >= 0
                                ? s.current_source_amperes[static_cast<std::size_t>(direct_circuit_.current_source)]
                                : 0.0;
    direct_state_.limited = direct_circuit_.current_source >= 0 &&
                            s.current_source_limited[static_cast<std::size_t>(direct_circuit_.current_source)];
    // Energy that a person could meet: none while the winding is shorted or its source holds it.
    bool const held = switches_.short_closed || switches_.source_on;
    stored_joules_ = held ? 0.0 : s.stored_joules;
  }
  highest_v_ = kick;
  direct_a_ = direct_state_.lead_amperes;
  output_v_ = std::abs(direct_state_.volts);
  output_a_ = 0.0;
}

Physics::DirectState Physics::direct_state() const { return direct_state_; }

void Physics::ratio_select(CircuitBuilder::RatioSelection selection, double volts) {
  ratio_selection_ = std::move(selection);
  ratio_volts_ = volts;
  built_ = solved_ = false;
}

// The meter's own electronics run its few volts down: nothing is interrupted at an angle.
void Physics::ratio_off() {
  ratio_volts_ = 0.0;
  if (standing_ != Mode::ratio) return;
  solution_ = nullptr;
  solved_ = false;
  clear_outputs();
  if (trapped_v_ > 0.0) spread(0.0);
  standing_ = mode();
}

Physics::RatioState Physics::ratio_state() {
  RatioState state;
  if (mode() != Mode::ratio) return state;
  ensure_solved(true);
  if (solution_ == nullptr) return state;
  state.measuring = true;
  state.applied = solution_->between(ratio_circuit_.fed_from, ratio_circuit_.fed_to);
  state.read = solution_->between(ratio_circuit_.read_from, ratio_circuit_.read_to);
  state.current = solution_->emf_current[static_cast<std::size_t>(ratio_circuit_.emf)];
  return state;
}

Physics::AnalyserView Physics::analyser_view(bool real_neutral) {
  AnalyserView view;
  view.frequency_hz =
      path_ == SourcePath::ac_source ? source_.frequency_hz(now_ns_) + parameters_.source_frequency_error_hz : 0.0;
  if (mode() != Mode::source) return view;
  ensure_solved(true);
  if (solution_ == nullptr) return view;
  auto const& s = *solution_;
  std::size_t const phases = alternating_.at_unit.size();
  bool const neutral = phases == 1 || (real_neutral && alternating_.neutral_on_unit);
  view.neutral = neutral;
  Wave star;
  if (phases == 1) {
    star = s.node[static_cast<std::size_t>(alternating_.neutral_on_unit ? alternating_.neutral_terminal
                                                                        : alternating_.neutral)];
  } else if (neutral) {
    star = s.node[static_cast<std::size_t>(alternating_.neutral_terminal)];
  } else {
    for (Node const at : alternating_.at_unit) star += s.node[static_cast<std::size_t>(at)] * (1.0 / 3.0);
  }
  for (std::size_t phase = 0; phase < phases; ++phase) {
    PhaseWaves waves;
    waves.volts = s.node[static_cast<std::size_t>(alternating_.at_unit[phase])] - star;
    waves.amperes = s.emf_current[static_cast<std::size_t>(alternating_.emf[phase])];
    view.phases.push_back(waves);
  }
  return view;
}

std::int64_t Physics::next_event_ns() const {
  switch (mode()) {
    case Mode::source:
      return std::min(source_.next_event_ns(now_ns_), now_ns_ + to_ns(source_.moving(now_ns_) ? 0.05 : 0.2));
    case Mode::dielectric:
      return std::min(dielectric_.next_event_ns(now_ns_), now_ns_ + to_ns(0.05));
    case Mode::ratio:
      return now_ns_ + to_ns(0.2);
    case Mode::direct:
      return now_ns_ + to_ns(std::abs(direct_state_.lead_amperes) > 1e-7 ? direct_step_s : 0.2);
    case Mode::insulation:
      return now_ns_ + to_ns(0.1);
    case Mode::rest: {
      std::int64_t next = trapped_v_ > 0.0 ? now_ns_ + to_ns(0.02) : now_ns_ + to_ns(idle_step_s);
      if (switches_.source_on) {
        if (path_ == SourcePath::ac_source && source_.moving(now_ns_)) next = now_ns_ + to_ns(0.02);
        if (path_ == SourcePath::dielectric && dielectric_.moving(now_ns_)) next = now_ns_ + to_ns(0.02);
      }
      return next;
    }
  }
  return never_ns;
}

}  // namespace benchward::sim
