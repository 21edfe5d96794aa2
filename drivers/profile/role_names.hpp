// SPDX-License-Identifier: MIT
#pragma once

/// The names that a profile of each role must use: what a driver reads and writes, and what the simulator answers.
///
/// Every role reads its numbers in one request: the read group (or text command) "sample", and who it is in the group
/// (or command) "identity": maker, model, serial, firmware.
///
/// | role                | sample                                   | settings                                      |
/// bits                            | sequences             |
/// |---------------------|------------------------------------------|-----------------------------------------------|---------------------------------|-----------------------|
/// | ratio_meter         | applied, read, ratio, phase, exciting_current | feed_from, feed_to, read_from, read_to,
/// short_from, short_to (terminals), applied_set | done | measure, output_off | | resistance_meter    | volts, current
/// | from, to (terminals), set_current             | no_compliance                   | select, set_current, current_off
/// | | power_analyzer      | volts_rms.N, volts_average.N, amperes.N, active.N (N = 1 to 3), frequency | wiring (0
/// single-phase, 1 neutral, 2 floating), voltage_range, current_range, expected_frequency | ready | set_up | |
/// ac_source           | voltage, frequency, current              | voltage_set, frequency_set, phases_set,
/// current_limit, ramp_s | at_zero, at_set, tripped, healthy | set, to_zero | | thermometer_scanner | top, bottom,
/// ambient                     |                                               |                                 | | |
/// dielectric_tester   | level, current, frequency                | level_set, frequency_set, ramp_s, trip_current |
/// at_zero, at_set, tripped        | set, to_zero          | | insulation_meter    | test_voltage, resistance |
/// test_voltage_set                              |                                 | start, stop           |
///
/// Terminals: a Modbus device takes bit sets, bit n = Terminal n of roles/connection.hpp, 0 = none; a text device takes
/// words, tied terminals joined by "+". The bit `done` is cleared by the trigger and set when the sample is complete.
/// Further rows ("command" and the like) and bits (over_range, ...) are the profile's own; its sequences write them.

#include <string>
#include <vector>

namespace benchward {

struct RoleName {
  std::string name;
  std::string dimension;  ///< of unit_named()
  bool required = true;
};

struct RoleNames {
  std::string role;
  std::vector<RoleName> sample, settings;
  std::vector<std::string> bits, sequences;
  std::vector<std::string> energising;  ///< sequences of which a step must be marked energising
  std::string driven;                   ///< dimension of `highest`; empty: the role drives nothing
};

/// nullptr for an unknown role.
RoleNames const* names_of_role(std::string const& role);

}  // namespace benchward
