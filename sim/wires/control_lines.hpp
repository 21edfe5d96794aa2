// SPDX-License-Identifier: MIT
#pragma once

/// The lines of the `control` socket: for the judge and the tests, never opened by the station.
///
///     {"fault": NAME, "value": X, "device": D}   value and device may be absent; device: wires only
///     {"clear": NAME | "all"}
///     {"set": {"gate": "open"|"closed", "estop": "pressed"|"healthy", "inside": true|false}}
///     {"get": "truth" | "true_values"}
///
/// Answered by {"done": true}, {"truth": {...}}, {"true_values": {...}}, or {"error": "KEY: what was wrong"}.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "wire_context.hpp"

namespace benchward::sim {

std::string answer_control(std::string_view line, WireContext& context);

/// The truth as JSON. A heartbeat that never came is 1e9 s old: JSON has no infinity.
std::string truth_json(Truth const& truth);

/// Name and number of every true value that is a number.
std::string true_values_json(std::vector<std::pair<std::string, double>> const& values);

/// A fault of the list to whom it belongs: wires here, all else to the bench. Empty, or "KEY: why not".
std::string set_any_fault(std::string const& name, std::optional<double> value,
                          std::optional<std::string> const& device, WireContext& context);

}  // namespace benchward::sim
