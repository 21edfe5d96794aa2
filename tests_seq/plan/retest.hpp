// SPDX-License-Identifier: MIT
#pragma once

/// What was done to a unit decides which tests repeat, and at which level: a table as data (common practice, no source;
/// a house replaces it by its own). Nothing here clears a unit: a breakdown stays on hold until quality signs.

#include <string>
#include <string_view>
#include <vector>

#include "plan.hpp"

namespace benchward {

struct RetestRule {
  std::string_view done;                 ///< "bushing replaced"
  std::vector<std::string_view> repeat;  ///< tests, as in a plan; empty: all of them
  std::string_view level;                ///< of the dielectric tests among them
  std::string_view before;               ///< what comes first: soak, cause, signature; empty: nothing
};

/// The table, in a fixed order.
std::vector<RetestRule> const& retest_table();

/// The plan with only those steps that the rework makes necessary, their reason saying so; what falls away is left out
/// with its reason. Identity and temperatures always stay: which unit, and how warm. Throws DocumentError
/// (`plan.rework`) for a word that the table does not have, naming those that it has.
Plan plan_after(Plan plan, std::string const& done);

}  // namespace benchward
