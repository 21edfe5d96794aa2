// SPDX-License-Identifier: MIT
#include "sim/wires/instrument_points.hpp"

#include <algorithm>

#include "drivers/profile/role_names.hpp"

namespace benchward::sim {

std::optional<double> InstrumentPoints::number(std::string const& name) {
  bool const known = !profile_.known_row.empty() && name == profile_.known_row;
  if (known) {
    auto const own = instrument_.point(name);
    return own ? own : profile_.known_value;
  }
  if (is_setting(name)) return instrument_.point(name);
  if (fault("not-a-number")) return std::nullopt;
  if (!fault("frozen-values")) {
    frozen_.erase(name);
    return instrument_.point(name);
  }
  auto const [kept, first] = frozen_.try_emplace(name);
  if (first) kept->second = instrument_.point(name);
  return kept->second;
}

std::uint16_t InstrumentPoints::bits(std::vector<NamedBit> const& named) {
  unsigned word = 0;
  for (auto const& bit : named) {
    if (instrument_.point(bit.name).value_or(0.0) != 0.0) word |= 1u << static_cast<unsigned>(bit.bit);
  }
  return static_cast<std::uint16_t>(word);
}

std::optional<std::string> InstrumentPoints::text(std::string const& name) {
  auto own = instrument_.text(name);
  if (!own && name == "maker") own = profile_.maker;
  if (!own && name == "model") own = profile_.model;
  if (!own && name == "serial") own = serial_;
  if (!own && name == "firmware" && !profile_.firmware.empty()) own = profile_.firmware.front();
  if (own && name == "serial" && !own->empty() && fault("wrong-identity")) own->back() = own->back() == '7' ? '8' : '7';
  return own;
}

bool InstrumentPoints::is_setting(std::string const& name) const {
  auto const* names = names_of_role(profile_.role);
  return names != nullptr && std::any_of(names->settings.begin(), names->settings.end(),
                                         [&](auto const& setting) { return setting.name == name; });
}

bool InstrumentPoints::is_command(std::string const& row, double value_in_unit) const {
  if (is_setting(row)) return false;
  for (auto const& [name, steps] : profile_.sequences) {
    for (auto const& step : steps) {
      auto const constant = step.constants.find(row);
      if (constant != step.constants.end() && constant->second == value_in_unit) return true;
    }
  }
  return false;
}

std::optional<std::string> InstrumentPoints::sequence_of(std::map<std::string, double> const& written) const {
  using Kind = SequenceStep::Kind;
  auto const is_written = [&](auto const& constant) {
    auto const found = written.find(constant.first);
    return found != written.end() && found->second == constant.second;
  };
  for (auto const& [name, steps] : profile_.sequences) {
    for (auto step = steps.begin(); step != steps.end(); ++step) {
      if (step->kind != Kind::write) continue;
      if (!step->constants.empty()) {
        bool const by_command = std::any_of(step->constants.begin(), step->constants.end(),
                                            [&](auto const& constant) { return !is_setting(constant.first); });
        // Settings that go with the command may have come in requests of their own (function 6): the command decides.
        bool const whole = by_command || written.size() == step->rows.size();
        if (whole && std::all_of(step->constants.begin(), step->constants.end(), is_written)) return name;
        continue;
      }
      bool const last =
          std::none_of(step + 1, steps.end(), [](auto const& later) { return later.kind == Kind::write; });
      bool const same =
          step->rows.size() == written.size() &&
          std::all_of(step->rows.begin(), step->rows.end(), [&](auto const& row) { return written.count(row) != 0; });
      if (last && same) return name;
    }
  }
  return std::nullopt;
}

std::optional<std::string> InstrumentPoints::sequence_of_command(std::string const& command) const {
  for (auto const& [name, steps] : profile_.sequences) {
    for (auto const& step : steps) {
      if (step.kind == SequenceStep::Kind::send && step.command == command) return name;
    }
  }
  return std::nullopt;
}

}  // namespace benchward::sim
