// SPDX-License-Identifier: MIT
#include "tests_seq/journal/events.hpp"

#include <array>
#include <utility>

#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward {

namespace journal_words {
namespace {

constexpr std::array outcomes{
    std::pair{Outcome::pass, std::string_view("PASS")},       std::pair{Outcome::fail, std::string_view("FAIL")},
    std::pair{Outcome::invalid, std::string_view("INVALID")}, std::pair{Outcome::aborted, std::string_view("ABORTED")},
    std::pair{Outcome::not_run, std::string_view("NOT_RUN")},
};
constexpr std::array dispositions{
    std::pair{Disposition::release, std::string_view("release")},
    std::pair{Disposition::hold, std::string_view("hold")},
    std::pair{Disposition::repeat, std::string_view("repeat")},
};
constexpr std::array guard_states{
    std::pair{GuardState::unknown, std::string_view("UNKNOWN")},
    std::pair{GuardState::safe_earthed, std::string_view("SAFE_EARTHED")},
    std::pair{GuardState::securing, std::string_view("SECURING")},
    std::pair{GuardState::warning, std::string_view("WARNING")},
    std::pair{GuardState::armed, std::string_view("ARMED")},
    std::pair{GuardState::closing, std::string_view("CLOSING")},
    std::pair{GuardState::ramp_up, std::string_view("RAMP_UP")},
    std::pair{GuardState::hold, std::string_view("HOLD")},
    std::pair{GuardState::ramp_down, std::string_view("RAMP_DOWN")},
    std::pair{GuardState::discharge, std::string_view("DISCHARGE")},
    std::pair{GuardState::earthing, std::string_view("EARTHING")},
    std::pair{GuardState::tripped, std::string_view("TRIPPED")},
    std::pair{GuardState::lockout, std::string_view("LOCKOUT")},
};
constexpr std::array paths{
    std::pair{SourcePath::none, std::string_view("none")},
    std::pair{SourcePath::ac_source, std::string_view("ac_source")},
    std::pair{SourcePath::dielectric, std::string_view("dielectric")},
    std::pair{SourcePath::resistance, std::string_view("resistance")},
    std::pair{SourcePath::ratio, std::string_view("ratio")},
    std::pair{SourcePath::insulation, std::string_view("insulation")},
};

template <class Table, class Value>
std::string_view word_in(Table const& table, Value value) {
  for (auto const& row : table) {
    if (row.first == value) return row.second;
  }
  return "unknown";
}

template <class Value, class Table>
Value value_in(Table const& table, std::string_view word, char const* what) {
  for (auto const& row : table) {
    if (row.second == word) return row.first;
  }
  throw DocumentError("journal.word", "journal entry", "",
                      std::string("expected ") + what + ", got \"" + std::string(word) + "\"");
}

}  // namespace

std::string_view of(Outcome outcome) { return word_in(outcomes, outcome); }
std::string_view of(Disposition disposition) { return word_in(dispositions, disposition); }
std::string_view of(GuardState state) { return word_in(guard_states, state); }
std::string_view of(SourcePath path) { return word_in(paths, path); }
Outcome outcome_named(std::string_view word) { return value_in<Outcome>(outcomes, word, "an outcome"); }
Disposition disposition_named(std::string_view word) {
  return value_in<Disposition>(dispositions, word, "a disposition");
}
GuardState guard_state_named(std::string_view word) {
  return value_in<GuardState>(guard_states, word, "a state of the guard");
}

}  // namespace journal_words

namespace {

EventBody make(std::string_view type, std::string const& attempt, JsonWriter& data) {
  data.end_object();
  EventBody body;
  body.type = std::string(type);
  body.attempt = attempt;
  body.data = data.text();
  return body;
}

void write_condition(JsonWriter& json, Condition const& condition) {
  json.begin_object().field("number", condition.number).field("words", condition.words).end_object();
}

/// A volt or ampere of a status that may be no number is left out, never written as null.
void write_if_finite(JsonWriter& json, std::string_view name, double value) {
  if (std::isfinite(value)) json.field(name, value);
}

}  // namespace

