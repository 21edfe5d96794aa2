// SPDX-License-Identifier: MIT
// An over-current trip, voltage collapse or failure to reach voltage. With the bench proven clean it is a statement
// about the unit; otherwise nothing can be said but that the unit was stressed.
#include <fmt/format.h>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"

namespace benchward {

Evaluation evaluate_breakdown(BreakdownReading const& reading, EvaluationContext const&) {
  Evaluation evaluation;
  evaluation.test = reading.test;
  auto result = make_result(reading.test, "breakdown", "", "1");
  result.value = 1.0;
  result.intermediates = {{"volts", reading.at_volts.in(volts), "V"},
                          {"current", reading.at_amperes.in(amperes), "A"},
                          {"after", reading.after.in(seconds), "s"}};
  result.remark = fmt::format("{} at {:.6g} V, {:.4g} A, {:.3g} s after the ramp began", reading.cause,
                              reading.at_volts.in(volts), reading.at_amperes.in(amperes), reading.after.in(seconds));
  if (!reading.bench_proven_clean) {
    evaluation.invalid_reason = fmt::format(
        "{}; the bench is not proven clean, so this says nothing certain of the unit: "
        "it was overstressed and stays on hold as suspect",
        result.remark);
    evaluation.results.push_back(result);
    return evaluation;
  }
  add_breakdown(evaluation, "", result.remark);
  evaluation.results.back().intermediates = result.intermediates;
  return evaluation;
}

}  // namespace benchward
