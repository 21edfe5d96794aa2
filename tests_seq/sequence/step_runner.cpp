// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/step_runner.hpp"

#include <algorithm>

#include "tests_seq/procedures/procedures.hpp"

namespace benchward {

namespace {

/// A hand check or another station's word, as a result of its own.
Evaluation evaluation_of_word(std::string const& test, std::string const& item, bool passed) {
  Evaluation evaluation;
  evaluation.test = test;
  Result result;
  result.test = test;
  result.quantity = "passed";
  result.at = item;
  result.value = passed ? 1.0 : 0.0;
  result.unit = "1";
  Limit limit;
  limit.rule = test;
  limit.lower = 1.0;
  limit.unit = "1";
  limit.origin = "1 = passed";
  limit.source = "order";
  result.limit = limit;
  result.verdict = passed ? Verdict::pass : Verdict::fail;
  evaluation.results.push_back(std::move(result));
  return evaluation;
}

/// Measures by the step's own procedure; one overload a kind of work.
struct Runner {
  StepContext& at;
  EvaluationContext const& context;
  Gathered& gathered;

  Task<StepOutput> operator()(IdentityWork const& work) {
    co_await measure_identity(at, work);
    co_return StepOutput();
  }
  Task<StepOutput> operator()(TemperaturesWork const& work) {
    auto readings = co_await measure_temperatures(at, work);
    StepOutput output;
    output.evaluation = evaluate_temperatures(readings, context);
    gathered.temperature = std::move(readings);
    co_return output;
  }
  Task<StepOutput> operator()(InsulationWork const& work) {
    auto const readings = co_await measure_insulation_resistance(at, work);
    StepOutput output;
    output.evaluation = evaluate_insulation_resistance(readings, context);
    co_return output;
  }
  Task<StepOutput> operator()(RatioWork const& work) {
    auto const readings = co_await measure_ratio(at, work);
    StepOutput output;
    output.evaluation = at.plan_step.test == "phase_relation" ? evaluate_phase_relation(readings, context)
                                                              : evaluate_ratio(readings, context);
    co_return output;
  }
  Task<StepOutput> operator()(PolarityWork const& work) {
    auto const readings = co_await measure_polarity(at, work);
    StepOutput output;
    output.evaluation = evaluate_polarity(readings, context);
    co_return output;
  }
  Task<StepOutput> operator()(ResistanceWork const& work) {
    auto readings = co_await measure_winding_resistance(at, work);
    StepOutput output;
    output.evaluation = evaluate_winding_resistance(readings, context);
    for (auto& point : readings.points) gathered.resistances.points.push_back(std::move(point));
    co_return output;
  }
  Task<StepOutput> operator()(NoLoadWork const& work) {
    auto const readings = co_await measure_no_load(at, work);
    StepOutput output;
    output.evaluation = evaluate_no_load(readings, context);
    keep_no_load(*output.evaluation, gathered);
    if (gathered.load_loss && gathered.no_load.corrected_w) {
      // Total loss and efficiency need both losses.
      StepOutput::Again again;
      again.step = gathered.load_loss_step;
      again.evaluation = evaluate_load_loss(*gathered.load_loss, measured_resistances(gathered.resistances, context),
                                            gathered.no_load, context);
      output.again.push_back(std::move(again));
    }
    co_return output;
  }
  Task<StepOutput> operator()(LoadLossWork const& work) {
    auto readings = co_await measure_load_loss(at, work);
    StepOutput output;
    output.evaluation =
        evaluate_load_loss(readings, measured_resistances(gathered.resistances, context), gathered.no_load, context);
    gathered.load_loss = std::move(readings);
    gathered.load_loss_step = at.step;
    co_return output;
  }
  Task<StepOutput> operator()(AppliedWork const& work) {
    auto const readings = co_await measure_applied(at, work);
    StepOutput output;
    output.evaluation = evaluate_applied(readings, context);
    co_return output;
  }
  Task<StepOutput> operator()(InducedWork const& work) {
    auto const readings = co_await measure_induced(at, work);
    StepOutput output;
    output.evaluation = evaluate_induced(readings, context);
    co_return output;
  }
  Task<StepOutput> operator()(DemagnetiseWork const& work) {
    co_await demagnetise(at, work);
    co_return StepOutput();
  }
  Task<StepOutput> operator()(HandCheckWork const& work) {
    bool const passed = co_await do_hand_check(at, work);
    StepOutput output;
    output.evaluation = evaluation_of_word("hand_check", work.item, passed);
    co_return output;
  }
  Task<StepOutput> operator()(ElsewhereWork const& work) {
    bool const passed = co_await take_result_from_elsewhere(at, work);
    StepOutput output;
    output.evaluation = evaluation_of_word("elsewhere", work.item, passed);
    co_return output;
  }
  Task<StepOutput> operator()(AsShippedWork const& work) {
    auto const readings = co_await measure_as_shipped(at, work);
    StepOutput output;
    auto evaluation = evaluate_ratio(readings, context);
    evaluation.test = "as_shipped";
    for (auto& result : evaluation.results) result.test = "as_shipped";
    evaluation.warnings.clear();  // that only one of the planned points was measured is the plan
    output.evaluation = std::move(evaluation);
    co_return output;
  }
};

}  // namespace

Task<StepOutput> run_step(StepContext& at, EvaluationContext const& context, Gathered& gathered) {
  at.temperature = gathered.temperature ? &*gathered.temperature : nullptr;
  Runner runner{at, context, gathered};
  co_return co_await std::visit(runner, at.plan_step.work);
}

bool rejects(Evaluation const& evaluation) {
  return std::any_of(evaluation.results.begin(), evaluation.results.end(), [](Result const& result) {
    return result.verdict == Verdict::fail || result.verdict == Verdict::conditional_fail;
  });
}

}  // namespace benchward