EventBody body_of(ProgramStarted const& event) {
  JsonWriter json;
  json.begin_object()
      .field("version", event.version)
      .field("commit", event.commit)
      .field("bench", event.bench)
      .field("bench_hash", event.bench_hash)
      .field("simulated", event.simulated);
  return make(event_type::program_started, "", json);
}

EventBody body_of(AttemptStarted const& event) {
  JsonWriter json;
  json.begin_object()
      .field("serial", event.serial)
      .field("stage", event.stage)
      .field("simulated", event.simulated)
      .field("person", event.person)
      .field("bench", event.bench)
      .field("bench_hash", event.bench_hash)
      .field("unit_hash", event.unit_hash)
      .field("limit_set", event.limit_set)
      .field("limit_set_version", event.limit_set_version)
      .field("limit_set_hash", event.limit_set_hash)
      .field("plan_hash", event.plan_hash)
      .field("program_version", event.program_version)
      .field("tests", event.tests)
      .field("conditions_absent", event.conditions_absent);
  if (!event.repeat_reason.empty()) json.field("repeat_reason", event.repeat_reason);
  if (!event.resumes.empty()) json.field("resumes", event.resumes);
  if (!event.after.empty()) json.field("after", event.after);
  json.key("unit").raw(event.unit_document.empty() ? "{}" : event.unit_document);
  json.key("sheet").raw(event.sheet_document.empty() ? "{}" : event.sheet_document);
  json.key("calibration").raw(event.calibration_document.empty() ? "{}" : event.calibration_document);
  return make(event_type::attempt_started, event.attempt, json);
}

EventBody body_of(StepStarted const& event) {
  JsonWriter json;
  json.begin_object()
      .field("step", event.step)
      .field("of", event.of)
      .field("test", event.test)
      .field("reason", event.reason)
      .key("connection")
      .raw(connection_json(event.connection));
  return make(event_type::step_started, event.attempt, json);
}

EventBody body_of(EnergiseIntended const& event) {
  StepEnergy const& energy = event.energy;
  JsonWriter json;
  json.begin_object()
      .field("step", event.step)
      .field("test", energy.test)
      .field("connection", event.connection)
      .field("source", journal_words::of(energy.source))
      .field("set_v", energy.set.in(volts))
      .field("ceiling_v", energy.ceiling.in(volts))
      .field("highest_ratio", energy.highest_ratio)
      .field("trip_current_a", energy.trip_current.in(amperes))
      .field("set_direct_a", energy.set_direct.in(amperes))
      .field("direct_limit_a", energy.direct_limit.in(amperes))
      .field("longest_s", energy.longest.in(seconds))
      .field("live_terminals", energy.live_terminals)
      .field("earthed_terminals", energy.earthed_terminals)
      .field("failure_is_the_units", energy.failure_is_the_units);
  return make(event_type::energise_intended, event.attempt, json);
}

EventBody body_of(ReadingsTaken const& event) {
  JsonWriter json;
  json.begin_object()
      .field("step", event.step)
      .field("test", event.test)
      .field("kind", event.kind)
      .key("readings")
      .raw(event.readings);
  return make(event_type::readings, event.attempt, json);
}

EventBody body_of(EvaluationMade const& event) {
  JsonWriter json;
  json.begin_object().field("step", event.step).field("test", event.test).key("evaluation").raw(event.evaluation);
  return make(event_type::evaluation, event.attempt, json);
}

EventBody body_of(GuardNotice const& event) {
  JsonWriter json;
  json.begin_object()
      .field("from", journal_words::of(event.from))
      .field("to", journal_words::of(event.to))
      .field("words", event.words);
  if (event.trip) {
    json.key("trip").begin_object();
    json.field("in_state", journal_words::of(event.trip->in_state)).field("utc", utc_text(event.trip->at.utc_us));
    json.field("monotonic_ns", event.trip->at.monotonic_ns);
    write_if_finite(json, "output_v", event.trip->output.in(volts));
    write_if_finite(json, "current_a", event.trip->current.in(amperes));
    json.key("first");
    write_condition(json, event.trip->first);
    json.key("later").begin_list();
    for (auto const& condition : event.trip->later) write_condition(json, condition);
    json.end_list().end_object();
  }
  if (!event.frozen.empty()) json.key("frozen").raw(event.frozen);
  return make(event_type::guard_event, event.attempt, json);
}

