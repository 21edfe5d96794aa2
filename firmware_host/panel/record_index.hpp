// SPDX-License-Identifier: MIT
#pragma once

/// One line an attempt, for search, shift list and "was this unit here before?". Derived from the journal: one pass at
/// the start, a line at the end of each run.

#include <cstdint>
#include <string>
#include <vector>

#include "tests_seq/journal/event_store.hpp"

namespace benchward::panel {

struct RecordLine {
  std::string record_id, serial, started, outcome, disposition, reason;
  std::int64_t started_us = 0;  ///< UTC
  double minutes = 0.0;
  bool simulated = false;
};

class RecordIndex {
 public:
  /// Reads attempts out of the journal. An entry that this program cannot read is skipped here; `records verify` names
  /// it.
  void read(EventStore const& store);
  void add(RecordLine line);

  /// Newest first, at most `most`; an empty serial is any. A serial's beginning is enough.
  std::vector<RecordLine> find(std::string const& serial, std::size_t most) const;
  /// Newest first, those that began at or after this instant.
  std::vector<RecordLine> since(std::int64_t utc_us) const;
  /// The last one of exactly this serial, or nullptr.
  RecordLine const* last_of(std::string const& serial) const;

 private:
  std::vector<RecordLine> lines_;
};

}  // namespace benchward::panel
