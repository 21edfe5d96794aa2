// SPDX-License-Identifier: MIT
#pragma once

/// The rules of a limit set worked out for one unit: numbers, each with where it came from.

#include <optional>
#include <string>
#include <vector>

#include "../result.hpp"

namespace benchward {

/// How a value with its uncertainty becomes one of the four verdict words.
struct DecisionRule {
  std::string name = "simple_acceptance";  ///< "simple_acceptance", "guard_band", "specific_risk"
  double guard_factor = 1.0;               ///< guard_band: w = factor * U (ILAC-G8)
  double risk = 0.025;                     ///< specific_risk: largest tolerated (JCGM 106)
  std::string prior = "flat";
  Disposition conditional_pass = Disposition::release;  ///< release, or hold for quality (named per rule)
};

struct VerdictRow {
  Verdict verdict;
  Outcome outcome;
  Disposition disposition;
};

/// One line of the sheet.
struct SheetLine {
  std::string test;      ///< routine test whose result it judges
  std::string quantity;  ///< Result::quantity that it judges
  std::string at;        ///< empty = wherever the quantity occurs
  Limit limit;
  DecisionRule decision;
  std::optional<double> nominal;         ///< the value aimed at (test level, displacement), in the limit's unit
  std::optional<double> speaks_up_to_u;  ///< the line says nothing of a result whose standard uncertainty is larger

  /// A required duration that depends on the test frequency: cycles / f, within least and most.
  struct PerFrequency {
    double cycles = 0.0, least_s = 0.0, most_s = 0.0;
  };
  std::optional<PerFrequency> per_frequency;  ///< `limit.lower` is then `most_s`: never too short
  /// The limit at a test frequency; `limit` itself where it does not depend on one.
  Limit limit_at(double test_hz) const;
};

struct LimitSheet {
  std::string limit_set, limit_set_version, limit_set_hash;
  std::string unit_serial;
  std::vector<SheetLine> lines;
  std::vector<std::string> no_requirement;  ///< in words: which table has no row for this unit, and why
  std::vector<VerdictRow> verdicts;         ///< table from verdict to outcome and disposition

  /// The line that judges a quantity of a test, nearest `at` first; nullptr where the sheet has none.
  SheetLine const* line(std::string const& test, std::string const& quantity, std::string const& at = "") const;
  /// All lines of a quantity (a standard's limit and a factory line may stand side by side).
  std::vector<SheetLine const*> lines_of(std::string const& test, std::string const& quantity,
                                         std::string const& at = "") const;
};

}  // namespace benchward
