// SPDX-License-Identifier: MIT
#pragma once

/// The command line of benchward-sim.

#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

namespace benchward::sim {

/// Bad usage: one line for the person who typed it.
class UsageError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// `--fault NAME[=VALUE][@DEVICE]`; a device only for faults of the wires.
struct FaultWish {
  std::string name;
  std::optional<double> value;
  std::optional<std::string> device;
};

struct CommandLine {
  std::string bench, unit;
  std::vector<FaultWish> faults;
  double time_scale = 1.0;
  std::uint64_t seed = 1;
  std::uint16_t hands_port = 0, control_port = 0;
  bool as_declared = false;
  bool list_faults = false, version = false, json = false;
  std::optional<std::string> help;  ///< the text to print, where it was asked for
};

/// Throws UsageError.
CommandLine parse_command_line(int argc, char const* const* argv);
/// Throws UsageError for an unknown name (naming the nearest) and for a value that is no number.
FaultWish parse_fault_wish(std::string const& text);

}  // namespace benchward::sim
