// SPDX-License-Identifier: MIT
#include "drivers/profile/role_names.hpp"

#include <algorithm>

namespace benchward {
namespace {

std::vector<RoleNames> build() {
  std::vector<RoleNames> roles{
      {"ratio_meter",
       {{"applied", "voltage"},
        {"read", "voltage"},
        {"ratio", "number"},
        {"phase", "angle"},
        {"exciting_current", "current"}},
       {{"feed_from", "terminals"},
        {"feed_to", "terminals"},
        {"read_from", "terminals"},
        {"read_to", "terminals"},
        {"short_from", "terminals"},
        {"short_to", "terminals"},
        {"applied_set", "voltage"}},
       {"done"},
       {"measure", "output_off"},
       {"measure"},
       "voltage"},
      {"resistance_meter",
       {{"volts", "voltage"}, {"current", "current"}},
       {{"from", "terminals"}, {"to", "terminals"}, {"set_current", "current"}},
       {"no_compliance"},
       {"select", "set_current", "current_off"},
       {"set_current"},
       "current"},
      {"power_analyzer",
       {{"frequency", "frequency"}},
       {{"wiring", "number"},
        {"voltage_range", "voltage"},
        {"current_range", "current"},
        {"expected_frequency", "frequency"}},
       {"ready"},
       {"set_up"},
       {},
       ""},
      {"ac_source",
       {{"voltage", "voltage"}, {"frequency", "frequency"}, {"current", "current"}},
       {{"voltage_set", "voltage"},
        {"frequency_set", "frequency"},
        {"phases_set", "number"},
        {"current_limit", "current"},
        {"ramp_s", "time"}},
       {"at_zero", "at_set", "tripped", "healthy"},
       {"set", "to_zero"},
       {"set"},
       "voltage"},
      {"thermometer_scanner",
       {{"top", "temperature"}, {"bottom", "temperature"}, {"ambient", "temperature"}},
       {},
       {},
       {},
       {},
       ""},
      {"dielectric_tester",
       {{"level", "voltage"}, {"current", "current"}, {"frequency", "frequency"}},
       {{"level_set", "voltage"}, {"frequency_set", "frequency"}, {"ramp_s", "time"}, {"trip_current", "current"}},
       {"at_zero", "at_set", "tripped"},
       {"set", "to_zero"},
       {"set"},
       "voltage"},
      {"insulation_meter",
       {{"test_voltage", "voltage"}, {"resistance", "resistance"}},
       {{"test_voltage_set", "voltage"}},
       {},
       {"start", "stop"},
       {"start"},
       "voltage"}};
  for (auto& role : roles) {
    if (role.role != "power_analyzer") continue;
    for (int element = 1; element <= 3; ++element) {
      auto const n = "." + std::to_string(element);
      bool const required = element == 1;  // a single-phase analyser has one
      role.sample.push_back({"volts_rms" + n, "voltage", required});
      role.sample.push_back({"volts_average" + n, "voltage", required});
      role.sample.push_back({"amperes" + n, "current", required});
      role.sample.push_back({"active" + n, "power", required});
    }
  }
  return roles;
}

}  // namespace

RoleNames const* names_of_role(std::string const& role) {
  static auto const roles = build();
  auto const found = std::find_if(roles.begin(), roles.end(), [&](auto const& entry) { return entry.role == role; });
  return found == roles.end() ? nullptr : &*found;
}

}  // namespace benchward
