// SPDX-License-Identifier: MIT
#include "firmware_host/record/record_json.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "firmware_host/record/result_table.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/sequence/outcome.hpp"

namespace benchward {
namespace {

std::string outcome_of(AttemptRecord const& record) {
  return record.ended ? std::string(journal_words::of(record.ended->outcome)) : "OPEN";
}
std::string disposition_of(AttemptRecord const& record) {
  return record.ended ? std::string(journal_words::of(record.ended->disposition)) : "repeat";
}
std::string reason_of(AttemptRecord const& record) {
  return record.ended ? record.ended->reason : "has not ended: it runs, or its program was stopped";
}

void write_result(JsonWriter& json, Result const& result) {
  json.begin_object().field("test", result.test).field("quantity", result.quantity).field("at", result.at);
  if (std::isfinite(result.value)) json.field("value", result.value);
  json.field("unit", result.unit);
  if (result.measured && std::isfinite(*result.measured)) json.field("measured", *result.measured);
  if (result.uncertainty) {
    json.field("standard_uncertainty", result.uncertainty->standard);
    json.field("degrees_of_freedom", result.uncertainty->degrees_of_freedom);
  }
  json.key("limit");
  if (result.limit) {
    json.begin_object().field("rule", result.limit->rule);
    json.field("lower", result.limit->lower).field("upper", result.limit->upper);
    json.field("unit", result.limit->unit).field("origin", result.limit->origin).field("source", result.limit->source);
    json.field("warns_only", result.limit->warns_only).end_object();
  } else {
    json.raw("null");
  }
  auto verdict = std::string(word_of(result.verdict));
  std::replace(verdict.begin(), verdict.end(), '_', ' ');
  json.field("verdict", verdict);
  if (!result.remark.empty()) json.field("remark", result.remark);
  json.field("evaluation_version", result.evaluation_version);
  json.key("intermediates").begin_list();
  for (auto const& step : result.intermediates) {
    if (!std::isfinite(step.value)) continue;
    json.begin_object().field("name", step.name).field("value", step.value).field("unit", step.unit).end_object();
  }
  json.end_list().end_object();
}

}  // namespace

std::vector<Evaluation> evaluations_of(AttemptRecord const& record) {
  std::vector<Evaluation> evaluations;
  for (auto const& step : record.steps) {
    // One step may evaluate more than one test (ratio and phase relation share readings): the last one of each.
    std::vector<RecordedText const*> chosen;
    for (auto const& text : step.evaluations) {
      auto const same = std::find_if(chosen.begin(), chosen.end(),
                                     [&](RecordedText const* other) { return other->kind == text.kind; });
      if (same == chosen.end()) {
        chosen.push_back(&text);
      } else {
        *same = &text;
      }
    }
    for (auto const* text : chosen)
      evaluations.push_back(read_json<Evaluation>(text->json, "record " + record.started.attempt));
  }
  return evaluations;
}

std::string record_json(AttemptRecord const& record) {
  auto const evaluations = evaluations_of(record);
  JsonWriter json;
  json.begin_object()
      .field("record_id", record.started.attempt)
      .field("outcome", outcome_of(record))
      .field("disposition", disposition_of(record))
      .field("reason", reason_of(record))
      .field("simulated", record.started.simulated);
  if (record.started.simulated) json.field("marking", "SIMULATED, NOT FOR RELEASE");
  json.field("serial", record.started.serial)
      .field("stage", record.started.stage)
      .field("person", record.started.person)
      .field("bench", record.started.bench)
      .field("started", utc_text(record.started_at.utc_us));
  if (record.ended) json.field("ended", utc_text(record.ended_at.utc_us));
  json.field("unit_hash", record.started.unit_hash)
      .field("bench_hash", record.started.bench_hash)
      .field("limit_set", record.started.limit_set)
      .field("limit_set_version", record.started.limit_set_version)
      .field("limit_set_hash", record.started.limit_set_hash)
      .field("plan_hash", record.started.plan_hash)
      .field("program_version", record.started.program_version);
  json.key("results").begin_list();
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) write_result(json, result);
  }
  json.end_list().key("invalid").begin_list();
  for (auto const& evaluation : evaluations) {
    if (evaluation.invalid_reason) {
      json.begin_object().field("test", evaluation.test).field("reason", *evaluation.invalid_reason).end_object();
    }
  }
  json.end_list().key("warnings").begin_list();
  for (auto const& evaluation : evaluations) {
    for (auto const& words : evaluation.warnings)
      json.begin_object().field("test", evaluation.test).field("words", words).end_object();
  }
  json.end_list().key("steps").begin_list();
  for (auto const& step : record.steps) {
    json.begin_object().field("step", step.number).field("test", step.test).field("connection", step.connection_name);
    json.field("how", step.how.empty() ? std::string("not ended") : step.how).field("words", step.words).end_object();
  }
  json.end_list().key("trips").begin_list();
  for (auto const& event : record.guard) {
    if (!event.trip || !event.trip->happened) continue;
    json.begin_object().field("condition", event.trip->first.number).field("cause", event.trip->first.words);
    if (!event.trip->detail.empty()) json.field("detail", event.trip->detail);
    json.field("at", utc_text(event.at.utc_us)).end_object();
  }
  json.end_list();
  if (!record.frames.empty()) {
    json.key("frames").begin_list();
    for (auto const& frame : record.frames) {
      json.begin_object().field("monotonic_ns", frame.monotonic_ns).field("device", frame.device);
      json.field("sent", frame.sent).field("bytes", frame.hex).end_object();
    }
    json.end_list();
  }
  if (record.ended) {
    json.field("finished", record.ended->finished).field("repeat", record.ended->repeat);
    json.field("earth_proven", record.ended->earth_proven);
  }
  json.end_object();
  return json.text();
}

