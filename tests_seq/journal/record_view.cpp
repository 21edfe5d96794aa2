// SPDX-License-Identifier: MIT
#include "tests_seq/journal/record_view.hpp"

#include <algorithm>
#include <limits>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward {

namespace {

using documents::Json;
using documents::ObjectReader;

/// Texts of an event may hold anything a person typed, so they are read without the one-line rule of documents.
std::string text_of(Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::vector<std::string> texts_of(Json const& data, char const* key) {
  std::vector<std::string> list;
  auto const found = data.find(key);
  if (found == data.end() || !found->is_array()) return list;
  for (auto const& entry : *found) {
    if (entry.is_string()) list.push_back(entry.get<std::string>());
  }
  return list;
}

bool truth_of(Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() && found->is_boolean() && found->get<bool>();
}

int integer_of(Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() && found->is_number_integer() ? found->get<int>() : 0;
}

std::string json_of(Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() ? found->dump() : std::string("{}");
}

Condition condition_of(Json const& json) {
  Condition condition;
  condition.number = integer_of(json, "number");
  condition.words = text_of(json, "words");
  return condition;
}

TripRecord trip_of(Json const& json) {
  TripRecord trip;
  trip.happened = true;
  trip.in_state = journal_words::guard_state_named(text_of(json, "in_state"));
  trip.at.utc_us = utc_from_text(text_of(json, "utc"));
  if (json.contains("monotonic_ns")) trip.at.monotonic_ns = json.at("monotonic_ns").get<std::int64_t>();
  if (json.contains("output_v")) trip.output = volts(json.at("output_v").get<double>());
  if (json.contains("current_a")) trip.current = amperes(json.at("current_a").get<double>());
  if (json.contains("first")) trip.first = condition_of(json.at("first"));
  if (json.contains("later")) {
    for (auto const& entry : json.at("later")) trip.later.push_back(condition_of(entry));
  }
  return trip;
}

AttemptStarted started_of(Event const& event, Json const& data) {
  AttemptStarted started;
  started.attempt = event.attempt;
  started.serial = text_of(data, "serial");
  started.stage = text_of(data, "stage");
  started.unit_document = json_of(data, "unit");
  started.sheet_document = json_of(data, "sheet");
  started.calibration_document = json_of(data, "calibration");
  started.unit_hash = text_of(data, "unit_hash");
  started.bench = text_of(data, "bench");
  started.bench_hash = text_of(data, "bench_hash");
  started.limit_set = text_of(data, "limit_set");
  started.limit_set_version = text_of(data, "limit_set_version");
  started.limit_set_hash = text_of(data, "limit_set_hash");
  started.plan_hash = text_of(data, "plan_hash");
  started.person = text_of(data, "person");
  started.program_version = text_of(data, "program_version");
  started.simulated = truth_of(data, "simulated");
  started.tests = texts_of(data, "tests");
  started.conditions_absent = texts_of(data, "conditions_absent");
  started.repeat_reason = text_of(data, "repeat_reason");
  started.resumes = text_of(data, "resumes");
  started.after = text_of(data, "after");
  return started;
}

RecordedStep& step_of(AttemptRecord& record, int number) {
  // The newest step of that number: a repeated step starts anew.
  for (auto step = record.steps.rbegin(); step != record.steps.rend(); ++step) {
    if (step->number == number) return *step;
  }
  RecordedStep step;
  step.number = number;
  record.steps.push_back(std::move(step));
  return record.steps.back();
}

RecordedText text_at(Event const& event, std::uint64_t seq, std::string kind, std::string json) {
  RecordedText text;
  text.seq = seq;
  text.at = event.at;
  text.kind = std::move(kind);
  text.json = std::move(json);
  return text;
}

void take_step_event(AttemptRecord& record, Event const& event, Json const& data) {
  int const number = integer_of(data, "step");
  if (event.type == event_type::step_started) {
    RecordedStep step;
    step.number = number;
    step.of = integer_of(data, "of");
    step.test = text_of(data, "test");
    step.reason = text_of(data, "reason");
    step.connection_json = json_of(data, "connection");
    if (data.contains("connection")) {
      step.connection_name = text_of(data.at("connection"), "name");
      auto const& connection = data.at("connection");
      if (connection.contains("tap")) step.tap = integer_of(connection, "tap");
    }
    step.started = event.at;
    record.steps.push_back(std::move(step));
  } else if (event.type == event_type::energise_intended) {
    step_of(record, number).energised.push_back(text_at(event, event.seq, text_of(data, "test"), event.data));
  } else if (event.type == event_type::readings) {
    step_of(record, number)
        .readings.push_back(text_at(event, event.seq, text_of(data, "kind"), json_of(data, "readings")));
  } else if (event.type == event_type::evaluation) {
    step_of(record, number)
        .evaluations.push_back(text_at(event, event.seq, text_of(data, "test"), json_of(data, "evaluation")));
  } else if (event.type == event_type::fault) {
    Fault fault;
    fault.id = text_of(data, "id");
    fault.device = text_of(data, "device");
    fault.operation = text_of(data, "operation");
    fault.what = text_of(data, "what");
    fault.next = text_of(data, "next");
    fault.sent = text_of(data, "sent");
    fault.received = text_of(data, "received");
    step_of(record, number).faults.push_back(std::move(fault));
  } else if (event.type == event_type::step_ended) {
    RecordedStep& step = step_of(record, number);
    step.ended = event.at;
    step.how = text_of(data, "how");
    step.words = text_of(data, "words");
  }
}

void take(AttemptRecord& record, Event const& event, Json const& data) {
  if (event.type == event_type::attempt_started) {
    record.started = started_of(event, data);
    record.started_at = event.at;
    record.first_seq = event.seq;
  } else if (event.type == event_type::guard_event) {
    RecordedGuardNotice seen;
    seen.at = event.at;
    seen.from = journal_words::guard_state_named(text_of(data, "from"));
    seen.to = journal_words::guard_state_named(text_of(data, "to"));
    seen.words = text_of(data, "words");
    if (data.contains("trip")) seen.trip = trip_of(data.at("trip"));
    record.guard.push_back(std::move(seen));
  } else if (event.type == event_type::operator_act) {
    OperatorAct act;
    act.attempt = event.attempt;
    act.person = text_of(data, "person");
    act.act = text_of(data, "act");
    act.words = text_of(data, "words");
    record.acts.push_back(std::move(act));
  } else if (event.type == event_type::question) {
    QuestionAsked asked;
    asked.attempt = event.attempt;
    asked.id = text_of(data, "id");
    asked.text = text_of(data, "text");
    asked.choices = texts_of(data, "choices");
    asked.answer = text_of(data, "answer");
    asked.person = text_of(data, "person");
    record.questions.push_back(std::move(asked));
  } else if (event.type == event_type::wire_frames) {
    auto const list = data.find("frames");
    if (list == data.end() || !list->is_array()) return;
    for (auto const& entry : *list) {
      RecordedFrame frame;
      auto const at = entry.find("monotonic_ns");
      if (at != entry.end() && at->is_number_integer()) frame.monotonic_ns = at->get<std::int64_t>();
      frame.device = text_of(entry, "device");
      frame.sent = truth_of(entry, "sent");
      frame.hex = text_of(entry, "bytes");
      record.frames.push_back(std::move(frame));
    }
  } else if (event.type == event_type::judgement) {
    JudgementMade made;
    made.attempt = event.attempt;
    made.outcome = journal_words::outcome_named(text_of(data, "outcome"));
    made.disposition = journal_words::disposition_named(text_of(data, "disposition"));
    made.reason = text_of(data, "reason");
    record.judgement = std::move(made);
  } else if (event.type == event_type::attempt_ended) {
    AttemptEnded ended;
    ended.attempt = event.attempt;
    ended.outcome = journal_words::outcome_named(text_of(data, "outcome"));
    ended.disposition = journal_words::disposition_named(text_of(data, "disposition"));
    ended.reason = text_of(data, "reason");
    ended.finished = texts_of(data, "finished");
    ended.repeat = texts_of(data, "repeat");
    ended.earth_proven = truth_of(data, "earth_proven");
    record.ended_at = event.at;
    record.ended = std::move(ended);
  } else {
    take_step_event(record, event, data);
  }
  record.last_seq = event.seq;
}

}  // namespace

std::optional<AttemptRecord> read_attempt(EventStore const& store, std::string const& attempt) {
  return read_attempt(store, attempt, 0, std::numeric_limits<std::uint64_t>::max());
}

std::optional<AttemptRecord> read_attempt(EventStore const& store, std::string const& attempt, std::uint64_t first_seq,
                                          std::uint64_t last_seq) {
  std::optional<AttemptRecord> record;
  // A cheap look before parsing: ids hold only letters and digits, so they stand in the bytes as they are.
  std::string const mark = "\"attempt\":\"" + attempt + "\"";
  store.scan(first_seq, [&](StoredEvent const& stored) {
    if (stored.seq > last_seq) return false;
    if (stored.bytes.find(mark) == std::string::npos) return true;
    Event const event = parse_event(stored.bytes);
    if (event.attempt != attempt) return true;
    if (!record) record.emplace();
    take(*record, event, documents::parse_json(event.data, "journal entry " + std::to_string(event.seq)));
    return true;
  });
  return record;
}

std::vector<std::string> attempts_in(EventStore const& store, bool open_only) {
  std::vector<std::string> ids;
  store.scan(0, [&](StoredEvent const& stored) {
    bool const starts = stored.bytes.find("\"type\":\"attempt started\"") != std::string::npos;
    bool const ends = stored.bytes.find("\"type\":\"attempt ended\"") != std::string::npos;
    if (!starts && !ends) return true;
    Event const event = parse_event(stored.bytes);
    if (event.type == event_type::attempt_started) ids.push_back(event.attempt);
    if (open_only && event.type == event_type::attempt_ended) {
      ids.erase(std::remove(ids.begin(), ids.end(), event.attempt), ids.end());
    }
    return true;
  });
  return ids;
}

ReworkDone rework_of(Event const& event) {
  auto const data = documents::parse_json(event.data, "journal entry " + std::to_string(event.seq));
  ReworkDone rework;
  rework.serial = text_of(data, "serial");
  rework.done = text_of(data, "done");
  rework.person = text_of(data, "person");
  rework.words = text_of(data, "words");
  return rework;
}

HoldLifted hold_lifted_of(Event const& event) {
  auto const data = documents::parse_json(event.data, "journal entry " + std::to_string(event.seq));
  HoldLifted lifted;
  lifted.serial = text_of(data, "serial");
  lifted.person = text_of(data, "person");
  lifted.words = text_of(data, "words");
  return lifted;
}

ObjectChecked object_check_of(Event const& event) {
  auto const data = documents::parse_json(event.data, "journal entry " + std::to_string(event.seq));
  ObjectChecked checked;
  checked.attempt = event.attempt;
  checked.object = text_of(data, "object");
  checked.bench = text_of(data, "bench");
  checked.bench_hash = text_of(data, "bench_hash");
  checked.passed = truth_of(data, "passed");
  checked.beyond = texts_of(data, "beyond");
  checked.simulated = truth_of(data, "simulated");
  return checked;
}

}  // namespace benchward
