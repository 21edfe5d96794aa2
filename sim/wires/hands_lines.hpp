// SPDX-License-Identifier: MIT
#pragma once

/// The lines of the `hands` socket: what a person does at the bench. One JSON object in, one out, one act a line:
///
///     {"connect": {"feed": [["H1","H2"]], "short": [["X1","X3"]], "earth": ["H0"], "instrument": "ac_source"}}
///     {"disconnect": "all"}   {"tap": 3}   {"gate": "open"|"closed"}   {"inside": true}
///     {"press": "reset"|"estop"|"release-estop"|"search"}
///     {"unit": {...} | "path/of/unit.json"}
///     {"strap"|"arrester"|"fuse"|"switch"|"breaker": {"name": "...", "state": "..."}}
///
/// Answered by {"done": true}, or {"error": "KEY: what was wrong"}; a wrong line changes nothing.

#include <string>
#include <string_view>

#include "wire_context.hpp"

namespace benchward::sim {

std::string answer_hands(std::string_view line, WireContext& context);

}  // namespace benchward::sim
