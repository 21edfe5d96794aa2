// SPDX-License-Identifier: MIT
#pragma once

/// Every result of a record again, from its raw readings, its limit sheet and its bench's calibration of that day.

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "limits/calibration.hpp"
#include "limits/result.hpp"
#include "limits/rules/limit_sheet.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward {

struct RecordComparison {
  std::size_t identical = 0;             ///< to the last bit
  std::size_t equal = 0;                 ///< within 1e-12 relative
  std::vector<std::string> differences;  ///< in words: test, quantity, then and now
};

/// What a record was evaluated with.
struct EvaluationInputs {
  Unit unit;
  LimitSheet sheet;
  std::map<std::string, Calibration> calibration;  ///< by the bench's name of the instrument
  std::string day;                                 ///< of the test, ISO date
};

/// As they were in force at the attempt. Throws DocumentError where this program cannot read them.
EvaluationInputs inputs_of(AttemptRecord const& record);

/// The record's evaluations, a step each, from its raw readings with these inputs, changed or not: other limits,
/// another reference temperature, an instrument's error known only later.
std::vector<Evaluation> evaluations_again(AttemptRecord const& record, EvaluationInputs const& inputs);

/// Compares every result of the record with one computed now. A record whose documents this program cannot read is a
/// difference, in words.
RecordComparison recompute_record(AttemptRecord const& record);

}  // namespace benchward
