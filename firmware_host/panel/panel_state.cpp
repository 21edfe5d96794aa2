// SPDX-License-Identifier: MIT
#include "firmware_host/panel/panel_state.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "drivers/roles/connection_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/guard/words.hpp"
#include "tests_seq/journal/events.hpp"

namespace benchward::panel {
namespace {

using documents::Json;

Json number_or_null(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }

double finite(double value) { return std::isfinite(value) ? value : 0.0; }

char const* area_word(AreaStatus status) {
  switch (status) {
    case AreaStatus::out_of_operation:
      return "out_of_operation";
    case AreaStatus::ready_for_operation:
      return "ready_for_operation";
    case AreaStatus::ready_to_switch_on:
      return "ready_to_switch_on";
    case AreaStatus::in_operation:
      return "in_operation";
  }
  return "in_operation";
}

char const* state_word(GuardState state) {
  switch (state) {
    case GuardState::unknown:
      return "unknown";
    case GuardState::safe_earthed:
      return "safe_earthed";
    case GuardState::securing:
      return "securing";
    case GuardState::warning:
      return "warning";
    case GuardState::armed:
      return "armed";
    case GuardState::closing:
      return "closing";
    case GuardState::ramp_up:
      return "ramp_up";
    case GuardState::hold:
      return "hold";
    case GuardState::ramp_down:
      return "ramp_down";
    case GuardState::discharge:
      return "discharge";
    case GuardState::earthing:
      return "earthing";
    case GuardState::tripped:
      return "tripped";
    case GuardState::lockout:
      return "lockout";
  }
  return "unknown";
}

Json condition_json(Condition const& condition) { return {{"number", condition.number}, {"words", condition.words}}; }

Json conditions_json(std::vector<Condition> const& conditions) {
  Json list = Json::array();
  for (auto const& condition : conditions) list.push_back(condition_json(condition));
  return list;
}

Json guard_json(GuardStatus const& guard) {
  Json out;
  out["state"] = state_word(guard.state);
  out["words"] = std::string(words_of(guard.state));
  out["missing"] = conditions_json(guard.missing);
  out["output_v"] = finite(guard.output.in(volts));
  out["output_a"] = finite(guard.current.in(amperes));
  out["direct_a"] = finite(guard.direct.in(amperes));
  out["left_s"] = finite(guard.left.in(seconds));
  out["trip"] = nullptr;
  if (guard.trip.happened) {
    out["trip"] = {{"first", condition_json(guard.trip.first)},
                   {"later", conditions_json(guard.trip.later)},
                   {"at", utc_text(guard.trip.at.utc_us)},
                   {"output_v", finite(guard.trip.output.in(volts))},
                   {"current_a", finite(guard.trip.current.in(amperes))}};
  }
  return out;
}

Json connection_whole(Connection const& connection) {
  // The panel wants every list, empty ones too.
  Json out = {{"name", connection.name},
              {"instrument", connection.instrument},
              {"feed", connection.feed},
              {"measure", connection.measure},
              {"tie", connection.tie},
              {"short", connection.short_bar},
              {"earth", connection.earth},
              {"open", connection.open},
              {"worst_volts", finite(connection.worst_volts)},
              {"tap", connection.tap ? Json(*connection.tap) : Json()}};
  out["accessories"] = Json::array();
  for (auto const& entry : connection.accessories)
    out["accessories"].push_back({{"name", entry.name}, {"state", entry.state}});
  out["live"] = Json::array();
  for (auto const& entry : connection.live) {
    out["live"].push_back(
        {{"terminal", entry.terminal}, {"volts_to_earth", finite(entry.volts_to_earth)}, {"clipped", entry.clipped}});
  }
  return out;
}

std::string spaced(std::string word) {
  std::replace(word.begin(), word.end(), '_', ' ');
  return word;
}

std::string verdict_word(Verdict verdict) {
  return verdict == Verdict::not_judged ? "-" : std::string(word_of(verdict));
}

Json run_json(ShownRun const& run) {
  Json out;
  out["unit"] = {{"serial", run.unit.serial},     {"design", run.unit.design},
                 {"order", run.unit.order},       {"customer", run.unit.customer},
                 {"rating", rating_of(run.unit)}, {"terminals", terminals_of(run.unit)},
                 {"phases", run.unit.phases},     {"known", true}};
  out["stage"] = run.stage;
  out["phase"] = run.phase;
  out["step"] = run.step;
  out["of"] = run.steps.size();
  out["steps"] = Json::array();
  for (auto const& step : run.steps) {
    out["steps"].push_back({{"test", step.test},
                            {"name", step.name},
                            {"reason", step.reason},
                            {"state", step.state},
                            {"predicted_s", finite(step.predicted_s)},
                            {"new_leads", step.new_leads}});
  }
  out["connection"] = run.connection ? connection_whole(*run.connection) : Json(nullptr);
  out["reading"] = nullptr;
  if (run.reading && std::isfinite(run.reading->value)) {
    out["reading"] = {{"name", run.reading->name},
                      {"value", run.reading->value},
                      {"unit", run.reading->unit},
                      {"lower", run.reading->lower ? number_or_null(*run.reading->lower) : Json(nullptr)},
                      {"upper", run.reading->upper ? number_or_null(*run.reading->upper) : Json(nullptr)},
                      {"limit_of", run.reading->limit_of}};
  }
  out["act"] = run.act;
  out["needs_a_reason"] = run.needs_a_reason;
  out["ways"] = Json::array();
  for (auto const& way : run.ways) {
    out["ways"].push_back({{"key", way.key},
                           {"kind", way.kind},
                           {"stage", way.stage},
                           {"words", way.words},
                           {"waits", way.waits},
                           {"steps", way.steps},
                           {"stands", way.stands}});
  }
  out["way"] = run.way;
  out["why_not_for_record"] = run.why_not_for_record;
  out["hold_left_s"] = run.hold_left_s ? number_or_null(*run.hold_left_s) : Json(nullptr);
  out["results"] = Json::array();
  out["warnings"] = Json::array();
  for (auto const& evaluation : run.evaluations) {
    for (auto const& words : evaluation.warnings)
      out["warnings"].push_back(test_in_words(evaluation.test) + ": " + words);
    for (auto const& result : evaluation.results) {
      auto what = spaced(result.quantity);
      if (!result.at.empty()) what += ", " + result.at;
      auto const u = result.uncertainty ? result.uncertainty->standard : 0.0;
      out["results"].push_back(
          {{"test", result.test},
           {"what", what},
           {"value", number_in_words(result.value, u) + (result.unit == "1" ? "" : " " + result.unit)},
           {"limit", result.limit ? limit_in_words(*result.limit) : "-"},
           {"margin", margin_in_words(result)},
           {"verdict", verdict_word(result.verdict)}});
    }
  }
  out["end"] = nullptr;
  if (run.end) {
    out["end"] = {{"outcome", std::string(journal_words::of(run.end->outcome))},
                  {"disposition", std::string(journal_words::of(run.end->disposition))},
                  {"reason", run.end->reason},
                  {"finished", run.end->finished},
                  {"repeat", run.end->repeat},
                  {"record_id", run.end->record_id},
                  {"record_kept", run.end->record_kept}};
  }
  return out;
}

}  // namespace

std::string rating_of(Unit const& unit) {
  return fmt::format("{:.6g} kVA, {}-phase, {:.6g} / {:.6g} V, {}, {:.4g} Hz", unit.rated_power.in(kilovolt_amperes),
                     unit.phases, unit.hv.rated.in(volts), unit.lv.rated.in(volts), unit.vector_group,
                     unit.rated_frequency.in(hertz));
}

std::vector<std::string> terminals_of(Unit const& unit) {
  std::vector<std::string> names;
  bool const joined = unit.hv_neutral == NeutralKind::joined || unit.lv_neutral == NeutralKind::joined;
  if (unit.phases == 3) {
    names = {"H1", "H2", "H3"};
    if (unit.hv_neutral == NeutralKind::own_bushing || joined) names.insert(names.begin(), "H0");
    if (unit.lv_neutral == NeutralKind::own_bushing) names.push_back("X0");
    names.insert(names.end(), {"X1", "X2", "X3"});
    if (unit.lv_form == LowVoltageForm::mid_tapped_leg) names.push_back("X4");
  } else {
    names =
        unit.hv_neutral == NeutralKind::on_tank ? std::vector<std::string>{"H1"} : std::vector<std::string>{"H1", "H2"};
    switch (unit.lv_form) {
      case LowVoltageForm::plain:
        names.insert(names.end(), {"X1", "X2"});
        break;
      case LowVoltageForm::center_tapped:
        names.insert(names.end(), {"X1", "X2", "X3"});
        break;
      case LowVoltageForm::series_parallel:
        names.insert(names.end(), {"X1", "X2", "X3", "X4"});
        break;
      case LowVoltageForm::mid_tapped_leg:
        names.insert(names.end(), {"X1", "X2", "X3"});
        break;
    }
    // Additive: X1 stands diagonally opposite H1, so the low side is drawn the other way round.
    if (unit.lead_placement == LeadPlacement::additive) {
      auto const first_low =
          std::find_if(names.begin(), names.end(), [](std::string const& name) { return name.front() == 'X'; });
      std::reverse(first_low, names.end());
    }
  }
  names.push_back("tank");
  return names;
}

std::string test_in_words(std::string const& test) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 15> words{
      {{"identity", "Identity"},
       {"temperatures", "Temperatures"},
       {"insulation_resistance", "Insulation resistance"},
       {"ratio", "Ratio"},
       {"polarity", "Polarity"},
       {"phase_relation", "Phase relation"},
       {"winding_resistance", "Winding resistance"},
       {"demagnetise", "Demagnetise"},
       {"no_load", "No-load loss"},
       {"load_loss", "Load loss and impedance"},
       {"applied", "Applied voltage"},
       {"induced", "Induced voltage"},
       {"hand_check", "Hand check"},
       {"elsewhere", "Result from elsewhere"},
       {"as_shipped", "As shipped"}}};
  for (auto const& [key, name] : words) {
    if (key == test) return std::string(name);
  }
  return spaced(test);
}

