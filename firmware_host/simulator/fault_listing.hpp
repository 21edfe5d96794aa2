// SPDX-License-Identifier: MIT
#pragma once

#include <string>

#include "limits/unit/unit.hpp"

namespace benchward::sim {

/// `--list-faults`: a table for people, a JSON array for programs. With a unit (else nullptr): those it can have, and
/// what must come of them there.
std::string faults_as_text(Unit const* unit);
std::string faults_as_json(Unit const* unit);

}  // namespace benchward::sim
