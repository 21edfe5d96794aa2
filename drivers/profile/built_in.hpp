// SPDX-License-Identifier: MIT
#pragma once

/// The texts of drivers/profiles/*.json, compiled in (generated at build time).

#include <string_view>
#include <utility>
#include <vector>

namespace benchward {

/// Id (file name without .json) and JSON text.
std::vector<std::pair<std::string_view, std::string_view>> const& built_in_profile_texts();

}  // namespace benchward
