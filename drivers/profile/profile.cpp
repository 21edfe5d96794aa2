// SPDX-License-Identifier: MIT
#include "drivers/profile/profile.hpp"

#include <algorithm>

namespace benchward {
namespace {
template <class Entry>
Entry const* named(std::vector<Entry> const& list, std::string const& name) {
  auto const found = std::find_if(list.begin(), list.end(), [&](auto const& entry) { return entry.name == name; });
  return found == list.end() ? nullptr : &*found;
}
}  // namespace

RegisterRow const* Profile::row(std::string const& row_name) const { return named(rows, row_name); }
ReadGroup const* Profile::group(std::string const& group_name) const { return named(groups, group_name); }
TextCommand const* Profile::command(std::string const& command_name) const { return named(commands, command_name); }
std::vector<SequenceStep> const* Profile::sequence(std::string const& sequence_name) const {
  auto const found = sequences.find(sequence_name);
  return found == sequences.end() ? nullptr : &found->second;
}

std::optional<UnitWord> unit_named(std::string const& unit) {
  static std::map<std::string, UnitWord> const units{{"V", {"voltage", 1.0}},
                                                     {"mV", {"voltage", 1e-3}},
                                                     {"kV", {"voltage", 1e3}},
                                                     {"uV", {"voltage", 1e-6}},
                                                     {"A", {"current", 1.0}},
                                                     {"mA", {"current", 1e-3}},
                                                     {"uA", {"current", 1e-6}},
                                                     {"kA", {"current", 1e3}},
                                                     {"W", {"power", 1.0}},
                                                     {"kW", {"power", 1e3}},
                                                     {"mW", {"power", 1e-3}},
                                                     {"ohm", {"resistance", 1.0}},
                                                     {"mohm", {"resistance", 1e-3}},
                                                     {"kohm", {"resistance", 1e3}},
                                                     {"Mohm", {"resistance", 1e6}},
                                                     {"uohm", {"resistance", 1e-6}},
                                                     {"Hz", {"frequency", 1.0}},
                                                     {"s", {"time", 1.0}},
                                                     {"ms", {"time", 1e-3}},
                                                     {"rad", {"angle", 1.0}},
                                                     {"mrad", {"angle", 1e-3}},
                                                     {"deg", {"angle", 3.14159265358979323846 / 180.0}},
                                                     {"degC", {"temperature", 1.0}},
                                                     {"1", {"number", 1.0}},
                                                     {"terminals", {"terminals", 1.0}}};
  auto const found = units.find(unit);
  return found == units.end() ? std::nullopt : std::optional<UnitWord>(found->second);
}

}  // namespace benchward
