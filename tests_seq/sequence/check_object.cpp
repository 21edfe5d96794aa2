// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/check_object.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "limits/correct/resistance.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/documents/unit_document.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward {

namespace {

Result const* result_of(std::vector<Evaluation> const& evaluations, DeclaredValue const& declared) {
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      if (result.test == declared.test && result.quantity == declared.quantity && result.at == declared.at)
        return &result;
    }
  }
  return nullptr;
}

std::optional<double> winding_c(std::vector<Evaluation> const& evaluations) {
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      if (result.quantity == "winding_temperature_c") return result.value;
    }
  }
  return std::nullopt;
}

/// What the object must read here and now.
std::optional<double> expected(DeclaredValue const& declared, CheckObject const& object,
                               std::vector<Evaluation> const& evaluations) {
  if (!declared.at_c) return declared.value;
  auto const now_c = winding_c(evaluations);
  if (!now_c || !declared.metal) return std::nullopt;
  double const zero_c = inferred_zero_c(*declared.metal, object.unit.standard);
  return declared.value * (zero_c + *now_c) / (zero_c + *declared.at_c);
}

int phases_of_object(EventStore const& store, ObjectChecked const& checked) {
  auto const attempt = read_attempt(store, checked.attempt);
  if (!attempt) return 0;
  return parse_unit(attempt->started.unit_document, "record " + checked.attempt).phases;
}

}  // namespace

Plan plan_for_object(Plan plan, CheckObject const& object) {
  std::vector<PlanStep> kept;
  for (auto& step : plan.steps) {
    bool const needed = step.test == "identity" || step.test == "temperatures" ||
                        std::any_of(object.declared.begin(), object.declared.end(),
                                    [&](DeclaredValue const& declared) { return declared.test == step.test; });
    if (needed) {
      step.keeps_area = false;
      step.reason = "known object: " + step.reason;
      kept.push_back(std::move(step));
      continue;
    }
    LeftOut left;
    left.test = step.test;
    left.reason = "the check object declares no value of it";
    plan.left_out.push_back(std::move(left));
  }
  plan.steps = std::move(kept);
  return plan;
}

ObjectChecked judge_by_object(CheckObject const& object, std::vector<Evaluation> const& evaluations) {
  ObjectChecked checked;
  checked.object = object.unit.serial;
  for (auto const& declared : object.declared) {
    auto const name = fmt::format("{}: {} {} {}", declared.instrument, declared.test, declared.quantity, declared.at);
    auto const* result = result_of(evaluations, declared);
    auto const value = expected(declared, object, evaluations);
    if (result == nullptr || !value || !std::isfinite(result->value)) {
      checked.beyond.push_back(name + ": was not read");
    } else if (!(std::abs(result->value - *value) <= declared.limit)) {
      checked.beyond.push_back(fmt::format("{}: declared {:.6g} {}, read {:.6g}, off by {:.3g}, limit {:.3g}", name,
                                           *value, declared.unit, result->value, result->value - *value,
                                           declared.limit));
    }
  }
  checked.passed = checked.beyond.empty() && !object.declared.empty();
  return checked;
}

BenchStanding bench_standing(EventStore const& store, std::string const& bench_hash, Stamp now, int phases) {
  struct Check {
    ObjectChecked checked;
    std::int64_t at_us = 0;
    std::string trip_since;
  };
  std::vector<Check> checks_of_bench;
  store.scan(0, [&](StoredEvent const& stored) {
    bool const checks = stored.bytes.find("\"type\":\"object checked\"") != std::string::npos;
    bool const trips = stored.bytes.find("\"type\":\"guard event\"") != std::string::npos &&
                       stored.bytes.find("\"trip\":{") != std::string::npos;
    if (!checks && !trips) return true;
    auto const event = parse_event(stored.bytes);
    if (event.type == event_type::object_checked) {
      Check check{object_check_of(event), event.at.utc_us, {}};
      if (check.checked.bench_hash == bench_hash) checks_of_bench.push_back(std::move(check));
    } else if (event.type == event_type::guard_event) {
      for (auto& check : checks_of_bench) check.trip_since = utc_text(event.at.utc_us).substr(0, 19);
    }
    return true;
  });
  BenchStanding standing;
  if (!checks_of_bench.empty()) standing.last = checks_of_bench.back().checked;
  auto const of_family = std::find_if(checks_of_bench.rbegin(), checks_of_bench.rend(), [&](Check const& check) {
    return phases_of_object(store, check.checked) == phases;
  });
  if (standing.beyond()) {
    standing.why_not_for_record =
        fmt::format("the check object {} found the bench beyond its limits: {}", standing.last->object,
                    standing.last->beyond.empty() ? "it declares nothing" : standing.last->beyond.front());
  } else if (of_family == checks_of_bench.rend()) {
    standing.why_not_for_record = fmt::format(
        "no check object of the {} family was measured on this bench as its document stands (calibration, ranges and "
        "leads of today)",
        phases == 3 ? "three-phase" : "single-phase");
  } else if (!of_family->checked.passed) {
    standing.why_not_for_record = fmt::format(
        "the check object {} found the bench beyond its limits, and no object of "
        "its family since",
        of_family->checked.object);
  } else if (!of_family->trip_since.empty()) {
    standing.why_not_for_record =
        "the bench tripped on " + of_family->trip_since + " and no check object of its family was measured since";
  } else if (static_cast<double>(now.utc_us - of_family->at_us) * 1e-6 > longest_shift.in(seconds)) {
    standing.why_not_for_record =
        fmt::format("the check object was measured {} UTC, longer ago than a shift ({:.0f} h)",
                    utc_text(of_family->at_us).substr(0, 19), longest_shift.in(minutes) / 60.0);
  }
  return standing;
}

}  // namespace benchward
