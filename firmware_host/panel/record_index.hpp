// SPDX-License-Identifier: MIT
#pragma once

/// One line an attempt, for search, shift list and "was this unit here before?". Derived from the journal: one pass at
/// the start, a line at the end of each run.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "tests_seq/journal/event_store.hpp"

namespace benchward::panel {

struct RecordLine {
  std::string record_id, serial, stage, started, outcome, disposition, reason;
  std::int64_t started_us = 0;  ///< UTC
  double minutes = 0.0;
  bool simulated = false;
};

/// What is looked for; an empty field is any.
struct RecordSearch {
  std::string serial;    ///< its beginning is enough
  std::string outcome;   ///< "PASS", "FAIL", ...
  std::string from, to;  ///< days by UTC, "2026-03-01", both included
};

class RecordIndex {
 public:
  /// Reads attempts out of the journal. An entry that this program cannot read is skipped here; `records verify` names
  /// it.
  void read(EventStore const& store);
  void add(RecordLine line);

  /// Newest first, at most `most`.
  std::vector<RecordLine> find(RecordSearch const& wanted, std::size_t most) const;
  /// Newest first, those that began at or after this instant; in the order they were kept, whatever the clock said.
  std::vector<RecordLine> since(std::int64_t utc_us) const;
  /// Why a unit of exactly this serial is not tested again without a signed reason: on hold, or released. A run that
  /// judged nothing takes neither away, and a simulated one releases nothing. Empty: it may be tested.
  std::string why_a_reason(std::string const& serial) const;
  /// The first entry of the oldest among the newest measurements of each check object on the bench of this hash: a
  /// journal from there on tells how the bench stands. Empty: none was measured.
  std::optional<std::uint64_t> bench_checked_at(std::string const& bench_hash) const;

 private:
  std::vector<RecordLine> lines_;
  std::map<std::string, std::map<std::string, std::uint64_t>> checked_;  ///< bench's hash, object's serial: first entry
};

}  // namespace benchward::panel
