// SPDX-License-Identifier: MIT
#pragma once

/// Raw readings that stand in a journal, evaluated again: by a resumed sequence for the steps that stand, and by the
/// recomputation of an old record. The same functions as in the run itself.

#include <optional>
#include <string>
#include <vector>

#include "../../limits/evaluate/evaluate.hpp"

namespace benchward {

/// What later steps need of earlier ones.
struct Gathered {
  std::optional<TemperatureReadings> temperature;
  ResistanceReadings resistances;  ///< of both sides
  std::optional<LoadLossReadings> load_loss;
  int load_loss_step = 0;
  NoLoadForTotals no_load;
};

/// Takes the corrected no-load loss out of an evaluation, where it has one.
void keep_no_load(Evaluation const& evaluation, Gathered& gathered);

/// The evaluations that one set of readings leads to: its own first, then those that it completes (the load loss, by
/// the no-load loss). None for a person's word: nothing is computed there. Throws DocumentError where `readings_json`
/// cannot be read; `name` says in the message where it stood.
std::vector<Evaluation> evaluate_kept(std::string const& test, std::string const& kind,
                                      std::string const& readings_json, std::string const& name,
                                      EvaluationContext const& context, Gathered& gathered);

}  // namespace benchward
