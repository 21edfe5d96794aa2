// SPDX-License-Identifier: MIT
#include "sim/bench/danger.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace benchward::sim {
namespace {

// Lines of EN 50191, read as teaching text: 50 V, 350 mJ.
constexpr double live_v = 50.0;
constexpr double live_j = 0.35;
constexpr double desk_instrument_v = 600.0;    // rating of a ratio or resistance meter's inputs
constexpr double direct_flux_limit_a = 0.010;  // and below 1 % of what flowed; see hands_moved and the short
constexpr int ac = static_cast<int>(SourcePath::ac_source);
constexpr int dielectric = static_cast<int>(SourcePath::dielectric);
constexpr int direct = static_cast<int>(SourcePath::resistance);

bool is_live(Physics const& physics) { return physics.highest_v() > live_v || physics.stored_joules() > live_j; }

std::uint16_t bit_of(std::string const& terminal) {
  if (terminal == "H0X0") return terminal_bits({"H0", "X0"});
  try {
    return terminal_bits({terminal.substr(0, 2)});  // H1A and H1B are H1
  } catch (std::invalid_argument const&) {
    return 0;
  }
}

bool is_on(Physics const& physics, Accessory const& accessory) {
  return physics.model().accessory(accessory.name) == "on";
}

}  // namespace

void DangerMonitor::new_unit() {
  known_ = false;
  broken_ = false;
}

double DangerMonitor::ceiling_v(Physics const& physics, std::string const& terminal) const {
  auto const& unit = physics.unit();
  auto const& winding = terminal[0] == 'H' ? unit.hv : unit.lv;
  double const rated = winding.dual ? winding.dual->higher.in(volts) : winding.rated.in(volts);
  // Twice rated volts is the induced test's; a graded winding's line end sees 3.46 times line-to-earth and 1 kV more.
  double const induced = std::max(2.1 * rated, 3.6 * rated / (unit.phases == 3 ? std::sqrt(3.0) : 1.0) + 1000.0);
  double const applied = winding.applied_kv.value_or(0.0) * 1e3;
  return 1.25 * std::max(induced, applied);
}

void DangerMonitor::learn(Physics const& physics) {
  if (known_) return;
  bits_.clear();
  ceilings_.clear();
  for (auto const& name : physics.model().terminals()) {
    bits_.push_back(bit_of(name));
    ceilings_.push_back(ceiling_v(physics, name));
  }
  known_ = true;
}

std::string DangerMonitor::live_words(Physics const& physics) const {
  auto const& values = physics.terminal_volts();
  auto const highest = std::max_element(values.begin(), values.end());
  if (highest == values.end()) return "nothing";
  auto const& name = physics.model().terminals()[static_cast<std::size_t>(highest - values.begin())];
  return fmt::format("{} at {:.0f} V to earth, {:.2f} J", name, *highest, physics.stored_joules());
}

void DangerMonitor::act(std::int64_t now_ns, std::string what) {
  if (moments_.size() < 1000) moments_.push_back({static_cast<double>(now_ns) * 1e-9, std::move(what)});
}

bool DangerMonitor::due(std::size_t rule, bool holds, double longer_than_s, std::int64_t now_ns) {
  if (!holds) {
    since_ns_[rule] = -1;
    said_[rule] = false;
    return false;
  }
  if (since_ns_[rule] < 0) since_ns_[rule] = now_ns;
  if (said_[rule] || now_ns - since_ns_[rule] <= to_ns(longer_than_s)) return false;
  said_[rule] = true;
  return true;
}

void DangerMonitor::watch(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns) {
  learn(physics);
  watch_area(hardware, physics, now_ns);
  watch_sources(hardware, physics, now_ns);
  watch_terminals(hardware, physics, now_ns);
  watch_direct(hardware, physics, now_ns);
  for (int source = 1; source < max_sources; ++source) was_on_[source] = hardware.source_on(source);
}

