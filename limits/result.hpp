// SPDX-License-Identifier: MIT
#pragma once

/// What an evaluation says: results with limits, verdicts, uncertainty and every intermediate value.

#include <optional>
#include <string>
#include <vector>

namespace benchward {

/// The four verdict words of a decision rule (ILAC-G8:09/2019), and that nothing can be said.
enum class Verdict { pass, conditional_pass, conditional_fail, fail, not_judged };

/// Of an attempt at a unit; never folded into one another (house rule). Ordered by nothing.
enum class Outcome { pass, fail, invalid, aborted, not_run };

/// Of a unit, for the operator.
enum class Disposition { release, hold, repeat };

/// Standard uncertainty with its effective degrees of freedom (JCGM 100:2008 G.4; infinity = type B throughout).
struct Uncertainty {
  double standard = 0.0;            ///< in the result's unit
  double degrees_of_freedom = 1e9;  ///< 1e9 stands for infinite
};

/// A limit as it was worked out for this unit. Absent sides do not limit.
struct Limit {
  std::string rule;  ///< id of the rule in the limit set, e.g. "ratio-tolerance"
  std::optional<double> lower, upper;
  std::string unit;
  std::string origin;  ///< how the number came about, in words with the numbers in it
  std::string source;  ///< document and clause, or "from memory", or "order"
  bool warns_only =
      false;  ///< a factory line or scope note: outside it nothing fails, the operator and record are told
};

/// One value on the way to a result, in the order of computation.
struct Intermediate {
  std::string name;
  double value = 0.0;
  std::string unit;
};

/// One result of a routine test.
struct Result {
  std::string test;      ///< "ratio", "polarity", "phase_relation", "winding_resistance", "no_load", "load_loss", ...
  std::string quantity;  ///< "ratio_error", "corrected_load_loss", ...
  std::string at;        ///< tap, pair, voltage configuration: what it is of; empty if of the unit
  double value = 0.0;
  std::string unit;
  std::optional<Uncertainty> uncertainty;
  std::optional<Limit> limit;
  Verdict verdict = Verdict::not_judged;
  std::optional<double> measured;  ///< the value before corrections, where that is another
  std::string measured_unit;       ///< its unit, where that is another than `unit`
  std::vector<Intermediate> intermediates;
  std::string remark;  ///< for the person: which pair, which phase, what to look at
  /// 2: the exciting current is put to rated volts and frequency; stray loss has an uncertainty of its temperature law.
  int evaluation_version = 2;
};

/// Everything that an evaluation of one test says. `invalid_reason` set: the measurement cannot be judged (outcome
/// INVALID), the reason in words for the operator; results, where present, are then for show only.
struct Evaluation {
  std::string test;
  std::vector<Result> results;
  std::optional<std::string> invalid_reason;
  std::optional<std::string> question;  ///< something odd that the operator should answer before a FAIL is said
  std::vector<std::string> warnings;    ///< factory line, out of the regulation's scope, close to a limit
  /// The question asks for leads to be clipped again: seen once more with leads clipped anew, it is the unit's.
  bool settled_by_repeat = false;
};

}  // namespace benchward
