// SPDX-License-Identifier: MIT
// Outcome and disposition of an attempt, by the sheet's table from verdict words.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <string>

#include "limits/evaluate/evaluate.hpp"

namespace benchward {
namespace {

/// Default of the design where the sheet has no row: pass and conditional pass are released, the others held.
VerdictRow row_of(Verdict verdict, LimitSheet const& sheet) {
  for (auto const& row : sheet.verdicts) {
    if (row.verdict == verdict) return row;
  }
  bool const passes = verdict == Verdict::pass || verdict == Verdict::conditional_pass;
  return {verdict, passes ? Outcome::pass : Outcome::fail, passes ? Disposition::release : Disposition::hold};
}

char const* word(Verdict verdict) {
  switch (verdict) {
    case Verdict::pass:
      return "pass";
    case Verdict::conditional_pass:
      return "conditional pass";
    case Verdict::conditional_fail:
      return "conditional fail";
    case Verdict::fail:
      return "fail";
    case Verdict::not_judged:
      break;
  }
  return "not judged";
}

int rank(Disposition disposition) {
  switch (disposition) {
    case Disposition::release:
      return 0;
    case Disposition::repeat:
      return 1;
    case Disposition::hold:
      break;
  }
  return 2;
}

std::string describe(Result const& result) {
  if (result.quantity == "breakdown") return result.test + ": broke down: " + result.remark;
  std::string text = result.test + ": " + result.quantity;
  if (!result.at.empty()) text += " at " + result.at;
  text += fmt::format(" = {:.6g} {}", result.value, result.unit);
  if (result.limit) {
    if (result.limit->lower) text += fmt::format(", at least {:.6g}", *result.limit->lower);
    if (result.limit->upper) text += fmt::format(", at most {:.6g}", *result.limit->upper);
  }
  text += fmt::format(" ({})", word(result.verdict));
  if (!result.remark.empty()) text += ": " + result.remark;
  return text;
}

Disposition conditional_pass_of(Result const& result, LimitSheet const& sheet, Disposition by_table) {
  if (!result.limit) return by_table;
  for (auto const& line : sheet.lines) {
    if (line.test != result.test || line.quantity != result.quantity || line.limit.rule != result.limit->rule) continue;
    return rank(line.decision.conditional_pass) > rank(by_table) ? line.decision.conditional_pass : by_table;
  }
  return by_table;
}

}  // namespace

Judgement judge_attempt(std::vector<Evaluation> const& evaluations, LimitSheet const& sheet, bool incomplete) {
  Judgement judgement;
  bool judged = false;
  bool failed = false;
  bool invalid = false;
  bool stressed = false;
  std::string fails, invalids, holds;
  std::map<std::string, int> failures_of;  // test -> how many: the first stands in the reason, the table has all
  auto disposition = Disposition::release;
  auto const raise = [&](Disposition other) {
    if (rank(other) > rank(disposition)) disposition = other;
  };
  auto const append = [](std::string& list, std::string const& text) { list += (list.empty() ? "" : "; ") + text; };
  for (auto const& evaluation : evaluations) {
    // What cannot be judged, and what the operator must answer first, speaks neither for nor against the unit.
    if (evaluation.invalid_reason || evaluation.question) {
      invalid = true;
      append(invalids,
             evaluation.test + ": " + (evaluation.invalid_reason ? *evaluation.invalid_reason : *evaluation.question));
      for (auto const& result : evaluation.results) stressed = stressed || result.quantity == "breakdown";
      continue;
    }
    for (auto const& result : evaluation.results) {
      if (result.verdict == Verdict::not_judged) continue;
      judged = true;
      auto const row = row_of(result.verdict, sheet);
      auto const wanted = result.verdict == Verdict::conditional_pass
                              ? conditional_pass_of(result, sheet, row.disposition)
                              : row.disposition;
      raise(wanted);
      if (row.outcome != Outcome::pass) {
        failed = true;
        if (failures_of[result.test]++ == 0) append(fails, describe(result));
      } else if (wanted != Disposition::release) {
        append(holds, describe(result));
      }
    }
  }
  if (failed) {
    judgement.outcome = Outcome::fail;
    for (auto const& [test, count] : failures_of) {
      if (count > 1) append(fails, fmt::format("{}: {} more outside", test, count - 1));
    }
    if (invalid) append(fails, "besides, not judged: " + invalids);
    judgement.disposition = rank(disposition) > rank(Disposition::repeat) ? disposition : Disposition::hold;
    judgement.reason = fails;
    return judgement;
  }
  if (invalid) {
    judgement.outcome = Outcome::invalid;
    judgement.disposition = stressed || disposition == Disposition::hold ? Disposition::hold : Disposition::repeat;
    judgement.reason = invalids;
    return judgement;
  }
  if (incomplete || !judged) {
    judgement.outcome = Outcome::not_run;
    judgement.disposition = Disposition::repeat;
    judgement.reason = incomplete ? "not every planned step was done"
                                  : "nothing was judged: the limit sheet has no limit "
                                    "for what was measured";
    return judgement;
  }
  judgement.outcome = Outcome::pass;
  judgement.disposition = disposition;
  judgement.reason = holds.empty() ? "every judged result is within its limits" : holds;
  return judgement;
}

}  // namespace benchward