void DangerMonitor::watch_area(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns) {
  bool const live = is_live(physics);
  double const chain = parameters_.chain_time_s;
  bool const unlocked = !hardware.gate_open() && !hardware.gate_locked();
  auto const with = [&](char const* what) { return [this, &physics, what] { return what + live_words(physics); }; };
  auto const plain = [](char const* what) { return [what] { return std::string(what); }; };
  state(gate_open_live, hardware.gate_open() && live, chain, now_ns, with("gate open with "));
  state(gate_unlocked_live, unlocked && live, chain, now_ns, with("gate unlocked with "));
  state(gate_unlocked_unearthed, unlocked && !hardware.earth_fully_closed(), chain, now_ns,
        plain("gate unlocked before the earth is closed"));
  state(green_live, hardware.green_lit() && (live || !hardware.earth_fully_closed()), chain, now_ns, [&] {
    return live ? "green lamp lit with " + live_words(physics) : "green lamp lit with the earth not closed";
  });
  bool const inside = hardware.person_inside || faults_.on("person-inside");
  state(person_inside, inside && !hardware.earth_fully_closed(), chain, now_ns,
        plain("earth opened with a person inside"));
  // Absorption: once it was low with its source off, it must stay low until somebody has earthed it.
  bool const on = hardware.any_source_on();
  if (on) {
    was_live_ = was_live_ || live;
    discharged_ = false;
  } else if (was_live_ && !live) {
    discharged_ = true;
  }
  state(recharged, !on && discharged_ && live, chain, now_ns, with("recharged after discharge: "));
}

void DangerMonitor::watch_sources(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns) {
  auto const plain = [](char const* what) { return [what] { return std::string(what); }; };
  double const chain = parameters_.chain_time_s;
  bool const any = hardware.any_source_on();
  bool const high_power = hardware.source_on(ac) || hardware.source_on(dielectric);
  state(earth_on_source, high_power && hardware.earth_fully_closed(), chain, now_ns,
        plain("earth closed with a source on"));
  bool const unwarned =
      any && physics.highest_v() > live_v && hardware.warned_s() < (physics.highest_v() > 1000.0 ? 3.0 : 1.0);
  state(no_warning, unwarned, chain, now_ns, plain("energised with no warning given"));
  double const watchdog = bench_.guard.watchdog.in(seconds) + parameters_.drop_out_s + parameters_.scan_s;
  state(no_heartbeat, any && hardware.heartbeat_age_s(now_ns) > watchdog, chain, now_ns,
        plain("energised with no live heartbeat"));
  int on = 0;
  for (int source = 1; source < max_sources; ++source) on += hardware.source_on(source) ? 1 : 0;
  state(two_sources, on > 1, chain, now_ns, plain("two sources on the unit"));

  for (int source : {ac, dielectric}) {
    if (!hardware.source_on(source) || was_on_[source]) continue;
    auto const& supply = source == ac ? physics.source() : physics.dielectric();
    double const volts = supply.regulator_v(now_ns);
    if (volts > 0.03 * supply.range_v() && volts > 1.0) {
      act(now_ns, fmt::format("source closed away from zero, at {:.0f} V", volts));
    }
  }
  bool const driven = high_power && physics.output_v() > live_v;
  if (!high_power && physics.model().broken_down()) broken_ = true;
  state(broken_again, broken_ && driven, chain, now_ns, plain("energised again a unit marked as broken down"));
  auto const& supply = hardware.source_on(dielectric) ? physics.dielectric() : physics.source();
  bool const command_stands = supply.order().volts > 0.0 && supply.at_set(now_ns);
  bool const above = command_stands && supply.regulator_v(now_ns) > 1.05 * supply.order().volts;
  bool const never_asked = supply.order().volts <= 0.0 && !supply.moving(now_ns) && supply.regulator_v(now_ns) > 1.0;
  state(rising, high_power && (above || never_asked), 2.5, now_ns, plain("volts risen with no command"));
  state(transformer_open, faults_.on("ct-secondary-open") && hardware.source_on(ac) && physics.output_a() > 0.5, chain,
        now_ns, plain("current transformer's secondary open under current"));
}

