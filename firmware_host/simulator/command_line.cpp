// SPDX-License-Identifier: MIT
#include "firmware_host/simulator/command_line.hpp"

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include <charconv>
#include <cmath>

#include "sim/faults/fault_list.hpp"

namespace benchward::sim {

namespace {

constexpr char const* footer =
    "\nPrints one line of JSON when it is ready: the addresses of its links and of the sockets \"hands\" and "
    "\"control\".\n"
    "Simulates; nothing here is a measurement of anything. Stops on INT or TERM.\n\n"
    "  benchward-sim --bench sim/demo/benches/01-scaled.json --unit sim/demo/units/single-phase-pad-50kva.json \\\n"
    "                --time-scale 20 > ready.json\n\n"
    "Exit codes: 0 stopped, 2 bad usage or document or a port that is taken, 6 a defect of the program.\n";

// Numbers are read here and not by the command-line library, whose reading depends on the locale.
template <class Number>
Number whole_number(std::string const& option, std::string const& text, Number highest) {
  Number value{};
  auto const end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || end.ec != std::errc() || end.ptr != text.data() + text.size() || value > highest) {
    throw UsageError(fmt::format("{}: expected a whole number from 0 to {}, got \"{}\"", option, highest, text));
  }
  return value;
}

double real_number(std::string const& option, std::string const& text) {
  double value = 0.0;
  auto const end = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || end.ec != std::errc() || end.ptr != text.data() + text.size() || !std::isfinite(value)) {
    throw UsageError(fmt::format("{}: expected a number, got \"{}\"", option, text));
  }
  return value;
}

}  // namespace

FaultWish parse_fault_wish(std::string const& text) {
  FaultWish wish;
  std::string rest = text;
  if (auto const at = rest.find('@'); at != std::string::npos) {
    wish.device = rest.substr(at + 1);
    rest.resize(at);
  }
  auto const equals = rest.find('=');
  wish.name = rest.substr(0, equals);
  auto const* known = find_fault(wish.name);
  if (known == nullptr) {
    throw UsageError(fmt::format("--fault: unknown fault \"{}\"; did you mean \"{}\"? (--list-faults lists all)",
                                 wish.name, nearest_fault(wish.name)));
  }
  if (equals != std::string::npos) wish.value = real_number("--fault " + wish.name, rest.substr(equals + 1));
  if (wish.device && known->where != "wires") {
    throw UsageError(fmt::format("--fault: \"{}\" is a fault of the {}; a device can be named for wires only",
                                 wish.name, known->where));
  }
  return wish;
}

CommandLine parse_command_line(int argc, char const* const* argv) {
  CommandLine line;
  CLI::App app{"benchward-sim: a simulated transformer test bench on real wires", "benchward-sim"};
  app.footer(footer);
  std::vector<std::string> faults;
  std::string scale = "1", seed = "1", hands_port = "0", control_port = "0";
  app.add_option("--bench", line.bench, "Bench document; it must be marked simulated");
  app.add_option("--unit", line.unit, "Unit document of what stands on the bench");
  app.add_option("--fault", faults, "NAME, NAME=VALUE or NAME=VALUE@DEVICE; may be repeated")->allow_extra_args(false);
  app.add_option("--time-scale", scale, "How much faster than the wall's the bench's time runs, 0.1 to 20 (1)");
  app.add_option("--seed", seed, "Of everything random; the same seed and the same acts give the same bench (1)");
  app.add_option("--hands-port", hands_port, "Port of the hands socket (any free one)");
  app.add_option("--control-port", control_port, "Port of the control socket (any free one)");
  app.add_flag("--as-declared", line.as_declared, "The unit has exactly its document's data: a check object");
  app.add_flag("--list-faults", line.list_faults,
               "All faults that can be set, with --unit those that this unit can have; with --json as one JSON array");
  app.add_flag("--version", line.version, "Version, commit and build; with --json as one JSON object");
  app.add_flag("--json", line.json, "With --list-faults and --version");
  try {
    app.parse(argc, argv);
  } catch (CLI::CallForHelp const&) {
    line.help = app.help();
    return line;
  } catch (CLI::ParseError const& wrong) {
    throw UsageError(wrong.what());
  }
  if (line.list_faults || line.version) return line;
  if (line.bench.empty()) throw UsageError("--bench is missing: which bench is to be simulated?");
  if (line.unit.empty()) throw UsageError("--unit is missing: which unit stands on the bench?");
  line.time_scale = real_number("--time-scale", scale);
  line.seed = whole_number<std::uint64_t>("--seed", seed, ~std::uint64_t{0});
  line.hands_port = whole_number<std::uint16_t>("--hands-port", hands_port, 65535);
  line.control_port = whole_number<std::uint16_t>("--control-port", control_port, 65535);
  for (auto const& fault : faults) line.faults.push_back(parse_fault_wish(fault));
  return line;
}

}  // namespace benchward::sim
