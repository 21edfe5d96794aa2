// SPDX-License-Identifier: MIT
#include "sim/bench/sim_bench.hpp"

#include <stdexcept>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"
#include "sim/bench/body.hpp"
#include "sim/faults/fault_list.hpp"

namespace benchward::sim {
SimBench::SimBench(Bench const& bench, Unit const& unit, Options const& options) {
  try {
    body_ = std::make_unique<Body>(bench, unit, options);
  } catch (UnsolvableUnit const& error) {
    throw DocumentError("unit.unsolvable", "unit document", "", error.what());
  }
}
SimBench::~SimBench() = default;

void SimBench::advance_to(std::int64_t monotonic_ns) { body_->advance_to(monotonic_ns); }
std::int64_t SimBench::now_ns() const { return body_->now_ns; }

std::vector<SimInstrument*> SimBench::instruments() { return body_->instruments.all(); }
SimInstrument* SimBench::instrument(std::string_view name) { return body_->instruments.find(name); }

BenchInputs SimBench::exchange(BenchOutputs const& outputs) {
  body_->hardware.write(outputs, body_->now_ns);
  body_->settle();
  return body_->inputs();
}
BenchInputs SimBench::inputs() const { return body_->inputs(); }

std::string SimBench::connect(Connection const& connection) {
  auto why = body_->lay(connection);
  if (!why.empty()) return why;
  if (connection.tap && connection.tap != body_->asked_tap) return set_tap(*connection.tap);
  return {};
}

std::string SimBench::disconnect_all() {
  if (body_->physics.connected())
    body_->danger.hands_moved(body_->hardware, body_->physics, "leads taken off", body_->now_ns);
  body_->physics.set_wiring(Connection{}, false);
  body_->settle();
  return {};
}

std::string SimBench::set_tap(int position) {
  auto& body = *body_;
  body.danger.hands_moved(body.hardware, body.physics, "tap changer moved", body.now_ns);
  int actual = position;
  if (body.faults.on("unit-on-wrong-tap")) {
    int const off = position + static_cast<int>(body.faults.value_or("unit-on-wrong-tap", 0.0));
    for (auto const& tap : body.physics.unit().hv.taps) {
      if (tap.position == off) actual = off;
    }
    if (actual == position && !body.physics.unit().hv.taps.empty()) {
      actual = position == body.physics.unit().hv.taps.front().position ? position + 1 : position - 1;
    }
  }
  try {
    body.physics.model().set_tap(actual);
  } catch (std::invalid_argument const& error) {
    return error.what();
  }
  body.asked_tap = position;
  body.physics.faults_changed();
  return {};
}

std::string SimBench::set_gate(bool open) {
  body_->hardware.set_gate(open, body_->now_ns);
  body_->settle();
  return {};
}

std::string SimBench::press(std::string_view button) {
  auto& hardware = body_->hardware;
  if (button == "reset") {
    hardware.press_reset(body_->now_ns);
  } else if (button == "estop") {
    hardware.press_stop(body_->now_ns);
  } else if (button == "release-estop") {
    hardware.release_stop(body_->now_ns);
  } else if (button == "search") {
    if (hardware.person_inside) return "somebody is still inside";
    hardware.searched = true;
  } else {
    return fmt::format("there is no button \"{}\"; there are: reset, estop, release-estop, search", button);
  }
  body_->settle();
  return {};
}

std::string SimBench::set_accessory(std::string const& name, std::string const& state) {
  auto& body = *body_;
  auto const& unit = body.physics.unit();
  auto const among = [&](std::vector<Accessory> const& list) {
    for (auto const& one : list) {
      if (one.name == name) return true;
    }
    return false;
  };
  body.danger.hands_moved(body.hardware, body.physics, "accessory moved", body.now_ns);
  if (body.faults.on("strap-left-on") && state == "off" && among(unit.straps)) return {};  // forgotten
  if (body.faults.on("arrester-left-on") && state == "off" && among(unit.arresters)) return {};
  bool const breaker = unit.breaker && (unit.breaker->name == name || name == "breaker");
  if (body.faults.on("breaker-left-open") && breaker) return {};
  body.physics.model().dual_voltage_dead(body.faults.on("dual-voltage-switch-dead"));
  try {
    body.physics.model().set_accessory(name, state);
  } catch (std::invalid_argument const& error) {
    return error.what();
  }
  body.physics.faults_changed();
  return {};
}

std::string SimBench::look(std::string const& name, std::string const& state) const {
  auto const seen = body_->physics.model().accessory(name);
  return seen == state ? std::string() : fmt::format("{} is \"{}\"", name, seen);
}

std::string SimBench::put_unit(Unit const& unit) {
  auto& body = *body_;
  if (body.physics.connected()) {
    body.danger.hands_moved(body.hardware, body.physics, "unit taken away with leads on", body.now_ns);
  }
  try {
    body.physics.set_unit(unit);
    body.apply_unit_faults();
  } catch (UnsolvableUnit const& error) {
    return error.what();
  } catch (DocumentError const& error) {
    return error.what();
  }
  body.danger.new_unit();
  body.asked_tap.reset();
  body.settle();
  return {};
}

std::string SimBench::enter_area(bool inside) {
  body_->hardware.person_inside = inside;
  if (inside) body_->hardware.searched = false;
  body_->settle();
  return {};
}

std::string SimBench::set_fault(FaultRequest const& request) {
  auto& body = *body_;
  auto const* fault = find_fault(request.name);
  if (fault != nullptr && !applies_to(*fault, body.physics.unit())) {
    return fmt::format("fault \"{}\" is none of this unit's", request.name);
  }
  auto why = body.faults.set(request.name, request.value);
  if (!why.empty()) return why;
  try {
    body.apply_unit_faults();
  } catch (DocumentError const& error) {
    body.faults.clear(request.name);
    body.apply_unit_faults();
    return error.what();
  }
  body.timed_events();
  body.settle();
  return {};
}

std::string SimBench::clear_fault(std::string_view name_or_all) {
  auto why = body_->faults.clear(name_or_all);
  if (!why.empty()) return why;
  body_->apply_unit_faults();
  body_->timed_events();
  body_->settle();
  return {};
}

Truth SimBench::truth() const {
  auto const& body = *body_;
  auto const& hardware = body.hardware;
  Truth truth;
  truth.simulated_time_s = static_cast<double>(body.now_ns) * 1e-9;
  truth.energized = hardware.any_source_on();
  truth.output_voltage_v = body.physics.output_v();
  truth.output_current_a = body.physics.output_a();
  truth.dc_current_a = body.physics.direct_a();
  auto const& names = body.physics.model().terminals();
  auto const& values = body.physics.terminal_volts();
  for (std::size_t i = 0; i < names.size() && i < values.size(); ++i) truth.terminals.emplace_back(names[i], values[i]);
  for (auto const& source : body.bench.sources) {
    for (int which = 0; which < 2; ++which) {
      truth.supply_contactors.push_back(hardware.contactor_closed(static_cast<int>(source.path), which) ? "closed"
                                                                                                        : "open");
    }
  }
  truth.earth_switch = hardware.earth_fully_closed() ? "closed" : hardware.earth_fully_open() ? "open" : "moving";
  truth.gate = hardware.gate_open() ? "open" : hardware.gate_locked() ? "locked" : "closed";
  truth.estop = hardware.stop_pressed() ? "pressed" : "healthy";
  truth.heartbeat_age_s = hardware.heartbeat_age_s(body.now_ns);
  truth.dangerous_moments = body.danger.moments();
  return truth;
}

std::vector<std::pair<std::string, double>> SimBench::true_values() const {
  auto values = body_->physics.model().true_values();
  values.emplace_back("room_c", body_->parameters.room_c);  // what a rested unit's windings have before it is energised
  return values;
}

}  // namespace benchward::sim
