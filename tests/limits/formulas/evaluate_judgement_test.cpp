// SPDX-License-Identifier: MIT
// From verdicts to outcome and disposition: the table of the sheet, and what is never folded into one another.
#include <catch2/catch.hpp>

#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

Evaluation saying(Verdict verdict) {
  Evaluation out;
  out.test = "no_load";
  Result result;
  result.test = "no_load";
  result.quantity = "corrected_no_load_loss_w";
  result.value = 70.0;
  result.unit = "W";
  result.verdict = verdict;
  result.limit = Limit{"loss", {}, 66.0, "W", "", "", false};
  out.results.push_back(result);
  return out;
}
Evaluation invalid() {
  Evaluation out;
  out.test = "ratio";
  out.invalid_reason = "lead off";
  out.results = saying(Verdict::fail).results;  // for show only
  return out;
}

}  // namespace

TEST_CASE("each verdict has its outcome and disposition, worst first", "[limits][judgement]") {
  LimitSheet const sheet;  // no table: the default
  auto const judged = [&](std::vector<Evaluation> const& list, bool incomplete = false) {
    return judge_attempt(list, sheet, incomplete);
  };
  CHECK(judged({saying(Verdict::pass)}).outcome == Outcome::pass);
  CHECK(judged({saying(Verdict::pass)}).disposition == Disposition::release);
  CHECK(judged({saying(Verdict::pass), saying(Verdict::conditional_pass)}).disposition == Disposition::release);
  CHECK(judged({saying(Verdict::pass), saying(Verdict::conditional_fail)}).outcome == Outcome::fail);
  CHECK(judged({saying(Verdict::fail)}).disposition == Disposition::hold);
  CHECK(judged({saying(Verdict::fail)}).reason.find("no_load: corrected_no_load_loss_w = 70 W, at most 66 (fail)") !=
        std::string::npos);
  CHECK(judged({saying(Verdict::pass), invalid()}).outcome == Outcome::invalid);
  CHECK(judged({saying(Verdict::pass), invalid()}).disposition == Disposition::repeat);
  CHECK(judged({saying(Verdict::fail), invalid()}).outcome == Outcome::fail);
  CHECK(judged({saying(Verdict::fail), invalid()}).reason.find("lead off") != std::string::npos);
  CHECK(judged({saying(Verdict::pass)}, true).outcome == Outcome::not_run);
  CHECK(judged({saying(Verdict::fail)}, true).outcome == Outcome::fail);
  CHECK(judged({}).outcome == Outcome::not_run);
  CHECK(judged({saying(Verdict::not_judged)}).outcome == Outcome::not_run);
}

TEST_CASE("the sheet's table and a rule's own disposition are obeyed", "[limits][judgement]") {
  LimitSheet sheet;
  sheet.verdicts = {{Verdict::conditional_pass, Outcome::pass, Disposition::hold}};
  auto judgement = judge_attempt({saying(Verdict::conditional_pass)}, sheet, false);
  CHECK(judgement.outcome == Outcome::pass);
  CHECK(judgement.disposition == Disposition::hold);
  CHECK(judgement.reason.find("conditional pass") != std::string::npos);
  sheet.verdicts.clear();
  auto hold = line("no_load", "corrected_no_load_loss_w", {}, 66.0);
  hold.limit.rule = "loss";
  hold.decision.conditional_pass = Disposition::hold;
  sheet.lines = {hold};
  CHECK(judge_attempt({saying(Verdict::conditional_pass)}, sheet, false).disposition == Disposition::hold);
  CHECK(judge_attempt({saying(Verdict::pass)}, sheet, false).disposition == Disposition::release);
}