std::string record_page(AttemptRecord const& record) {
  std::string text;
  auto const line = [&text](std::string const& words) { text += words + "\n"; };
  if (record.started.simulated) line("*** SIMULATED, NOT FOR RELEASE ***");
  line(fmt::format("Record {}: unit {}, stage {}, bench {}", record.started.attempt, record.started.serial,
                   record.started.stage, record.started.bench));
  line(fmt::format("Started {}, ended {}, by {}", utc_text(record.started_at.utc_us),
                   record.ended ? utc_text(record.ended_at.utc_us) : "-", record.started.person));
  line(fmt::format("Limit set {} {} ({}), unit document {}, program {}", record.started.limit_set,
                   record.started.limit_set_version, record.started.limit_set_hash.substr(0, 12),
                   record.started.unit_hash.substr(0, 12), record.started.program_version));
  line("");
  auto const evaluations = evaluations_of(record);
  line(result_table(evaluations));
  for (auto const& evaluation : evaluations) {
    for (auto const& words : evaluation.warnings) line("warning: " + evaluation.test + ": " + words);
  }
  if (!record.frames.empty()) {
    line("");
    line("Last frames on the wires (seconds of the station's monotonic clock):");
    for (auto const& frame : record.frames) {
      line(fmt::format("{:14.6f}  {:<20} {}  {}", static_cast<double>(frame.monotonic_ns) * 1e-9, frame.device,
                       frame.sent ? "sent    " : "received", frame.hex));
    }
  }
  line("");
  auto const disposition =
      record.ended ? disposition_in_words(record.ended->disposition, record.started.stage) : disposition_of(record);
  line(fmt::format("Outcome {}, disposition {}: {}", outcome_of(record), disposition, reason_of(record)));
  if (record.ended && !record.ended->repeat.empty()) {
    std::string repeat;
    for (auto const& test : record.ended->repeat) repeat += (repeat.empty() ? "" : ", ") + test;
    line("To be repeated: " + repeat);
  }
  if (record.started.simulated) text += "*** SIMULATED, NOT FOR RELEASE ***";
  return text;
}

std::string row_line(CatalogueRow const& row) {
  return fmt::format("{}  {}  {:<14} {:<8} {:<8} {}{}", row.attempt, utc_text(row.started_us).substr(0, 19), row.serial,
                     row.outcome, row.disposition, row.simulated ? "SIMULATED  " : "", row.reason);
}

std::string row_json(CatalogueRow const& row) {
  JsonWriter json;
  json.begin_object()
      .field("record_id", row.attempt)
      .field("serial", row.serial)
      .field("order", row.order)
      .field("design", row.design)
      .field("stage", row.stage)
      .field("bench", row.bench)
      .field("person", row.person)
      .field("started", utc_text(row.started_us));
  if (row.last_seq != 0) json.field("ended", utc_text(row.ended_us));
  json.field("outcome", row.outcome)
      .field("disposition", row.disposition)
      .field("reason", row.reason)
      .field("simulated", row.simulated)
      .end_object();
  return json.text();
}

}  // namespace benchward
