// SPDX-License-Identifier: MIT
#include "sim/bench/interlock_hardware.hpp"

#include <algorithm>
#include <cmath>

namespace benchward::sim {
namespace {

constexpr int ac = static_cast<int>(SourcePath::ac_source);
constexpr int dielectric = static_cast<int>(SourcePath::dielectric);
constexpr int direct = static_cast<int>(SourcePath::resistance);

}  // namespace

InterlockHardware::InterlockHardware(Bench const& bench, SimulationParameters const& parameters, FaultSet const& faults)
    : bench_(bench), parameters_(parameters), faults_(faults) {
  regulator_at_zero.fill(true);
  // At power-on the earth is closed, the shorting contact is closed, the resistor is on.
  resistor_.set_coil(true, -1, 0, 0);
  resistor_.advance(0, false);
}

bool InterlockHardware::watchdog_alive(std::int64_t now_ns) const {
  if (!heartbeat_seen_) return false;
  if (watchdog_ms() == 0) return true;  // the trap: a block with no watchdog time holds its outputs for ever
  return now_ns - heartbeat_ns_ <= to_ns(watchdog_ms() * 1e-3);
}

double InterlockHardware::heartbeat_age_s(std::int64_t now_ns) const {
  return heartbeat_seen_ ? static_cast<double>(now_ns - heartbeat_ns_) * 1e-9 : static_cast<double>(now_ns) * 1e-9;
}

std::uint16_t InterlockHardware::watchdog_ms() const {
  return faults_.on("watchdog-disabled") ? std::uint16_t{0} : written_.watchdog_ms;
}

void InterlockHardware::write(BenchOutputs const& outputs, std::int64_t now_ns) {
  if (!heartbeat_seen_ || outputs.heartbeat != written_.heartbeat) {
    heartbeat_ns_ = now_ns;
    heartbeat_seen_ = true;
  }
  written_ = outputs;
  settle(now_ns);
}

std::int64_t InterlockHardware::next_event_ns() const {
  std::int64_t next = never_ns;
  // What is due but held (welded, stuck) is no event.
  auto const consider = [&](std::int64_t due_ns) {
    if (due_ns > moved_ns_) next = std::min(next, due_ns);
  };
  consider(short_open_.due_ns());
  consider(resistor_.due_ns());
  for (auto const& pair : contactors_) {
    consider(pair[0].due_ns());
    consider(pair[1].due_ns());
  }
  if (heartbeat_seen_ && watchdog_ms() != 0 && chain_closed_) consider(heartbeat_ns_ + to_ns(watchdog_ms() * 1e-3) + 1);
  consider(reset_until_ns_);
  double const target = earth_coil() ? 1.0 : 0.0;
  bool const stuck = target > earth_position_ ? faults_.on("earth-sticks-closed") : faults_.on("earth-sticks-open");
  if (earth_position_ != target && !stuck) {
    consider(moved_ns_ + to_ns(std::abs(target - earth_position_) * parameters_.earth_travel_s) + 1);
  }
  return next;
}

void InterlockHardware::move_earth(std::int64_t now_ns) {
  double const elapsed = static_cast<double>(now_ns - moved_ns_) * 1e-9;
  if (red_lit() && siren_sounds() && earth_fully_closed() && !gate_open_ && gate_locked_) warned_s_ += elapsed;
  double const travel = elapsed / parameters_.earth_travel_s;
  if (earth_coil()) {
    if (!faults_.on("earth-sticks-closed")) earth_position_ = std::min(1.0, earth_position_ + travel);
  } else if (!faults_.on("earth-sticks-open")) {
    earth_position_ = std::max(0.0, earth_position_ - travel);
  }
  moved_ns_ = now_ns;
}

bool InterlockHardware::held(int source, int which) const {
  // A weld holds what has closed; it does not close what is open.
  if (!faults_.on("contactor-welded")) return false;
  auto const& one = contactors_[static_cast<std::size_t>(source)][static_cast<std::size_t>(which)];
  int const welded = static_cast<int>(faults_.value_or("contactor-welded", 1.0));
  bool const high_power = source == ac || source == dielectric;
  return high_power && which == welded - 1 && one.closed() && !one.coil();
}

void InterlockHardware::advance(std::int64_t now_ns) {
  move_earth(now_ns);
  for (int source = 1; source < max_sources; ++source) {
    for (int which = 0; which < 2; ++which) {
      contactors_[static_cast<std::size_t>(source)][static_cast<std::size_t>(which)].advance(now_ns,
                                                                                             held(source, which));
    }
  }
  short_open_.advance(now_ns, (faults_.on("short-sticks-closed") && !short_open_.closed()) ||
                                  (faults_.on("short-sticks-open") && short_open_.closed()));
  resistor_.advance(now_ns, faults_.on("resistor-failed"));
  if (faults_.on("resistor-failed") && resistor_.closed()) {
    resistor_ = Contactor();
  }
  judge_chain(now_ns);
}

void InterlockHardware::settle(std::int64_t now_ns) {
  move_earth(now_ns);
  judge_chain(now_ns);
}

void InterlockHardware::judge_chain(std::int64_t now_ns) {
  bool const gates = gate_reads_closed(0) && gate_reads_closed(1);
  bool const stops = stop_reads_healthy(0) && stop_reads_healthy(1);
  bool const alive = watchdog_alive(now_ns);
  bool const live = any_source_on();
  // Once the gate fell while live, or a stop was pressed, the relay stays off until reset is pressed and released.
  if (!stops || (live && !gates)) latched_ = true;
  if (latched_ && stops && gates && reset_until_ns_ != 0 && now_ns >= reset_until_ns_) latched_ = false;
  if (reset_until_ns_ != 0 && now_ns >= reset_until_ns_) reset_until_ns_ = 0;
  chain_closed_ = gates && stops && alive && !latched_;

  outputs_ = alive ? written_ : BenchOutputs{};
  if (outputs_.trip_breaker) breaker_tripped_ = true;

  bool const locked_before = gate_locked_;
  // The lock's bolt is held by spring until the earth is closed; inside there is always a handle.
  gate_locked_ = !gate_open_ && !faults_.on("gate-lock-failed") && (outputs_.lock_gate || !earth_fully_closed());
  if (locked_before && !gate_locked_) warned_s_ = 0.0;

  for (int source = 1; source < max_sources; ++source) {
    bool const high_power = source == ac || source == dielectric;
    for (int which = 0; which < 2; ++which) {
      auto const index = static_cast<std::size_t>(source);
      auto& one = contactors_[index][static_cast<std::size_t>(which)];
      bool want = chain_closed_ && (which == 0 ? outputs_.first[source] : outputs_.second[source]);
      if (high_power) {
        bool const earth_reads_open = earth_fully_open() || faults_.on("earth-contacts-disagree");
        want = want && earth_reads_open;
        if (!one.closed() && !one.coil()) want = want && regulator_at_zero[index];  // close from zero only
      }
      double pull_in = parameters_.pull_in_s;
      double drop_out = source == direct ? parameters_.direct_drop_out_s : parameters_.drop_out_s;
      if (which == 0) {
        pull_in = faults_.value_or("contactor-slow-to-close", pull_in);
        if (source != direct) drop_out = faults_.value_or("contactor-slow-to-open", drop_out);
      }
      one.set_coil(want, now_ns, to_ns(pull_in), to_ns(drop_out));
    }
  }
  short_open_.set_coil(outputs_.open_short && chain_closed_, now_ns, to_ns(parameters_.short_s),
                       to_ns(parameters_.short_s));
  resistor_.set_coil(outputs_.resistor || !chain_closed_, now_ns, to_ns(parameters_.resistor_s),
                     to_ns(parameters_.resistor_s));
}

bool InterlockHardware::earth_coil() const {
  // Cross-interlock: while a source's two contactors are both closed, their auxiliary contacts hold the switch open.
  bool const held_open = !earth_fully_closed() && (source_on(ac) || source_on(dielectric));
  return held_open || (outputs_.open_earth && chain_closed_);
}

bool InterlockHardware::source_on(int source) const {
  return !breaker_tripped_ && contactor_closed(source, 0) && contactor_closed(source, 1);
}
bool InterlockHardware::any_source_on() const {
  for (int source = 1; source < max_sources; ++source) {
    if (source_on(source)) return true;
  }
  return false;
}
bool InterlockHardware::contactor_closed(int source, int which) const {
  return contactors_[static_cast<std::size_t>(source)][static_cast<std::size_t>(which)].closed();
}
bool InterlockHardware::mirror_open(int source, int which) const {
  if (faults_.on("mirror-contact-stuck") && source == ac && which == 0) return false;
  return !contactor_closed(source, which);
}

bool InterlockHardware::gate_reads_closed(int channel) const {
  if (channel == 1 && faults_.on("gate-channel-stuck")) return false;
  return !gate_open_;
}
bool InterlockHardware::stop_reads_healthy(int channel) const {
  if (channel == 1 && faults_.on("estop-channel-stuck")) return false;
  return !stop_pressed_;
}

bool InterlockHardware::red_lit() const { return outputs_.red && !faults_.on("red-lamp-failed"); }

bool InterlockHardware::green_lit() const {
  if (faults_.on("green-lamp-wrong")) return true;
  if (!earth_fully_closed() || outputs_.red) return false;
  for (auto const& source : bench_.sources) {
    int const index = static_cast<int>(source.path);
    if (!mirror_open(index, 0) || !mirror_open(index, 1)) return false;
  }
  return true;
}

void InterlockHardware::set_gate(bool open, std::int64_t now_ns) {
  settle(now_ns);
  gate_open_ = open;
  if (open) {
    warned_s_ = 0.0;
    searched = false;
  } else if (!person_inside) {
    searched = true;
  }
  settle(now_ns);
}
void InterlockHardware::press_stop(std::int64_t now_ns) {
  stop_pressed_ = true;
  settle(now_ns);
}
void InterlockHardware::release_stop(std::int64_t now_ns) {
  stop_pressed_ = false;
  settle(now_ns);
}
void InterlockHardware::press_reset(std::int64_t now_ns) {
  reset_until_ns_ = now_ns + to_ns(parameters_.reset_press_s);
  settle(now_ns);
}

void InterlockHardware::fill(BenchInputs& in, std::int64_t now_ns) const {
  in.stop_a = stop_reads_healthy(0);
  in.stop_b = stop_reads_healthy(1);
  for (int gate = 0; gate < max_gates; ++gate) {
    bool const exists = gate < bench_.gates;
    in.gate_a[gate] = exists && gate_reads_closed(0);
    in.gate_b[gate] = exists && gate_reads_closed(1);
    in.gate_locked[gate] = exists && gate_locked_;
  }
  in.chain_closed = chain_closed_;
  in.reset_pressed = reset_pressed(now_ns);
  bool const disagree = faults_.on("earth-contacts-disagree");
  in.earth_closed = earth_fully_closed() || disagree;
  in.earth_open = earth_fully_open() || disagree;
  in.resistor_on = resistor_on();
  in.red_ok = !faults_.on("red-lamp-failed");
  in.siren_ok = !faults_.on("siren-failed");
  in.red_lit = red_lit();
  in.green_lit = green_lit();
  in.short_closed = short_closed();
  in.hooks_home = !faults_.on("hook-not-home");
  in.person_inside = person_inside || faults_.on("person-inside");
  in.keys_home = !in.person_inside;
  in.covers_closed = true;
  in.area_searched = searched && !in.person_inside;
  in.two_hand = true;
  in.ground_ok = !faults_.on("ground-continuity-lost");
  in.breaker_closed = !breaker_tripped_;
  in.bypass_key = false;
  in.crane_clear = true;
  for (int source = 1; source < max_sources; ++source) {
    in.source[source].first_open = mirror_open(source, 0);
    in.source[source].second_open = mirror_open(source, 1);
  }
  in.watchdog_ms = watchdog_ms();
  in.heartbeat_echo = written_.heartbeat;
  in.owner_echo =
      faults_.on("strange-owner") ? static_cast<std::uint16_t>(faults_.value_or("strange-owner", 0.0)) : written_.owner;
  in.scan = static_cast<std::uint16_t>(now_ns / to_ns(parameters_.scan_s));
  in.challenge_answer = simulated_answer(written_.challenge);
}

}  // namespace benchward::sim
