// SPDX-License-Identifier: MIT
#pragma once

/// The events of a test bench, each as plain data. `body_of` makes the text that the journal keeps; `record_view.hpp`
/// reads it back. A changed shape is a new version of the type: readers accept every older one for ever.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "../../drivers/fault.hpp"
#include "../../drivers/roles/connection_json.hpp"
#include "../../drivers/roles/logged_frame.hpp"
#include "../../limits/result.hpp"
#include "../guard/desk.hpp"
#include "event.hpp"

namespace benchward {

namespace event_type {
inline constexpr std::string_view program_started = "program started";
inline constexpr std::string_view attempt_started = "attempt started";
inline constexpr std::string_view step_started = "step started";
inline constexpr std::string_view energise_intended = "energise intended";
inline constexpr std::string_view readings = "readings";
inline constexpr std::string_view evaluation = "evaluation";
inline constexpr std::string_view guard_event = "guard event";
inline constexpr std::string_view operator_act = "operator act";
inline constexpr std::string_view question = "question";
inline constexpr std::string_view fault = "fault";
inline constexpr std::string_view step_ended = "step ended";
inline constexpr std::string_view judgement = "judgement";
inline constexpr std::string_view attempt_ended = "attempt ended";
inline constexpr std::string_view events_lost = "events lost";
inline constexpr std::string_view clock_set_back = "clock set back";
inline constexpr std::string_view wire_frames = "wire frames";
inline constexpr std::string_view rework = "rework";
inline constexpr std::string_view hold_lifted = "hold lifted";
inline constexpr std::string_view object_checked = "object checked";
}  // namespace event_type

/// The station program came up. Attempts that it finds open are closed as ABORTED (`attempt_ended`).
struct ProgramStarted {
  std::string version, commit;
  std::string bench, bench_hash;
  bool simulated = false;
};

/// Everything that identifies what was tested, by whom, with what: documents by their hash, the unit's whole text.
struct AttemptStarted {
  std::string attempt;
  std::string serial, stage;
  std::string unit_document;   ///< JSON text of the unit, so that the record can be recomputed without other files
  std::string sheet_document;  ///< JSON text of the limit sheet in force; "{}" where none was handed in
  std::string calibration_document;  ///< JSON object: instrument name -> calibration in force
  std::string unit_hash, bench, bench_hash;
  std::string limit_set, limit_set_version, limit_set_hash;
  std::string plan_hash;  ///< SHA-256 of the plan's text
  std::string person;
  std::string program_version;
  bool simulated = false;
  std::vector<std::string> tests;  ///< of the plan, in order
  std::string repeat_reason;       ///< why the unit is tested again, where it was before
  std::string resumes;             ///< the interrupted attempt that this one takes up again; empty: none
  std::string after;               ///< rework by the retest table, whose tests this attempt repeats; empty: none
  /// "I21: reason": what the bench does not wire up, as its document declares it. Never silently true.
  std::vector<std::string> conditions_absent;
};

struct StepStarted {
  std::string attempt;
  int step = 0, of = 0;
  std::string test;
  Connection connection;
  std::string reason;
};

/// Kept durably before the guard is asked for energy.
struct EnergiseIntended {
  std::string attempt;
  int step = 0;
  StepEnergy energy;
  std::string connection;
};

/// Raw readings of one step, kept durably before anything is computed from them is shown.
struct ReadingsTaken {
  std::string attempt;
  int step = 0;
  std::string test;
  std::string kind;      ///< which readings: "ratio", "winding_resistance", ...
  std::string readings;  ///< JSON object as text
};

struct EvaluationMade {
  std::string attempt;
  int step = 0;
  std::string test;
  std::string evaluation;  ///< JSON object as text
};

/// What the guard did, seen from outside: a change of state, a trip with its first cause.
struct GuardNotice {
  std::string attempt;
  GuardState from = GuardState::unknown, to = GuardState::unknown;
  std::optional<TripRecord> trip;
  std::string words;
  std::string frozen;  ///< of a trip: JSON list of the images of the second before it; empty: none
};

struct OperatorAct {
  std::string attempt;
  std::string person, act;  ///< "connected", "tap set", "start", "refused", "acknowledged trip", "made as shipped"
  std::string words;
};

struct QuestionAsked {
  std::string attempt;
  std::string id, text;
  std::vector<std::string> choices;
  std::string answer, person;
};

/// A device that could not answer.
struct FaultSeen {
  std::string attempt;
  int step = 0;
  Fault fault;
};

/// What went over the wires before an attempt ended INVALID: the frame log of the instruments.
struct FramesKept {
  std::string attempt;
  std::vector<LoggedFrame> frames;  ///< in the order of their times
};

struct StepEnded {
  std::string attempt;
  int step = 0;
  std::string test;
  std::string how;    ///< "finished", "repeated", "stopped"
  std::string words;  ///< why, where it was stopped or repeated
};

struct JudgementMade {
  std::string attempt;
  Outcome outcome = Outcome::not_run;
  Disposition disposition = Disposition::repeat;
  std::string reason;
};

struct AttemptEnded {
  std::string attempt;
  Outcome outcome = Outcome::not_run;
  Disposition disposition = Disposition::repeat;
  std::string reason;
  std::vector<std::string> finished, repeat;  ///< tests done, tests to be done again
  bool earth_proven = false;                  ///< when the attempt ended
};

/// What was done to a unit between two tests, in the words of the retest table: opens their tests again.
struct ReworkDone {
  std::string serial, done;
  std::string person;
  std::string words;  ///< what else there is to say; may be empty
};

/// Quality signs: what put the unit on hold is settled.
struct HoldLifted {
  std::string serial;
  std::string person;
  std::string words;  ///< why
};

/// A known object was measured on the bench, by the instruments that measure the units.
struct ObjectChecked {
  std::string attempt;  ///< the attempt at the object that was judged
  std::string object;   ///< its serial
  std::string bench, bench_hash;
  bool passed = false;
  std::vector<std::string> beyond;  ///< a line each: instrument, quantity, declared, read, limit
  bool simulated = false;
};

/// The guard's bounded ring was full: that many of its events are not in the journal.
struct EventsLost {
  std::uint64_t count = 0;
};

/// The computer's clock says less than it said at the entry before. The journal writes it by itself, so that nobody
/// has to wonder about the order of times.
struct ClockSetBack {
  std::int64_t before_us = 0, now_us = 0;  ///< UTC
};

EventBody body_of(ProgramStarted const&);
EventBody body_of(AttemptStarted const&);
EventBody body_of(StepStarted const&);
EventBody body_of(EnergiseIntended const&);
EventBody body_of(ReadingsTaken const&);
EventBody body_of(EvaluationMade const&);
EventBody body_of(GuardNotice const&);
EventBody body_of(OperatorAct const&);
EventBody body_of(QuestionAsked const&);
EventBody body_of(FaultSeen const&);
EventBody body_of(FramesKept const&);
EventBody body_of(StepEnded const&);
EventBody body_of(JudgementMade const&);
EventBody body_of(AttemptEnded const&);
EventBody body_of(EventsLost const&);
EventBody body_of(ClockSetBack const&);
EventBody body_of(ReworkDone const&);
EventBody body_of(HoldLifted const&);
EventBody body_of(ObjectChecked const&);

/// Read back out of an entry of that type.
ReworkDone rework_of(Event const& event);
HoldLifted hold_lifted_of(Event const& event);
ObjectChecked object_check_of(Event const& event);

/// Words of documents and records: "PASS", "release", "RAMP_UP", "dielectric". `..._named` throw DocumentError.
namespace journal_words {
std::string_view of(Outcome outcome);
std::string_view of(Disposition disposition);
std::string_view of(GuardState state);
std::string_view of(SourcePath path);
Outcome outcome_named(std::string_view word);
Disposition disposition_named(std::string_view word);
GuardState guard_state_named(std::string_view word);
}  // namespace journal_words

}  // namespace benchward
