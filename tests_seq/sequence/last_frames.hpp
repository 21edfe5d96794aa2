// SPDX-License-Identifier: MIT
#pragma once

/// What went over the wires last, for the record of an attempt that ended INVALID.

#include <string>
#include <vector>

#include "../../drivers/roles/logged_frame.hpp"
#include "../procedures/step_context.hpp"

namespace benchward {

/// The newest frames of every instrument by their times: many of `device`, whose fault it was (empty: nobody's), few of
/// the others. Empty where there are no wires.
std::vector<LoggedFrame> last_frames(TestRoles const& roles, std::string const& device);

}  // namespace benchward
