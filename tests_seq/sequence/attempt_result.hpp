// SPDX-License-Identifier: MIT
#pragma once

/// What an attempt at one unit came to.

#include <cstdint>
#include <string>
#include <vector>

#include "../../limits/result.hpp"

namespace benchward {

struct AttemptResult {
  std::string attempt;  ///< id of the record
  Outcome outcome = Outcome::not_run;
  Disposition disposition = Disposition::repeat;
  std::string reason;
  std::vector<Evaluation> evaluations;  ///< in the order of the plan, the last of each step
  std::vector<std::string> finished;    ///< tests that were done
  std::vector<std::string> repeat;      ///< tests that must be done (again)
  bool earth_proven = false;            ///< at the end: whether it is safe to go in as far as the guard can tell
  bool simulated = false;
  bool journal_failed = false;      ///< the record could not be kept: exit 5, no further unit
  bool defect = false;              ///< the program itself failed: exit 6
  std::uint32_t gate_openings = 0;  ///< the guard's count at the end: none before the next unit is a defeated gate
};

}  // namespace benchward
