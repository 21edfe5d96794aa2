// SPDX-License-Identifier: MIT
// What a resumed attempt does with the steps of the interrupted one that stand.
#include <fmt/format.h>

#include "limits/documents/readings_json.hpp"
#include "tests_seq/sequence/sequencer_run.hpp"

namespace benchward {

/// The journal knows what this bench did, not what hands did to the unit since.
Task<void> Sequencer::ask_what_was_done_meanwhile(Run& run) {
  StepContext at(world_, run.plan.steps.front(), options_.attempt);
  Question question;
  question.id = "resume.untouched";
  question.text = fmt::format("Attempt {} at unit {} {}. {} of {} steps stand. Was anything done to the unit since?",
                              options_.resumption->attempt, run.plan.serial, options_.resumption->interrupted,
                              options_.resumption->standing(), run.plan.steps.size());
  question.choices = {"nothing was done", "something was done"};
  auto const answer = co_await ask(at, std::move(question));
  if (answer != "nothing was done") {
    throw StepStopped(StopCause::person,
                      "something was done to the unit since: record the rework, then test --after it, or begin anew");
  }
}

/// A step that stands: its raw readings as they were kept, evaluated again with today's instruments; a person's word as
/// it was given. The record of this attempt is whole without the other one.
Task<void> Sequencer::take_over(Run& run, std::size_t index) {
  PlanStep const& plan_step = run.plan.steps[index];
  StepFate const& fate = options_.resumption->steps[index];
  run.current = index;
  run.in_step = true;
  StepContext at(world_, plan_step, options_.attempt);
  at.step = static_cast<int>(index) + 1;
  at.of = static_cast<int>(run.plan.steps.size());
  EvaluationContext const context{world_.unit, sheet_, calibration_, run.today};
  co_await begin_step(at, plan_step.reason);
  bool evaluated = false;
  for (auto const& readings : fate.readings) {
    co_await keep_readings(at, readings.kind, readings.json);
    auto const name = fmt::format("attempt {}, entry {}", options_.resumption->attempt, readings.seq);
    auto const made = evaluate_kept(plan_step.test, readings.kind, readings.json, name, context, run.gathered);
    for (std::size_t i = 0; i < made.size(); ++i) {
      int const of_step = i == 0 ? at.step : run.gathered.load_loss_step;
      co_await keep_evaluation(run, of_step, made[i]);
      evaluated = true;
      if (made[i].invalid_reason || made[i].question || rejects(made[i])) run.ended_early = true;
    }
  }
  if (plan_step.test == "load_loss") run.gathered.load_loss_step = at.step;
  if (!evaluated && !fate.evaluation.empty()) {
    auto const words = read_json<Evaluation>(fate.evaluation, "attempt " + options_.resumption->attempt);
    co_await keep_evaluation(run, at.step, words);
  }
  StepEnded ended;
  ended.attempt = options_.attempt;
  ended.step = at.step;
  ended.test = plan_step.test;
  ended.how = "finished";
  ended.words = fate.why;
  co_await keep(at, body_of(ended), Durability::ordinary);
  world_.progress.step_ended(at.step, ended.how, ended.words);
  run.in_step = false;
  run.done = index + 1;
}

}  // namespace benchward
