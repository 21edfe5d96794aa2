// SPDX-License-Identifier: MIT
#include "unit_model.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "internals.hpp"

namespace benchward::sim {

UnitModel::UnitModel(Unit const& unit, Manufacture const& manufacture)
    : body_(std::make_unique<Internals>(unit, manufacture)) {}
UnitModel::~UnitModel() = default;
UnitModel::UnitModel(UnitModel&&) noexcept = default;
UnitModel& UnitModel::operator=(UnitModel&&) noexcept = default;

Unit const& UnitModel::unit() const { return body_->unit; }
UnitModel::Internals const& UnitModel::internals() const { return *body_; }

Node UnitModel::terminal(std::string_view name) const {
  int const node = body_->terminals.find(name);
  if (node < 0) {
    std::string known;
    for (std::string const& n : body_->terminals.names) known += (known.empty() ? "" : ", ") + n;
    throw std::invalid_argument(
        fmt::format("unit {} has no terminal \"{}\"; it has {}", body_->unit.serial, name, known));
  }
  return node;
}
bool UnitModel::has_terminal(std::string_view name) const { return body_->terminals.find(name) >= 0; }
std::vector<std::string> const& UnitModel::terminals() const { return body_->terminals.names; }

std::vector<std::string> UnitModel::hv_terminals() const {
  std::vector<std::string> names;
  for (int n : body_->terminals.hv) names.push_back(body_->terminals.names[static_cast<std::size_t>(n - 1)]);
  return names;
}
std::vector<std::string> UnitModel::lv_terminals() const {
  std::vector<std::string> names;
  for (int n : body_->terminals.lv) names.push_back(body_->terminals.names[static_cast<std::size_t>(n - 1)]);
  return names;
}

Network UnitModel::network() const {
  Network n(static_cast<int>(body_->terminals.names.size()) + 1);
  n.frequency_hz = body_->design.hz;
  return n;
}

void UnitModel::set_tap(int position) {
  std::vector<Tap> const& taps = body_->unit.hv.taps;
  for (std::size_t k = 0; k < taps.size(); ++k)
    if (taps[k].position == position) {
      body_->state.tap_percent_index = static_cast<int>(k);
      body_->changed();
      return;
    }
  throw std::invalid_argument(fmt::format("unit {} has no tap position {}", body_->unit.serial, position));
}
int UnitModel::tap() const {
  int const index = body_->state.tap_percent_index;
  return index < 0 ? 0 : body_->unit.hv.taps[static_cast<std::size_t>(index)].position;
}
void UnitModel::set_dual_voltage(int position) {
  if (!body_->unit.hv.dual || (position != 1 && position != 2))
    throw std::invalid_argument(fmt::format("unit {} has no dual-voltage position {}", body_->unit.serial, position));
  body_->state.dual_position = position;
  body_->changed();
}

void UnitModel::dual_voltage_dead(bool dead) { body_->dual_dead = dead; }

void UnitModel::set_accessory(std::string const& name, std::string const& state) {
  for (AccessorySetting& a : body_->state.accessories) {
    bool const breaker = a.kind == AccessorySetting::Kind::breaker && name == "breaker";
    if (a.name != name && !breaker) continue;
    a.state = state;
    bool const dual = a.kind == AccessorySetting::Kind::switch_ && body_->unit.hv.dual;
    if (dual && !body_->dual_dead && (state == "1" || state == "2")) set_dual_voltage(state == "1" ? 1 : 2);
    body_->changed();
    return;
  }
  std::string known;
  for (AccessorySetting const& a : body_->state.accessories) known += (known.empty() ? "" : ", ") + a.name;
  throw std::invalid_argument(fmt::format("unit {} has no accessory \"{}\"; it has {}", body_->unit.serial, name,
                                          known.empty() ? "none" : known));
}
std::string UnitModel::accessory(std::string const& name) const {
  for (AccessorySetting const& a : body_->state.accessories)
    if (a.name == name || (a.kind == AccessorySetting::Kind::breaker && name == "breaker")) return a.state;
  throw std::invalid_argument(fmt::format("unit {} has no accessory \"{}\"", body_->unit.serial, name));
}

AcSolution const& UnitModel::solve_ac(Network const& network) {
  body_->ready();
  body_->dc.forget();
  body_->ac.solve(body_->circuit, body_->design, body_->core, body_->condition(), network);
  if (body_->arresters_moved()) {
    body_->ready();
    body_->ac.solve(body_->circuit, body_->design, body_->core, body_->condition(), network);
  }
  body_->last = Internals::Last::alternating;
  return body_->ac.solution();
}

void UnitModel::advance(double seconds) {
  body_->heat(seconds);
  body_->advance_core(seconds);
  body_->stress_by_ac(seconds);
}

void UnitModel::interrupt(double angle_rad) {
  Internals& b = *body_;
  if (!b.ac.excited()) return;
  for (std::size_t l = 0; l < static_cast<std::size_t>(b.design.limbs); ++l) {
    double flux = 0.0, rising = 0.0;
    for (int n = 0; n < Wave::harmonic_count; ++n) {
      Complex const turning = b.ac.flux()[l][static_cast<std::size_t>(n)] * std::polar(1.0, Wave::order(n) * angle_rad);
      flux += turning.real();
      rising -= Wave::order(n) * turning.imag();
    }
    HysteresisBank& bank = b.core[l].bank;
    double const standing = bank.at(), swing = b.ac.response()[l].peak;
    double const turned = rising > 0.0 ? -swing : swing;  // the turning point it came from
    bank.move_to(standing - turned);
    bank.move_to(standing + turned);
    bank.move_to(standing + flux);
    b.relax(static_cast<int>(l));
  }
  b.ac.forget();
  b.last = Internals::Last::nothing;
}

DcSolution const& UnitModel::step_dc(Network const& network, double seconds) {
  body_->ready();
  body_->ac.forget();
  body_->dc.step(body_->circuit, body_->design, body_->core, body_->condition().hv_c, body_->condition().lv_c,
                 body_->revision, network, seconds);
  body_->last = Internals::Last::direct;
  body_->heat(seconds);
  return body_->dc.solution();
}

InsulationReading UnitModel::step_insulation(InsulationConnection const& connection, double seconds) {
  Internals& b = *body_;
  b.ac.forget();
  b.dc.forget();
  b.last = Internals::Last::insulation;
  InsulationConnection now = connection;
  // A unit whose two neutrals are one bushing, or whose winding stands on the tank, has no insulation there.
  if (b.design.hv_graded && now.hv == WindingTie::free) now.hv = WindingTie::earthed;
  for (AccessorySetting const& a : b.state.accessories) {
    if (a.kind != AccessorySetting::Kind::strap || !a.passes()) continue;
    int const node = b.terminals.find(a.terminal);
    auto const in = [&](std::vector<int> const& side) {
      return std::find(side.begin(), side.end(), node) != side.end();
    };
    // A strap shorts the meter: what flows is the meter's own limit.
    if (in(b.terminals.hv) && now.hv != WindingTie::driven) now.hv = WindingTie::earthed;
    if (in(b.terminals.lv) && now.lv != WindingTie::driven) now.lv = WindingTie::earthed;
    if ((in(b.terminals.hv) && now.hv == WindingTie::driven) || (in(b.terminals.lv) && now.lv == WindingTie::driven)) {
      InsulationReading shorted;
      shorted.meter_amperes = now.volts / std::max(now.source_ohm, 1.0);
      b.heat(seconds);
      return shorted;
    }
  }
  b.set_leakage();
  InsulationReading const reading = b.direct.step(now, seconds);
  std::array<double, 5> volts{};
  volts[0] = std::abs(reading.hv_volts) / std::numbers::sqrt2;
  volts[1] = std::abs(reading.lv_volts) / std::numbers::sqrt2;
  volts[2] = std::abs(reading.hv_volts - reading.lv_volts) / std::numbers::sqrt2;
  b.stress(volts, seconds);
  b.heat(seconds);
  return reading;
}

void UnitModel::rest(double seconds) {
  Internals& b = *body_;
  b.ready();
  if (b.ac.excited()) interrupt(0.0);
  // Current that still runs (a closed delta, a shorting jumper inside) dies away through the windings themselves.
  if (b.dc.flowing(b.circuit, b.design)) {
    Network const empty = network();
    double left = seconds;
    while (left > 0.0 && b.dc.flowing(b.circuit, b.design)) {
      double const now = std::min(left, 0.1);
      b.dc.step(b.circuit, b.design, b.core, b.condition().hv_c, b.condition().lv_c, b.revision, empty, now);
      left -= now;
    }
  }
  b.last = Internals::Last::nothing;
  b.stress({}, seconds);
  if (!b.direct.quiet()) {
    InsulationConnection loose;
    loose.hv = b.design.hv_graded ? WindingTie::earthed : WindingTie::free;
    loose.lv = WindingTie::free;
    b.direct.step(loose, seconds);
  }
  b.heat(seconds);
}

std::vector<Breakdown> UnitModel::breakdowns() const {
  std::vector<Breakdown> list;
  for (std::size_t k = 0; k < body_->stressed.size(); ++k)
    if (body_->stressed[k].count > 0)
      list.push_back({static_cast<Insulation>(k), body_->stressed[k].count, body_->stressed[k].arcing});
  return list;
}
bool UnitModel::broken_down() const { return !breakdowns().empty(); }
bool UnitModel::holds_charge() const { return !body_->direct.quiet(); }
double UnitModel::hv_charge_volts() const { return body_->direct.hv_volts; }
double UnitModel::lv_charge_volts() const { return body_->direct.lv_volts; }

Temperatures UnitModel::temperatures() const { return body_->thermal.now; }
void UnitModel::set_ambient(double celsius_now) { body_->thermal.now.ambient_c = celsius_now; }
void UnitModel::soak(double celsius_now) { body_->thermal.soak(celsius_now); }
void UnitModel::warm(double kelvin_above_ambient) { body_->thermal.warm(kelvin_above_ambient); }

std::array<double, 3> UnitModel::remanence() const {
  std::array<double, 3> flux{};
  for (std::size_t l = 0; l < static_cast<std::size_t>(body_->design.limbs); ++l) flux[l] = body_->core[l].bank.at();
  return flux;
}
void UnitModel::set_remanence(std::array<double, 3> const& of_rated_flux) {
  for (int l = 0; l < body_->design.limbs; ++l) body_->magnetise(l, of_rated_flux[static_cast<std::size_t>(l)]);
}

void UnitModel::set_fault(std::string_view name, std::optional<double> value) {
  std::optional<Defect> const defect = defect_named(name);
  if (!defect) throw std::invalid_argument(fmt::format("no unit fault is called \"{}\"", name));
  UnitFaultKind const& kind = unit_fault_list()[static_cast<std::size_t>(*defect)];
  Internals& b = *body_;
  double number = value.value_or(kind.default_value);
  if (!(kind.lowest <= number && number <= kind.highest))
    throw std::invalid_argument(
        fmt::format("fault {}: {} is outside {} to {} {}", name, number, kind.lowest, kind.highest, kind.unit));
  Unit const& u = b.unit;
  if (*defect == Defect::tap_step_wrong) {
    if (u.hv.taps.size() < 2) throw std::invalid_argument(fmt::format("fault {}: the unit has no taps", name));
    if (!value) number = u.hv.rated_tap;
    if (std::none_of(u.hv.taps.begin(), u.hv.taps.end(),
                     [&](Tap const& t) { return t.position == std::lround(number); }))
      throw std::invalid_argument(fmt::format("fault {}: the unit has no tap position {}", name, number));
  }
  if (*defect == Defect::center_tap_off && u.lv_form != LowVoltageForm::center_tapped &&
      u.lv_form != LowVoltageForm::series_parallel && u.lv_form != LowVoltageForm::mid_tapped_leg)
    throw std::invalid_argument(fmt::format("fault {}: the low-voltage winding has no middle", name));
  if (*defect == Defect::lv_turns_error && std::abs(number) >= b.design.lv_part_turns)
    throw std::invalid_argument(fmt::format("fault {}: the coil has only {} turns", name, b.design.lv_part_turns));
  b.state.defects.set(*defect, number);
  if (*defect == Defect::remanence)
    set_remanence({number, b.design.limbs == 3 ? -0.5 * number : number, -0.5 * number});
  if (*defect == Defect::unit_warm) warm(number);
  b.apply_defects();
}

void UnitModel::clear_fault(std::string_view name_or_all) {
  if (name_or_all == "all") {
    body_->state.defects.clear_all();
  } else {
    std::optional<Defect> const defect = defect_named(name_or_all);
    if (!defect) throw std::invalid_argument(fmt::format("no unit fault is called \"{}\"", name_or_all));
    body_->state.defects.clear(*defect);
  }
  body_->apply_defects();
}

std::vector<std::pair<std::string, double>> UnitModel::true_values() const {
  body_->ready();
  return body_->truth();
}
std::optional<double> UnitModel::true_value(std::string_view name) const {
  for (auto const& [key, value] : true_values())
    if (key == name) return value;
  return std::nullopt;
}

double UnitModel::capacitance_hv_f() const {
  return body_->design.capacitance_hv_earth_f + body_->design.capacitance_hv_lv_f;
}
double UnitModel::capacitance_lv_f() const {
  return body_->design.capacitance_lv_earth_f + body_->design.capacitance_hv_lv_f;
}
double UnitModel::volts_per_turn() const { return body_->design.volts_per_turn; }
int UnitModel::hv_turns() const {
  return static_cast<int>(std::lround(hv_turns_now(body_->unit, body_->design, body_->state, 0)));
}
int UnitModel::lv_turns() const { return body_->design.lv_part_turns * body_->design.parts; }

}  // namespace benchward::sim