EventBody body_of(OperatorAct const& event) {
  JsonWriter json;
  json.begin_object().field("person", event.person).field("act", event.act).field("words", event.words);
  return make(event_type::operator_act, event.attempt, json);
}

EventBody body_of(QuestionAsked const& event) {
  JsonWriter json;
  json.begin_object()
      .field("id", event.id)
      .field("text", event.text)
      .field("choices", event.choices)
      .field("answer", event.answer)
      .field("person", event.person);
  return make(event_type::question, event.attempt, json);
}

EventBody body_of(FaultSeen const& event) {
  JsonWriter json;
  json.begin_object()
      .field("step", event.step)
      .field("id", event.fault.id)
      .field("device", event.fault.device)
      .field("operation", event.fault.operation)
      .field("what", event.fault.what)
      .field("next", event.fault.next)
      .field("sent", event.fault.sent)
      .field("received", event.fault.received);
  return make(event_type::fault, event.attempt, json);
}

EventBody body_of(FramesKept const& event) {
  JsonWriter json;
  json.begin_object().key("frames").begin_list();
  for (auto const& frame : event.frames) {
    json.begin_object()
        .field("monotonic_ns", frame.monotonic_ns)
        .field("device", frame.device)
        .field("sent", frame.sent)
        .field("bytes", spaced_hex(frame.bytes))
        .end_object();
  }
  json.end_list();
  return make(event_type::wire_frames, event.attempt, json);
}

EventBody body_of(StepEnded const& event) {
  JsonWriter json;
  json.begin_object()
      .field("step", event.step)
      .field("test", event.test)
      .field("how", event.how)
      .field("words", event.words);
  return make(event_type::step_ended, event.attempt, json);
}

EventBody body_of(JudgementMade const& event) {
  JsonWriter json;
  json.begin_object()
      .field("outcome", journal_words::of(event.outcome))
      .field("disposition", journal_words::of(event.disposition))
      .field("reason", event.reason);
  return make(event_type::judgement, event.attempt, json);
}

EventBody body_of(AttemptEnded const& event) {
  JsonWriter json;
  json.begin_object()
      .field("outcome", journal_words::of(event.outcome))
      .field("disposition", journal_words::of(event.disposition))
      .field("reason", event.reason)
      .field("finished", event.finished)
      .field("repeat", event.repeat)
      .field("earth_proven", event.earth_proven);
  return make(event_type::attempt_ended, event.attempt, json);
}

EventBody body_of(EventsLost const& event) {
  JsonWriter json;
  json.begin_object().field("count", event.count);
  return make(event_type::events_lost, "", json);
}

EventBody body_of(ClockSetBack const& event) {
  JsonWriter json;
  json.begin_object().field("before", utc_text(event.before_us)).field("now", utc_text(event.now_us));
  return make(event_type::clock_set_back, "", json);
}

EventBody body_of(ReworkDone const& event) {
  JsonWriter json;
  json.begin_object()
      .field("serial", event.serial)
      .field("done", event.done)
      .field("person", event.person)
      .field("words", event.words);
  return make(event_type::rework, "", json);
}

EventBody body_of(HoldLifted const& event) {
  JsonWriter json;
  json.begin_object().field("serial", event.serial).field("person", event.person).field("words", event.words);
  return make(event_type::hold_lifted, "", json);
}

EventBody body_of(ObjectChecked const& event) {
  JsonWriter json;
  json.begin_object()
      .field("object", event.object)
      .field("bench", event.bench)
      .field("bench_hash", event.bench_hash)
      .field("passed", event.passed)
      .field("beyond", event.beyond)
      .field("simulated", event.simulated);
  return make(event_type::object_checked, event.attempt, json);
}

}  // namespace benchward
