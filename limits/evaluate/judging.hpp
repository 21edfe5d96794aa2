// SPDX-License-Identifier: MIT
#pragma once

/// Results against the limit sheet.

#include <functional>
#include <optional>
#include <string>

#include "evaluate.hpp"

namespace benchward {

/// Which lines of the sheet may judge a result.
enum class Lines {
  all,         ///< those for its place, and those for wherever the quantity occurs
  placed_only  ///< only those that name its place: a reading away from the rated point is under no rated limit
};

/// Puts the result into the evaluation, once for each limit that judges it (a standard's limit and the order's may
/// stand side by side), unjudged where the sheet has none. Lines that only warn add to the warnings. `test_hz`: for
/// limits that depend on the test frequency.
void add_judged(Evaluation& evaluation, Result result, EvaluationContext const& context, Lines lines = Lines::all,
                std::optional<double> test_hz = std::nullopt);

/// Puts the result in, judged by a limit that the test itself brings along (yes or no, as the order says).
void add_judged_by(Evaluation& evaluation, Result result, Limit limit);

/// Judged by the sheet where it has a line for the quantity, else by the test's own limit.
void add_judged_or(Evaluation& evaluation, Result result, EvaluationContext const& context, Limit limit);

/// A breakdown, collapse or failure to reach voltage that the procedure saw: it fails.
void add_breakdown(Evaluation& evaluation, std::string const& at, std::string const& what_happened);

/// Runs a part of an evaluation; numbers that a formula refuses make it invalid, in the formula's words.
void refusing(Evaluation& evaluation, std::function<void()> const& part);

/// Common start of a result.
Result make_result(std::string const& test, std::string const& quantity, std::string const& at,
                   std::string const& unit);

}  // namespace benchward
