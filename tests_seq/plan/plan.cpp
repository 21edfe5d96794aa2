// SPDX-License-Identifier: MIT
#include "tests_seq/plan/plan.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/journal/events.hpp"
#include "tests_seq/plan/step_builder.hpp"

namespace benchward {

namespace {

using planning::StepBuilder;

/// The tests of a stage (common practice, no source): what can be seen with the active part still open, before closing;
/// everything, before shipping and in a routine run.
bool in_stage(std::string const& stage, std::string_view test) {
  if (stage != "before_closing") return true;
  return test == "identity" || test == "temperatures" || test == "ratio" || test == "polarity" ||
         test == "phase_relation" || test == "winding_resistance";
}

bool is_direct(PlanStep const& step) {
  return step.energy &&
         (step.energy->source == SourcePath::resistance || step.energy->source == SourcePath::insulation);
}

/// Tap on which a step leaves the unit.
std::optional<int> last_tap(PlanStep const& step) {
  if (auto const* ratio = std::get_if<RatioWork>(&step.work); ratio != nullptr && !ratio->points.empty()) {
    return ratio->points.back().tap;
  }
  return step.connection.tap;
}

void mark_kept_areas(Plan& plan) {
  for (std::size_t i = 0; i + 1 < plan.steps.size(); ++i) {
    auto& step = plan.steps[i];
    auto const& next = plan.steps[i + 1];
    // A direct-current charge, a changed lead or a changed tap: through the earthed state.
    step.keeps_area = step.energy && next.energy && !is_direct(step) && !is_direct(next) &&
                      same_leads(step.connection, next.connection) && last_tap(step) == next.connection.tap;
  }
}

}  // namespace

Duration Plan::predicted() const {
  Duration sum;
  for (auto const& step : steps) sum += step.predicted;
  return sum;
}

std::vector<std::string> stages_of(Unit const& unit) {
  if (unit.options.stages.empty()) return {"routine"};
  return unit.options.stages;
}

Plan make_plan(Unit const& unit, std::string const& stage, LimitSheet const& sheet, Bench const& bench) {
  auto const stages = stages_of(unit);
  if (std::find(stages.begin(), stages.end(), stage) == stages.end()) {
    throw DocumentError(
        "plan.stage", "stage", "",
        fmt::format("unit {} has no stage \"{}\"; it has {}", unit.serial, stage, fmt::join(stages, ", ")));
  }
  Plan plan;
  plan.serial = unit.serial;
  plan.stage = stage;
  plan.bench = bench.name;
  StepBuilder at(unit, sheet, bench, plan);
  planning::check_envelope(at);
  planning::check_uncertainties(at);
  auto const wanted = [&](char const* test) {
    if (in_stage(stage, test)) return true;
    at.leave_out(test, "belongs to the stage before_shipping");
    return false;
  };
  bool const last_stage = stage == stages.back();

  // The hard order: identity, ratio and polarity, insulation resistance, resistance while isothermal, then what heats;
  // applied before induced; as shipped last. Within it the fewest changes of leads: no-load and induced share theirs.
  planning::add_identity(at);
  planning::add_temperatures(at);
  planning::add_ratio_in_other_position(at);
  planning::add_ratio(at);
  planning::add_polarity(at);
  planning::add_phase_relation(at);
  if (wanted("insulation_resistance")) planning::add_insulation_resistance(at);
  if (wanted("winding_resistance")) planning::add_winding_resistance(at);
  if (wanted("load_loss")) planning::add_load_loss(at);
  if (last_stage) planning::add_elsewhere(at, true);
  if (wanted("applied")) planning::add_applied(at);
  if (wanted("no_load")) {
    planning::add_no_load(
        at,
        "rated volts before twice rated: a shorted turn shows here first; on the induced test's leads; "
        "its ramp demagnetises after the direct current");
  }
  if (wanted("induced")) planning::add_induced(at);
  if (in_stage(stage, "no_load") && unit.options.no_load_after_dielectric) {
    planning::add_no_load(at, "ordered again after the dielectric tests: a turn that failed there shows here");
  }
  at.leave_out(
      "demagnetise",
      in_stage(stage, "no_load")
          ? "the ramp of the no-load test to rated volts and down does it; no low-voltage excitation follows the "
            "direct current"
          : "no excitation follows the direct current in this stage");
  if (last_stage) {
    planning::add_hand_checks(at);
    planning::add_elsewhere(at, false);
    planning::add_as_shipped(at);
  } else {
    for (char const* test : {"hand_check", "elsewhere", "as_shipped"}) at.leave_out(test, "belongs to the last stage");
  }
  mark_kept_areas(plan);
  return plan;
}

std::string plan_json(Plan const& plan) {
  JsonWriter json;
  json.begin_object()
      .field("serial", plan.serial)
      .field("stage", plan.stage)
      .field("bench", plan.bench)
      .field("testable", plan.testable())
      .field("why_not", plan.why_not)
      .field("duration_s", plan.predicted().in(seconds))
      .field("connection_changes", plan.connection_changes())
      .field("naive_connection_changes", plan.naive_connection_changes())
      .field("unbroken_area_saves_s", plan.saved_by_unbroken_area().in(seconds));
  json.key("steps").begin_list();
  for (auto const& step : plan.steps) {
    json.begin_object()
        .field("test", step.test)
        .field("connection", step.connection.name)
        .field("duration_s", step.predicted.in(seconds))
        .field("reason", step.reason)
        .field("keeps_area", step.keeps_area)
        .field("worst_v", step.connection.worst_volts);
    json.key("leads").raw(connection_json(step.connection));
    if (step.energy) {
      json.key("energy")
          .begin_object()
          .field("source", journal_words::of(step.energy->source))
          .field("set_v", step.energy->set.in(volts))
          .field("ceiling_v", step.energy->ceiling.in(volts))
          .field("highest_ratio", step.energy->highest_ratio)
          .field("trip_current_a", step.energy->trip_current.in(amperes))
          .field("set_direct_a", step.energy->set_direct.in(amperes))
          .field("longest_s", step.energy->longest.in(seconds))
          .end_object();
    }
    json.end_object();
  }
  json.end_list().key("left_out").begin_list();
  for (auto const& left : plan.left_out) {
    json.begin_object().field("test", left.test).field("reason", left.reason).end_object();
  }
  json.end_list().end_object();
  return json.text();
}

}  // namespace benchward
