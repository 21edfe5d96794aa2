// SPDX-License-Identifier: MIT
#pragma once

/// A check of one number against something outside the project. Every check is a REQUIRE; besides, all are counted by
/// source, and the largest deviation (in units of what the printed digits allow) is printed at the end of the run: the
/// table in limits/README.md comes from there.

#include <string>

namespace benchward::testing {

/// `allowed`: what the published rounding allows (half of the last printed digit, or what the source's own rounding of
/// intermediate values adds).
void external(std::string const& source, std::string const& what, double computed, double published, double allowed);

}  // namespace benchward::testing