void DangerMonitor::watch_terminals(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns) {
  double const chain = parameters_.chain_time_s;
  auto const& values = physics.terminal_volts();
  auto const& written = hardware.written();
  std::size_t above = values.size(), earthed = values.size(), unlisted = values.size();
  bool meter_over = false;
  if (physics.highest_v() > live_v) {
    auto const& names = physics.model().terminals();
    for (std::size_t i = 0; i < values.size() && i < bits_.size(); ++i) {
      if (values[i] > ceilings_[i]) above = i;
      if (values[i] <= live_v) continue;
      if ((written.earthed_terminals & bits_[i]) != 0) earthed = i;
      if ((written.live_terminals & bits_[i]) == 0) unlisted = i;
      if (faults_.on("meter-left-on-hv") && names[i][0] == 'H' && values[i] > desk_instrument_v) meter_over = true;
    }
    bool const desk = physics.path() == SourcePath::ratio || physics.path() == SourcePath::resistance;
    if (desk && hardware.any_source_on() && physics.highest_v() > desk_instrument_v) meter_over = true;
  }
  auto const plain = [](char const* what) { return [what] { return std::string(what); }; };
  auto const at = [&](char const* what, std::size_t i) {
    return [&physics, &values, what, i] {
      return fmt::format("{}: {} at {:.0f} V", what, physics.model().terminals()[i], values[i]);
    };
  };
  state(above_ceiling, above < values.size(), chain, now_ns, at("terminal above its insulation's ceiling", above));
  state(live_while_earthed, earthed < values.size(), chain, now_ns,
        at("terminal driven while declared earthed", earthed));
  state(live_unlisted, unlisted < values.size(), chain, now_ns,
        at("terminal live though the connection code does not list it", unlisted));
  state(beyond_rating, meter_over, chain, now_ns,
        [&] { return "instrument connected beyond its rating: " + live_words(physics); });

  bool const stressed = physics.path() == SourcePath::dielectric
                            ? hardware.source_on(dielectric) && physics.output_v() > 1000.0
                            : hardware.source_on(ac) && physics.highest_v() > live_v &&
                                  physics.source().order().hertz > 1.3 * physics.unit().rated_frequency.in(hertz);
  bool arrester = physics.arrester_conducts(), strap = false;
  if (stressed) {
    for (auto const& one : physics.unit().arresters) arrester = arrester || is_on(physics, one);
  }
  if (stressed && physics.path() == SourcePath::dielectric) {
    for (auto const& one : physics.unit().straps) {
      strap = strap || (is_on(physics, one) && is_clipped(physics.wiring(), one.terminal));
    }
  }
  state(arrester_on, arrester, chain, now_ns, plain("arrester on in a dielectric step, or over its volts"));
  state(strap_on, strap, chain, now_ns, plain("strap on a terminal that is driven against earth"));
}

void DangerMonitor::watch_direct(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns) {
  bool const closed = hardware.short_closed();
  bool const flowing = std::abs(physics.direct_a()) > direct_flux_limit_a;
  if (short_was_closed_ && !closed && flowing && physics.path() == SourcePath::resistance) {
    act(now_ns, fmt::format("shorting contact opened with {:.3f} A in the winding", physics.direct_a()));
  }
  short_was_closed_ = closed;
  bool const kick = physics.path() == SourcePath::resistance && !hardware.source_on(direct) && !closed &&
                    physics.highest_v() > live_v;
  bool const cut_hard =
      faults_.on("dc-discharge-path-open") && physics.path() == SourcePath::resistance && physics.highest_v() > 1000.0;
  state(direct_kick, kick || cut_hard, 0.0, now_ns, [&] { return "direct current broken: " + live_words(physics); });
}

void DangerMonitor::hands_moved(InterlockHardware const& hardware, Physics const& physics, std::string const& what,
                                std::int64_t now_ns) {
  if (std::abs(physics.direct_a()) > direct_flux_limit_a) {
    act(now_ns, fmt::format("{} with {:.3f} A of direct current in the winding", what, physics.direct_a()));
  } else if (is_live(physics)) {
    act(now_ns, what + " with " + live_words(physics));
  } else if (hardware.any_source_on()) {
    act(now_ns, what + " with a source on the unit");
  }
}

}  // namespace benchward::sim
