// SPDX-License-Identifier: MIT
#include "firmware_host/panel/panel_progress.hpp"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>
#include <variant>

#include "tests_seq/sequence/attempt_result.hpp"
#include "tests_seq/sequence/step_runner.hpp"

namespace benchward::panel {

ShownRun planned_run(Unit const& unit, Plan const& plan) {
  ShownRun run;
  run.unit = unit;
  Connection const* leads = nullptr;
  for (auto const& step : plan.steps) {
    ShownStep shown;
    shown.test = step.test;
    shown.name = test_in_words(step.test);
    shown.reason = step.reason;
    shown.predicted_s = step.predicted.in(seconds);
    if (step.energy) {
      shown.new_leads = leads == nullptr || !same_leads(*leads, step.connection);
      leads = &step.connection;
    }
    run.steps.push_back(std::move(shown));
  }
  return run;
}

namespace {

/// Which live reading stands beside which line of the sheet. Only what is of the same kind and unit: a load loss at the
/// oil's temperature of the day beside a limit at the reference temperature would mislead.
struct Beside {
  std::string_view test, reading, quantity;
};
constexpr std::array<Beside, 4> beside{{{"no_load", "no-load loss", "corrected_no_load_loss_w"},
                                        {"applied", "level", "level_kv"},
                                        {"induced", "induced volts", "level_v"},
                                        {"insulation_resistance", "insulation resistance", "resistance_megohm"}}};

}  // namespace

void put_limit(ShownReading& reading, LimitSheet const& sheet, std::string const& test, std::string const& at) {
  for (auto const& known : beside) {
    if (known.test != test || known.reading != reading.name) continue;
    for (auto const* line : sheet.lines_of(test, std::string(known.quantity), at)) {
      if (line->limit.warns_only || line->limit.unit != reading.unit) continue;
      reading.lower = line->limit.lower;
      reading.upper = line->limit.upper;
      // "corrected_no_load_loss_w" without its unit: that stands with the numbers.
      reading.limit_of = line->quantity.substr(0, line->quantity.rfind('_'));
      std::replace(reading.limit_of.begin(), reading.limit_of.end(), '_', ' ');
      return;
    }
  }
}

ShownStep* PanelProgress::at(int step) {
  if (!run || step < 1 || step > static_cast<int>(run->steps.size())) return nullptr;
  return &run->steps[static_cast<std::size_t>(step - 1)];
}

void PanelProgress::step_started(int step, int, PlanStep const& plan_step) {
  if (auto* shown = at(step)) {
    shown->state = "now";
    run->step = step;
    run->reading.reset();
    run->hold_left_s.reset();
    run->act.clear();
    run->connection.reset();
    if (plan_step.energy) run->connection = plan_step.connection;
    auto const* applied = std::get_if<AppliedWork>(&plan_step.work);
    winding_ = applied != nullptr ? applied->winding : std::string();
  }
  changed_();
}

void PanelProgress::act(std::string const& words) {
  if (run) run->act = words;
  changed_();
}

void PanelProgress::reading(std::string const& what, double value, std::string const& unit) {
  if (run) {
    ShownReading shown;
    shown.name = what;
    shown.unit = unit;
    shown.value = value;
    auto const* now = at(run->step);
    if (sheet != nullptr && now != nullptr) put_limit(shown, *sheet, now->test, winding_);
    run->reading = std::move(shown);
    run->act.clear();
  }
  changed_();
}

void PanelProgress::hold_left(Duration left) {
  if (run) run->hold_left_s = left.in(seconds);
  changed_();
}

void PanelProgress::guard(GuardStatus const&) { changed_(); }

void PanelProgress::evaluated(Evaluation const& evaluation) {
  if (!run) return;
  auto const same = std::find_if(run->evaluations.begin(), run->evaluations.end(),
                                 [&](Evaluation const& other) { return other.test == evaluation.test; });
  // Insulation resistance and ratio come in several steps of one test: only the same results again replace older ones.
  bool const again =
      same != run->evaluations.end() && same->results.size() == evaluation.results.size() &&
      std::equal(same->results.begin(), same->results.end(), evaluation.results.begin(),
                 [](Result const& a, Result const& b) { return a.quantity == b.quantity && a.at == b.at; });
  if (again) {
    *same = evaluation;
  } else {
    run->evaluations.push_back(evaluation);
  }
  if (auto* shown = at(run->step); shown != nullptr && shown->test == evaluation.test) {
    if (rejects(evaluation)) shown->state = "failed";
    if (evaluation.invalid_reason) shown->state = "invalid";
  }
  changed_();
}

void PanelProgress::step_ended(int step, std::string const& how, std::string const&) {
  if (auto* shown = at(step); shown != nullptr && shown->state == "now") {
    shown->state = how == "finished" ? "done" : how == "repeated" ? "now" : "stopped";
  }
  changed_();
}

void PanelProgress::ended(AttemptResult const& result) {
  if (!run) return;
  for (auto& shown : run->steps) {
    if (shown.state != "now") continue;
    shown.state = result.outcome == Outcome::fail      ? "failed"
                  : result.outcome == Outcome::invalid ? "invalid"
                                                       : "stopped";
  }
  run->evaluations = result.evaluations;
  run->reading.reset();
  run->hold_left_s.reset();
  run->act.clear();
  ShownEnd end;
  end.outcome = result.outcome;
  end.disposition = result.disposition;
  end.reason = result.reason;
  end.record_id = result.attempt;
  end.record_kept = !result.journal_failed;
  for (auto const& test : result.finished) end.finished.push_back(test);
  for (auto const& test : result.repeat) end.repeat.push_back(test);
  run->end = std::move(end);
  changed_();
}

}  // namespace benchward::panel
