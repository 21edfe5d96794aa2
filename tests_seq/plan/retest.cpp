// SPDX-License-Identifier: MIT
#include "tests_seq/plan/retest.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"

namespace benchward {

namespace {

constexpr std::string_view full = "full level";
constexpr std::string_view none = "no dielectric test";
constexpr std::string_view soak = "soak for the family's time first";

bool stays(PlanStep const& step, RetestRule const& rule) {
  if (rule.repeat.empty() || step.test == "identity" || step.test == "temperatures") return true;
  return std::find(rule.repeat.begin(), rule.repeat.end(), step.test) != rule.repeat.end();
}

}  // namespace

std::vector<RetestRule> const& retest_table() {
  static std::vector<RetestRule> const table{
      {"re-tapped", {"ratio", "as_shipped"}, none, ""},
      {"switch moved", {"ratio", "as_shipped"}, none, ""},
      {"tap contact worked on", {"ratio", "winding_resistance", "as_shipped"}, none, ""},
      {"resistance leads re-clamped", {"winding_resistance"}, none, "rest if it was heated"},
      {"load-loss leads re-clamped", {"load_loss"}, none, "rest if it was heated"},
      {"bushing replaced", {"ratio", "applied", "induced", "hand_check", "as_shipped"}, full, ""},
      {"arrester replaced", {"ratio", "hand_check", "as_shipped"}, none, ""},
      {"fuse replaced", {"ratio", "hand_check", "as_shipped"}, none, "continuity"},
      {"breaker replaced", {"ratio", "hand_check", "as_shipped"}, none, "continuity"},
      {"gauge replaced", {"ratio", "hand_check", "as_shipped"}, none, ""},
      {"refilled", {"insulation_resistance", "applied", "induced", "hand_check", "as_shipped"}, full, soak},
      {"untanked", {}, full, soak},
      {"coil replaced", {}, full, soak},
      {"inner leads touched", {}, full, soak},
      {"repaired after breakdown", {}, full, "find the cause; on hold until quality signs, whatever the repeat shows"},
  };
  return table;
}

Plan plan_after(Plan plan, std::string const& done) {
  auto const& table = retest_table();
  auto const rule =
      std::find_if(table.begin(), table.end(), [&](RetestRule const& entry) { return entry.done == done; });
  if (rule == table.end()) {
    std::string known;
    for (auto const& entry : table) known += (known.empty() ? "" : ", ") + std::string(entry.done);
    throw DocumentError("plan.rework", "--after", "",
                        fmt::format("\"{}\" is not in the retest table: {}", done, known));
  }
  std::vector<PlanStep> kept;
  for (auto& step : plan.steps) {
    if (stays(step, *rule)) {
      step.reason = fmt::format("repeated after: {} ({}{}{}); {}", rule->done, rule->level,
                                rule->before.empty() ? "" : "; ", rule->before, step.reason);
      kept.push_back(std::move(step));
      continue;
    }
    bool const noted = std::any_of(plan.left_out.begin(), plan.left_out.end(),
                                   [&](LeftOut const& left) { return left.test == step.test; });
    if (noted) continue;
    LeftOut left;
    left.test = step.test;
    left.reason = fmt::format("stands from before: \"{}\" does not touch it", rule->done);
    plan.left_out.push_back(std::move(left));
  }
  // The area may be kept only between neighbours of this shorter list: asked for anew at each step.
  for (auto& step : kept) step.keeps_area = false;
  plan.steps = std::move(kept);
  return plan;
}

}  // namespace benchward
