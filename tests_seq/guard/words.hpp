// SPDX-License-Identifier: MIT
#pragma once

/// States, area statuses and conditions in plain words for the operator, each under ten words.

#include <string>
#include <string_view>
#include <vector>

#include "core.hpp"
#include "desk.hpp"
#include "guard.hpp"

namespace benchward {

/// "EARTHED AND SAFE", "WARNING: RED AND SIREN", ...
std::string_view words_of(GuardState state);
/// EN 50191's words.
std::string_view words_of(AreaStatus area);
/// The status of the area in a state. Unknown and lockout are treated as in operation.
AreaStatus area_of(guard::Machine const& machine);

/// What a condition says when it is missing or broken: "Close the gate", "Emergency stop pressed or faulty".
std::string_view words_of_guard_condition(int number);
Condition condition(int number);
/// Which silence it was, for I23; nothing for others.
std::string words_of_silence(int number, GuardSilence const& silence);
/// "trip by I23: I/O block does not answer in time (no answer for 810 ms)".
std::string trip_words(int number, std::string_view words, std::string_view detail);
/// What is missing, in the order in which a person meets it on the way.
std::vector<Condition> nearest_first(guard::Mask missing);

}  // namespace benchward
