// SPDX-License-Identifier: MIT
#pragma once

#include <string>

namespace benchward::sim {

/// `--list-faults`: a table for people, a JSON array for programs.
std::string faults_as_text();
std::string faults_as_json();

}  // namespace benchward::sim
