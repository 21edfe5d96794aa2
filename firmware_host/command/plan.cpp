// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include "drivers/bench/bench_document.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/operator/terminal_operator.hpp"
#include "firmware_host/say.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/unit_document.hpp"
#include "tests_seq/plan/plan.hpp"
#include "tests_seq/plan/retest.hpp"

namespace benchward {
namespace {

std::string minutes_in_words(Duration duration) { return fmt::format("{:.1f} min", duration.in(minutes)); }

}  // namespace

ExitCode run_plan(PlanOptions const& options) {
  auto const unit = read_unit(options.unit);
  auto const sheet = work_out(chosen_limit_set(options.limits, unit), unit);
  auto const stage = options.stage.empty() ? stages_of(unit).front() : options.stage;
  std::vector<Plan> plans;
  for (auto const& file : options.benches) {
    auto plan = make_plan(unit, stage, sheet, read_bench(file));
    if (!options.after.empty()) plan = plan_after(std::move(plan), options.after);
    plans.push_back(std::move(plan));
  }

  // The steps shown are those of the first bench that can.
  Plan const* chosen = nullptr;
  for (auto const& plan : plans) {
    if (plan.testable() && chosen == nullptr) chosen = &plan;
  }
  if (options.json) {
    documents::Json out;
    out["testable"] = documents::Json::array();
    out["not_testable"] = documents::Json::array();
    for (auto const& plan : plans) {
      if (plan.testable()) {
        out["testable"].push_back(plan.bench);
      } else {
        out["not_testable"].push_back({{"bench", plan.bench}, {"why_not", plan.why_not}});
      }
    }
    out["steps"] = documents::Json::array();
    out["left_out"] = documents::Json::array();
    if (chosen != nullptr) {
      auto const body = documents::Json::parse(plan_json(*chosen));
      out["steps"] = body["steps"];
      out["left_out"] = body["left_out"];
      out["bench"] = chosen->bench;
      out["duration_s"] = body["duration_s"];
      for (char const* key : {"connection_changes", "naive_connection_changes", "unbroken_area_saves_s"})
        out[key] = body[key];
    }
    say_out(out.dump());
  } else if (chosen != nullptr) {
    say_out(
        fmt::format("Unit {} on bench {}, stage {}: {} steps, {} changes of leads ({} in the order of the standard's "
                    "clauses), about {}; steps on the same leads save {:.0f} s of rounds",
                    unit.serial, chosen->bench, stage, chosen->steps.size(), chosen->connection_changes(),
                    chosen->naive_connection_changes(), minutes_in_words(chosen->predicted()),
                    chosen->saved_by_unbroken_area().in(seconds)));
    int number = 0;
    for (auto const& step : chosen->steps) {
      say_out(fmt::format("\n{:2}. {} ({}{})", ++number, step.test, minutes_in_words(step.predicted),
                          step.keeps_area ? ", area kept for the next step" : ""));
      say_out("    why    " + step.reason);
      if (!step.connection.name.empty()) say_out(connection_in_words(step.connection));
    }
    if (!chosen->left_out.empty()) say_out("\nLeft out:");
    for (auto const& left : chosen->left_out) say_out(fmt::format("    {}: {}", left.test, left.reason));
  }
  for (auto const& plan : plans) {
    for (auto const& reason : plan.why_not)
      say_err(fmt::format("bench {} cannot test unit {}: {}", plan.bench, unit.serial, reason));
  }
  return chosen != nullptr ? ExitCode::done : ExitCode::bad_input;
}

}  // namespace benchward
