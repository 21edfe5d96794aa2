// SPDX-License-Identifier: MIT
#pragma once

/// Every result of a record again, from its raw readings, its limit sheet and its bench's calibration of that day.

#include <cstddef>
#include <string>
#include <vector>

#include "tests_seq/journal/record_view.hpp"

namespace benchward {

struct RecordComparison {
  std::size_t identical = 0;             ///< to the last bit
  std::size_t equal = 0;                 ///< within 1e-12 relative
  std::vector<std::string> differences;  ///< in words: test, quantity, then and now
};

/// Compares every result of the record with one computed now. A record whose documents this program cannot read is a
/// difference, in words.
RecordComparison recompute_record(AttemptRecord const& record);

}  // namespace benchward
