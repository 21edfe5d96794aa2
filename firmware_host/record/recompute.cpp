// SPDX-License-Identifier: MIT
#include "firmware_host/record/recompute.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <optional>

#include "firmware_host/record/record_json.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/documents/unit_document.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "tests_seq/sequence/kept_evaluation.hpp"

namespace benchward {
namespace {

std::string name_of_result(Result const& result) {
  return result.test + " " + result.quantity + (result.at.empty() ? "" : " at " + result.at);
}

void compare(Evaluation const& then, Evaluation const& now, RecordComparison& comparison) {
  if (then.invalid_reason.has_value() != now.invalid_reason.has_value()) {
    comparison.differences.push_back(fmt::format("{}: then {}, now {}", then.test,
                                                 then.invalid_reason ? "INVALID" : "judged",
                                                 now.invalid_reason ? "INVALID" : "judged"));
  }
  for (auto const& old : then.results) {
    auto const same = std::find_if(now.results.begin(), now.results.end(), [&](Result const& result) {
      return result.test == old.test && result.quantity == old.quantity && result.at == old.at;
    });
    if (same == now.results.end()) {
      comparison.differences.push_back(name_of_result(old) + ": is not among the results now");
      continue;
    }
    bool const both_nothing = std::isnan(old.value) && std::isnan(same->value);
    bool const identical =
        both_nothing || std::bit_cast<std::uint64_t>(old.value) == std::bit_cast<std::uint64_t>(same->value);
    bool const equal =
        identical || std::abs(old.value - same->value) <= 1e-12 * std::max(std::abs(old.value), std::abs(same->value));
    if (old.verdict != same->verdict || !equal) {
      auto const versions = old.evaluation_version == same->evaluation_version
                                ? std::string()
                                : fmt::format("; then by version {} of the evaluation, now by version {}",
                                              old.evaluation_version, same->evaluation_version);
      comparison.differences.push_back(fmt::format("{}: then {} ({}), now {} ({}){}", name_of_result(old), old.value,
                                                   word_of(old.verdict), same->value, word_of(same->verdict),
                                                   versions));
    } else if (identical) {
      ++comparison.identical;
    } else {
      ++comparison.equal;
    }
  }
}

/// By test and, for a step's own test, its number: a later evaluation of a step (once more, or completed by another)
/// stands in place of the first.
using ByKey = std::map<std::string, Evaluation>;

std::string key_of(std::string const& test, RecordedStep const& step) {
  return test == step.test ? test + " " + std::to_string(step.number) : test;
}

ByKey everything_again(AttemptRecord const& record, EvaluationInputs const& inputs) {
  EvaluationContext const context{inputs.unit, inputs.sheet, inputs.calibration, inputs.day};
  Gathered gathered;
  ByKey now;
  for (auto const& step : record.steps) {
    for (auto const& readings : step.readings) {
      auto const name = "readings " + std::to_string(readings.seq);
      for (auto& evaluation : evaluate_kept(step.test, readings.kind, readings.json, name, context, gathered)) {
        auto key = key_of(evaluation.test, step);
        if (evaluation.test == "load_loss" && step.test != "load_loss") {
          for (auto const& other : record.steps) {
            if (other.test == "load_loss") key = "load_loss " + std::to_string(other.number);
          }
        }
        now[key] = std::move(evaluation);
      }
    }
  }
  return now;
}

}  // namespace

EvaluationInputs inputs_of(AttemptRecord const& record) {
  auto const name = "record " + record.started.attempt;
  EvaluationInputs inputs;
  inputs.unit = parse_unit(record.started.unit_document, name + ", unit");
  inputs.sheet = read_json<LimitSheet>(record.started.sheet_document, name + ", limit sheet");
  auto const calibrations = documents::parse_json(record.started.calibration_document, name + ", calibration");
  for (auto const& [instrument, text] : calibrations.items()) {
    inputs.calibration[instrument] =
        read_json<Calibration>(text.dump(), fmt::format("{}, calibration of {}", name, instrument));
  }
  inputs.day = utc_text(record.started_at.utc_us).substr(0, 10);
  return inputs;
}

std::vector<Evaluation> evaluations_again(AttemptRecord const& record, EvaluationInputs const& inputs) {
  auto const now = everything_again(record, inputs);
  std::vector<Evaluation> evaluations;
  for (auto const& step : record.steps) {
    if (step.evaluations.empty()) continue;
    auto const then = read_json<Evaluation>(step.evaluations.back().json, "record " + record.started.attempt);
    auto const found = now.find(key_of(then.test, step));
    // A person's word and results of other stations stand as they were given.
    evaluations.push_back(found != now.end() ? found->second : then);
  }
  return evaluations;
}

RecordComparison recompute_record(AttemptRecord const& record) {
  RecordComparison comparison;
  try {
    auto const now = everything_again(record, inputs_of(record));
    for (auto const& step : record.steps) {
      if (step.evaluations.empty() || step.readings.empty()) continue;
      auto const then = read_json<Evaluation>(step.evaluations.back().json, "record " + record.started.attempt);
      auto const found = now.find(key_of(then.test, step));
      if (found == now.end()) {
        if (step.test != "hand_check" && step.test != "elsewhere" && step.test != "identity")
          comparison.differences.push_back(then.test + ": its readings lead to no evaluation now");
        continue;
      }
      compare(then, found->second, comparison);
    }
  } catch (DocumentError const& error) {
    comparison.differences.push_back(std::string("cannot be read: ") + error.what());
  }
  return comparison;
}

}  // namespace benchward
