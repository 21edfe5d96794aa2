// SPDX-License-Identifier: MIT
#include "limits/evaluate/judging.hpp"

#include <fmt/format.h>

#include <cmath>

#include "limits/correct/input_error.hpp"
#include "limits/uncertainty/decision.hpp"

namespace benchward {
namespace {

bool inside(double value, Limit const& limit) {
  return (!limit.lower || value >= *limit.lower) && (!limit.upper || value <= *limit.upper) && std::isfinite(value);
}

std::string span(Limit const& limit) {
  if (limit.lower && limit.upper) return fmt::format("{:.6g} to {:.6g} {}", *limit.lower, *limit.upper, limit.unit);
  if (limit.lower) return fmt::format("at least {:.6g} {}", *limit.lower, limit.unit);
  if (limit.upper) return fmt::format("at most {:.6g} {}", *limit.upper, limit.unit);
  return "no limit";
}

}  // namespace

Result make_result(std::string const& test, std::string const& quantity, std::string const& at,
                   std::string const& unit) {
  Result result;
  result.test = test;
  result.quantity = quantity;
  result.at = at;
  result.unit = unit;
  return result;
}

void add_judged(Evaluation& evaluation, Result result, EvaluationContext const& context, Lines lines,
                std::optional<double> test_hz) {
  if (!std::isfinite(result.value) && !evaluation.invalid_reason) {
    evaluation.invalid_reason = fmt::format("{}{}{} is not a finite number: the readings cannot be right",
                                            result.quantity, result.at.empty() ? "" : " at ", result.at);
  }
  bool judged = false;
  for (auto const* line : context.sheet.lines_of(result.test, result.quantity, result.at)) {
    if (lines == Lines::placed_only && line->at.empty()) continue;
    Limit const limit = test_hz ? line->limit_at(*test_hz) : line->limit;
    if (line->speaks_up_to_u && !(result.uncertainty && result.uncertainty->standard <= *line->speaks_up_to_u))
      continue;
    if (limit.warns_only) {
      if (!inside(result.value, limit)) {
        evaluation.warnings.push_back(fmt::format("{}{}{} = {:.6g} {} is outside {} ({}: {}){}{}", result.quantity,
                                                  result.at.empty() ? "" : " at ", result.at, result.value, result.unit,
                                                  span(limit), limit.rule, limit.origin,
                                                  result.remark.empty() ? "" : ". ", result.remark));
      }
      if (!result.limit) result.limit = limit;
      continue;
    }
    Result one = result;
    one.limit = limit;
    try {
      one.verdict = decide(result.value, result.uncertainty, limit.lower, limit.upper, line->decision);
    } catch (InputError const& error) {
      if (!evaluation.invalid_reason) {
        evaluation.invalid_reason =
            fmt::format("{} cannot be judged by rule {}: {}", result.quantity, limit.rule, error.what());
      }
    }
    evaluation.results.push_back(std::move(one));
    judged = true;
  }
  if (!judged) evaluation.results.push_back(std::move(result));
}

void add_judged_by(Evaluation& evaluation, Result result, Limit limit) {
  result.verdict = inside(result.value, limit) ? Verdict::pass : Verdict::fail;
  result.limit = std::move(limit);
  evaluation.results.push_back(std::move(result));
}

void add_judged_or(Evaluation& evaluation, Result result, EvaluationContext const& context, Limit limit) {
  if (context.sheet.line(result.test, result.quantity, result.at) != nullptr) {
    add_judged(evaluation, std::move(result), context);
  } else {
    add_judged_by(evaluation, std::move(result), std::move(limit));
  }
}

void add_breakdown(Evaluation& evaluation, std::string const& at, std::string const& what_happened) {
  auto broken = make_result(evaluation.test, "breakdown", at, "1");
  broken.value = 1.0;
  broken.remark = what_happened;
  Limit limit;
  limit.rule = "no-breakdown";
  limit.upper = 0.0;
  limit.unit = "1";
  limit.origin = "no breakdown, collapse or failure to reach voltage";
  limit.source = "the test itself";
  add_judged_by(evaluation, std::move(broken), std::move(limit));
}

void refusing(Evaluation& evaluation, std::function<void()> const& part) {
  try {
    part();
  } catch (InputError const& error) {
    if (!evaluation.invalid_reason) {
      evaluation.invalid_reason = fmt::format("the readings cannot be right: {}", error.what());
    }
  }
}

}  // namespace benchward
