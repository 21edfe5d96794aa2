// SPDX-License-Identifier: MIT
#pragma once

#include <string>

#include "limits/rules/limit_set.hpp"

namespace benchward {

/// The limit set of `--limits`, or the built-in one of the unit's family of standards.
LimitSet chosen_limit_set(std::string const& file, Unit const& unit);

}  // namespace benchward
