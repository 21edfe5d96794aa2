// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/kept_evaluation.hpp"

#include <utility>

#include "limits/documents/readings_json.hpp"

namespace benchward {

void keep_no_load(Evaluation const& evaluation, Gathered& gathered) {
  for (auto const& result : evaluation.results) {
    if (result.quantity != "corrected_no_load_loss_w" || result.at != "100 %") continue;
    gathered.no_load.corrected_w = result.value;
    gathered.no_load.u_w = result.uncertainty ? result.uncertainty->standard : 0.0;
  }
}

std::vector<Evaluation> evaluate_kept(std::string const& test, std::string const& kind,
                                      std::string const& readings_json, std::string const& name,
                                      EvaluationContext const& context, Gathered& gathered) {
  auto const& json = readings_json;
  if (kind == "breakdown") return {evaluate_breakdown(read_json<BreakdownReading>(json, name), context)};
  if (test == "temperatures") {
    gathered.temperature = read_json<TemperatureReadings>(json, name);
    return {evaluate_temperatures(*gathered.temperature, context)};
  }
  if (test == "insulation_resistance")
    return {evaluate_insulation_resistance(read_json<InsulationReadings>(json, name), context)};
  if (test == "ratio") return {evaluate_ratio(read_json<RatioReadings>(json, name), context)};
  if (test == "phase_relation") return {evaluate_phase_relation(read_json<RatioReadings>(json, name), context)};
  if (test == "polarity") return {evaluate_polarity(read_json<PolarityReadings>(json, name), context)};
  if (test == "as_shipped") {
    auto evaluation = evaluate_ratio(read_json<RatioReadings>(json, name), context);
    evaluation.test = "as_shipped";
    for (auto& result : evaluation.results) result.test = "as_shipped";
    evaluation.warnings.clear();
    return {std::move(evaluation)};
  }
  if (test == "winding_resistance") {
    auto taken = read_json<ResistanceReadings>(json, name);
    auto evaluation = evaluate_winding_resistance(taken, context);
    for (auto& point : taken.points) gathered.resistances.points.push_back(std::move(point));
    return {std::move(evaluation)};
  }
  if (test == "no_load") {
    std::vector<Evaluation> all{evaluate_no_load(read_json<NoLoadReadings>(json, name), context)};
    keep_no_load(all.front(), gathered);
    if (gathered.load_loss && gathered.no_load.corrected_w) {
      all.push_back(evaluate_load_loss(*gathered.load_loss, measured_resistances(gathered.resistances, context),
                                       gathered.no_load, context));
    }
    return all;
  }
  if (test == "load_loss") {
    auto taken = read_json<LoadLossReadings>(json, name);
    auto evaluation =
        evaluate_load_loss(taken, measured_resistances(gathered.resistances, context), gathered.no_load, context);
    gathered.load_loss = std::move(taken);
    return {std::move(evaluation)};
  }
  if (test == "applied") return {evaluate_applied(read_json<AppliedReadings>(json, name), context)};
  if (test == "induced") return {evaluate_induced(read_json<InducedReadings>(json, name), context)};
  return {};  // identity, hand checks, results from elsewhere: a person's word, nothing to compute
}

}  // namespace benchward