std::string snapshot_json(PanelState const& state) {
  Json out;
  out["v"] = 1;
  out["now"] = state.now;
  out["simulated"] = state.simulated;
  out["time_scale"] = state.time_scale;
  out["bench"] = state.bench;
  out["area"] = {{"status", area_word(state.guard.area)},
                 {"earth_proven", state.guard.earth_proven},
                 {"low_not_proven", state.guard.low_not_proven},
                 {"link_lost", state.guard.link_lost}};
  out["guard"] = guard_json(state.guard);
  out["holder"] = state.holder ? Json(*state.holder) : Json(nullptr);
  out["holder_panel"] = state.holder_panel;
  out["closed"] = state.closed;
  out["units"] = Json::array();
  for (auto const& unit : state.units)
    out["units"].push_back({{"serial", unit.serial}, {"rating", unit.rating}, {"order", unit.order}});
  out["run"] = state.run ? run_json(*state.run) : Json(nullptr);
  out["question"] = nullptr;
  if (state.question)
    out["question"] = {{"id", state.question->id},
                       {"number", state.question_number},
                       {"text", state.question->text},
                       {"choices", state.question->choices}};
  out["shift"] = Json::array();
  for (auto const& line : state.shift) {
    out["shift"].push_back({{"serial", line.serial},
                            {"outcome", line.outcome},
                            {"disposition", line.disposition},
                            {"reason", line.reason},
                            {"minutes", line.minutes},
                            {"simulated", line.simulated},
                            {"record_id", line.record_id}});
  }
  // Texts may come from documents and wires: what is not UTF-8 is replaced, never an exception in mid-run.
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace benchward::panel
