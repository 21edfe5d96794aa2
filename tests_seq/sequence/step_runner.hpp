// SPDX-License-Identifier: MIT
#pragma once

/// One step: measured by its procedure, evaluated by limits/, both kept durably before anything is shown.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "../../limits/evaluate/evaluate.hpp"
#include "../procedures/step_context.hpp"
#include "kept_evaluation.hpp"

namespace benchward {

/// What one step said. `again`: evaluations of earlier steps that this one completes (totals of the load loss).
struct StepOutput {
  std::optional<Evaluation> evaluation;
  struct Again {
    int step = 0;
    Evaluation evaluation;
  };
  std::vector<Again> again;
};

/// Measures and evaluates. Keeps raw readings; the evaluations are the caller's to keep. Throws StepStopped.
Task<StepOutput> run_step(StepContext& at, EvaluationContext const& context, Gathered& gathered);

/// Whether a result of the evaluation rejects the unit.
bool rejects(Evaluation const& evaluation);

}  // namespace benchward
