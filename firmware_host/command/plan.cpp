// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <optional>

#include "drivers/bench/bench_document.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/operator/terminal_operator.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/unit_past.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/unit_document.hpp"
#include "tests_seq/plan/plan.hpp"
#include "tests_seq/plan/retest.hpp"

namespace benchward {
namespace {

std::string minutes_in_words(Duration duration) { return fmt::format("{:.1f} min", duration.in(minutes)); }

/// The plan as the attempt's own bench would go through it again.
Plan resumed(Plan plan, Unit const& unit, LimitSheet const& sheet, Bench const& bench, PlanOptions const& options,
             std::optional<Resumption>& resumption) {
  if (options.records.empty())
    throw DocumentError("plan.resume", "--resume", "", "needs --records: the journal that has the attempt");
  DirectJournalStore const store(options.records, JournalDatabase::Access::read_only);
  UnitOrder order;
  order.unit = unit;
  order.unit_document = write_unit(unit);
  order.sheet = sheet;
  order.plan = std::move(plan);
  PastWishes const wishes{options.resume, options.after, ""};
  // Only shown: an hour that has passed is judged by the run itself, whose clock may be a virtual one.
  auto const last = store.last();
  Stamp const now = last ? parse_event(last->bytes).at : Stamp();
  auto past = past_of_unit(&store, bench, order, wishes, now, true);
  resumption = std::move(past.resumption);
  return plan_resumed(std::move(order.plan), *resumption);
}

}  // namespace

ExitCode run_plan(PlanOptions const& options) {
  auto const unit = read_unit(options.unit);
  auto const sheet = work_out(chosen_limit_set(options.limits, unit), unit);
  auto const stage = options.stage.empty() ? stages_of(unit).front() : options.stage;
  std::vector<Plan> plans;
  std::optional<Resumption> resumption;
  for (auto const& file : options.benches) {
    auto const bench = read_bench(file);
    auto plan = make_plan(unit, stage, sheet, bench);
    if (!options.resume.empty()) {
      plan = resumed(std::move(plan), unit, sheet, bench, options, resumption);
    } else if (!options.after.empty()) {
      plan = plan_after(std::move(plan), options.after);
    }
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
      if (resumption) {
        out["resumes"] = resumption->attempt;
        out["needs_reason"] = resumption->needs_reason;
        for (std::size_t i = 0; i < resumption->steps.size(); ++i)
          out["steps"][i]["stands"] = resumption->steps[i].stands;
      }
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
    if (resumption) {
      say_out(fmt::format("Attempt {} {}: {} of {} steps stand{}", resumption->attempt, resumption->interrupted,
                          resumption->standing(), chosen->steps.size(),
                          resumption->needs_reason ? "; the unit is on hold: --reason, signed by quality" : ""));
    }
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
