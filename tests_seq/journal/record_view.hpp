// SPDX-License-Identifier: MIT
#pragma once

/// The record of one attempt: a view of the journal's events of that attempt. Console, report, export and recomputation
/// read this.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "event_store.hpp"
#include "events.hpp"

namespace benchward {

/// A text of JSON with when it was written.
struct RecordedText {
  std::uint64_t seq = 0;
  Stamp at;
  std::string kind;  ///< of readings: which; of evaluations: the test
  std::string json;
};

struct RecordedStep {
  int number = 0, of = 0;
  std::string test, connection_name, connection_json, reason;
  std::optional<int> tap;
  Stamp started, ended;
  std::string how, words;                 ///< of its end; empty `how`: it never ended
  std::vector<RecordedText> energised;    ///< intents, in order
  std::vector<RecordedText> readings;     ///< raw, in order; never overwritten
  std::vector<RecordedText> evaluations;  ///< the last one of a test holds
  std::vector<Fault> faults;
};

struct RecordedGuardNotice {
  Stamp at;
  GuardState from = GuardState::unknown, to = GuardState::unknown;
  std::string words;
  std::optional<TripRecord> trip;
};

/// One frame of the wires; the bytes as people read them.
struct RecordedFrame {
  std::int64_t monotonic_ns = 0;
  std::string device;
  bool sent = false;
  std::string hex;
};

struct AttemptRecord {
  AttemptStarted started;
  Stamp started_at, ended_at;
  std::vector<RecordedStep> steps;
  std::vector<RecordedGuardNotice> guard;
  std::vector<OperatorAct> acts;
  std::vector<QuestionAsked> questions;
  std::vector<RecordedFrame> frames;  ///< of an INVALID attempt on wires: the last that went over them
  std::optional<JudgementMade> judgement;
  std::optional<AttemptEnded> ended;  ///< absent: open (running, or a crash left it so)
  std::uint64_t first_seq = 0, last_seq = 0;
};

/// Throws DocumentError for an entry that this program cannot read. Nothing: no attempt of that id.
std::optional<AttemptRecord> read_attempt(EventStore const& store, std::string const& attempt);

/// The same out of entries `first_seq` to `last_seq` alone, where an index knows them.
std::optional<AttemptRecord> read_attempt(EventStore const& store, std::string const& attempt, std::uint64_t first_seq,
                                          std::uint64_t last_seq);

/// Ids of all attempts in the order of their starts; `open_only`: those that never ended.
std::vector<std::string> attempts_in(EventStore const& store, bool open_only = false);

}  // namespace benchward
