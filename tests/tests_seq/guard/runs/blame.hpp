// SPDX-License-Identifier: MIT
#pragma once

/// Which dangerous moments no controller could have prevented: pairs of a moment and what went wrong in the hardware or
/// by force. Everything that is not listed here counts against the guard.

#include <string>
#include <vector>

namespace benchward::guard::runs {

/// The excuse in words, or nothing: then the controller could have prevented it. `had`: RunReport::had.
std::string excuse_of(std::string const& moment, std::vector<std::string> const& had);

}  // namespace benchward::guard::runs
