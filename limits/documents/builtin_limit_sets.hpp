// SPDX-License-Identifier: MIT
#pragma once

/// Texts of `limits/data/*.json`, compiled in by `limits/data/CMakeLists.txt`.

#include <string_view>

namespace benchward::documents {

std::string_view builtin_ieee_text();
std::string_view builtin_iec_text();

}  // namespace benchward::documents
