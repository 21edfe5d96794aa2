// SPDX-License-Identifier: MIT
#include "sim/wires/wire_faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "sim/faults/fault_list.hpp"

namespace benchward::sim {

namespace {

constexpr std::string_view io_role = "io";
constexpr std::uint64_t answers_before_a_drop = 20;
constexpr double pause_of_a_split_s = 0.02;

bool is_serial(WireKind kind) { return kind == WireKind::modbus_rtu || kind == WireKind::text; }
bool is_modbus(WireKind kind) { return kind == WireKind::modbus_rtu || kind == WireKind::modbus_tcp; }

/// Whether the fault can happen on such a wire at all.
bool possible(std::string_view fault, WireKind kind) {
  if (fault == "wrong-transaction") return kind == WireKind::modbus_tcp;
  if (fault == "wrong-check") return kind == WireKind::modbus_rtu;
  if (fault == "wrong-unit-number" || fault == "words-swapped" || fault == "register-off-by-one" ||
      fault == "torn-value") {
    return is_modbus(kind);
  }
  if (fault == "corrupted-frames") return kind == WireKind::modbus_rtu;
  if (fault == "corrupted-text") return kind == WireKind::text;
  if (fault == "line-echo" || fault == "noise-before-answers") return is_serial(kind);
  return true;
}

bool on_every_serial_line(std::string_view fault) {
  return fault == "line-echo" || fault == "corrupted-frames" || fault == "corrupted-text";
}
bool of_the_io_block(std::string_view fault) { return fault.substr(0, 3) == "io-"; }

}  // namespace

WireFaults::WireFaults(std::uint64_t seed) : random_(static_cast<std::mt19937::result_type>(seed ^ (seed >> 32))) {}

void WireFaults::add_device(std::string const& name, std::string const& role, WireKind kind) {
  Device device;
  device.name = name;
  device.role = role;
  device.kind = kind;
  devices_.push_back(std::move(device));
}

WireFaults::Device* WireFaults::device_named(std::string_view name) {
  auto const found =
      std::find_if(devices_.begin(), devices_.end(), [&](auto const& entry) { return entry.name == name; });
  return found == devices_.end() ? nullptr : &*found;
}

std::vector<WireFaults::Device const*> WireFaults::targets(std::string const& fault, double value,
                                                           std::optional<std::string> const& device,
                                                           std::string& why_not) const {
  std::vector<Device const*> instruments, fitting, io;
  for (auto const& entry : devices_) {
    if (entry.role == io_role) {
      io.push_back(&entry);
    } else {
      instruments.push_back(&entry);
      if (possible(fault, entry.kind)) fitting.push_back(&entry);
    }
  }
  std::vector<Device const*> chosen;
  if (device) {
    for (auto const& entry : devices_) {
      if (entry.name == *device) chosen.push_back(&entry);
    }
    if (chosen.empty()) {
      std::string names;
      for (auto const& entry : devices_) names += (names.empty() ? "" : ", ") + entry.name;
      why_not = fmt::format("device: this bench has no \"{}\"; it has {}", *device, names);
    }
  } else if (of_the_io_block(fault)) {
    chosen = io;
  } else if (on_every_serial_line(fault)) {
    chosen = fitting;
  } else if (value == -1.0) {
    chosen = io;
  } else if (value == 0.0) {
    for (auto const* entry : fitting) {
      if (entry->role == "power_analyzer") chosen = {entry};
    }
    if (chosen.empty() && !fitting.empty()) chosen = {fitting.front()};
  } else if (value != std::floor(value) || value < 0.0 || value > static_cast<double>(instruments.size())) {
    why_not = fmt::format(
        "value: {} is no instrument of this bench; give 1 to {}, 0 for the power analyzer, -1 for the "
        "I/O block",
        value, instruments.size());
  } else {
    chosen = {instruments[static_cast<std::size_t>(value) - 1]};
  }
  if (!why_not.empty()) return {};
  for (auto const* entry : chosen) {
    if (!possible(fault, entry->kind)) {
      why_not = fmt::format("{}: \"{}\" cannot happen on the kind of wire that {} has", device ? "device" : "value",
                            fault, entry->name);
      return {};
    }
  }
  if (chosen.empty()) why_not = fmt::format("fault: this bench has no wire on which \"{}\" can happen", fault);
  return chosen;
}

std::string WireFaults::set(std::string const& fault, std::optional<double> value,
                            std::optional<std::string> const& device) {
  auto const* description = find_fault(fault);
  if (description == nullptr || description->where != "wires") {
    return fmt::format("fault: \"{}\" is no fault of the wires; the nearest known is \"{}\"", fault,
                       nearest_fault(fault));
  }
  double const amount = value.value_or(description->default_value);
  if (!(amount >= description->lowest && amount <= description->highest)) {
    return fmt::format("value: \"{}\" of {} must lie between {} and {} {}, got {}", description->parameter, fault,
                       description->lowest, description->highest, description->unit, amount);
  }
  std::string why_not;
  auto const chosen = targets(fault, amount, device, why_not);
  if (!why_not.empty()) return why_not;
  clear(fault);
  if (fault == "line-echo" && amount == 0.0) return {};
  for (auto const* entry : chosen) in_force_[{entry->name, fault}] = amount;
  return {};
}

bool WireFaults::clear(std::string_view fault_or_all) {
  auto const before = in_force_.size();
  bool const all = fault_or_all == "all";
  for (auto entry = in_force_.begin(); entry != in_force_.end();) {
    entry = all || entry->first.second == fault_or_all ? in_force_.erase(entry) : std::next(entry);
  }
  if (all || fault_or_all == "io-link-lost") io_lost_ = false;
  if (all || fault_or_all == "io-frozen") io_frozen_ = false;
  return in_force_.size() != before;
}

std::optional<double> WireFaults::value(std::string_view device, std::string_view fault) const {
  if (in_force_.empty()) return std::nullopt;
  auto const found = in_force_.find(std::pair<std::string, std::string>(device, fault));
  if (found == in_force_.end()) return std::nullopt;
  return found->second;
}

bool WireFaults::due(std::string_view fault, AnswerContext const& context) {
  for (auto const& [key, after_s] : in_force_) {
    if (key.second == fault && context.contactors_closed_s && *context.contactors_closed_s >= after_s) return true;
  }
  return false;
}

bool WireFaults::io_frozen(AnswerContext const& context) {
  if (due("io-frozen", context)) io_frozen_ = true;
  return io_frozen_;
}

WireAnswer WireFaults::in_pieces(Device& device, Bytes const& request, Bytes frame, AnswerContext const& context) {
  WireAnswer answer;
  auto const is_on = [&](std::string_view fault) { return on(device.name, fault); };
  ++device.answers;
  if (is_on("adapter-unplugged")) {
    answer.close_after = true;
    return answer;
  }
  if (device.role == io_role && due("io-link-lost", context)) io_lost_ = true;
  if (is_on("line-echo")) answer.pieces.push_back({0.0, request});
  if (is_on("no-answer") || (device.role == io_role && io_lost_) || frame.empty()) return answer;
  if (is_on("stale-answer")) {
    std::swap(frame, device.answer_before);
    if (frame.empty()) return answer;
  }
  for (auto const* fault : {"corrupted-frames", "corrupted-text"}) {
    auto const percent = value(device.name, fault);
    if (!percent) continue;
    auto const draw = random_(), place = random_(), bit = random_();
    if (static_cast<double>(draw) < *percent / 100.0 * 4294967296.0) {
      auto& byte = frame[place % frame.size()];
      byte = static_cast<std::uint8_t>(byte ^ (1u << (bit % 8)));
    }
  }
  if (is_on("noise-before-answers")) frame.insert(frame.begin(), static_cast<std::uint8_t>(random_() % 256));
  if (is_on("half-answers")) frame.resize(frame.size() / 2);

  // A station's time limits are wall times, however fast the bench runs: waits that are to pass them are so, too. The
  // pause of a split answer passes none: it is bench time, or at 20 times each answer would cost the step 0.4 s.
  double const scale = context.time_scale;
  double wait_s = 0.0;
  if (is_on("late-answer")) wait_s = 1.5 * context.time_limit_s * scale;
  if (auto const late_ms = value(device.name, "io-late")) wait_s = *late_ms / 1000.0 * scale;
  for (int copy = 0; copy < (is_on("doubled-answers") ? 2 : 1); ++copy) {
    if (is_on("dribbled-answers")) {
      for (auto const byte : frame) {
        answer.pieces.push_back({wait_s + context.time_limit_s / 3.0 * scale, Bytes{byte}});
        wait_s = 0.0;
      }
    } else if (is_on("split-answers") && frame.size() > 1) {
      auto const middle = frame.begin() + static_cast<std::ptrdiff_t>(frame.size() / 2);
      answer.pieces.push_back({wait_s, Bytes(frame.begin(), middle)});
      answer.pieces.push_back({pause_of_a_split_s, Bytes(middle, frame.end())});
    } else {
      answer.pieces.push_back({wait_s, frame});
    }
    wait_s = 0.0;
  }
  answer.close_after = is_on("link-drops") && device.answers % answers_before_a_drop == 0;
  return answer;
}

WireAnswer WireFaults::shape(std::string const& name, TcpFrame const& request, Bytes answer,
                             AnswerContext const& context) {
  Device* device = device_named(name);
  if (device == nullptr) return {{{0.0, encode_tcp({request.transaction, request.unit, std::move(answer)})}}, false};
  if (on(name, "busy-device")) answer = exception_pdu(request.pdu[0], ModbusException::busy);
  TcpFrame frame{request.transaction, request.unit, std::move(answer)};
  if (on(name, "wrong-unit-number")) ++frame.unit;
  if (on(name, "wrong-transaction")) ++frame.transaction;
  return in_pieces(*device, encode_tcp(request), encode_tcp(frame), context);
}

WireAnswer WireFaults::shape(std::string const& name, RtuFrame const& request, Bytes answer,
                             AnswerContext const& context) {
  Device* device = device_named(name);
  if (device == nullptr) return {{{0.0, encode_rtu({request.unit, std::move(answer)})}}, false};
  if (on(name, "busy-device")) answer = exception_pdu(request.pdu[0], ModbusException::busy);
  RtuFrame frame{request.unit, std::move(answer)};
  if (on(name, "wrong-unit-number")) ++frame.unit;
  auto bytes = encode_rtu(frame);
  if (on(name, "wrong-check")) bytes.back() = static_cast<std::uint8_t>(bytes.back() ^ 0x10);
  return in_pieces(*device, encode_rtu(request), std::move(bytes), context);
}

WireAnswer WireFaults::shape_text(std::string const& name, Bytes const& request, Bytes answer,
                                  AnswerContext const& context) {
  Device* device = device_named(name);
  if (device == nullptr) return {{{0.0, std::move(answer)}}, false};
  return in_pieces(*device, request, std::move(answer), context);
}

}  // namespace benchward::sim
