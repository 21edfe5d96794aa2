// SPDX-License-Identifier: MIT
#pragma once

/// One row an attempt beside the journal, so that a unit of twenty years ago is found at once. Derived from the journal
/// and from nothing else: missing, old or damaged it is made anew, and `records verify` computes it again and compares.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/store/journal_database.hpp"

namespace benchward {

struct CatalogueRow {
  std::string attempt, serial, order, design, stage, bench, person;
  std::string outcome;  ///< "OPEN" until the attempt has ended
  std::string disposition, reason;
  std::string instruments;  ///< names and certificates in force, each between "|"
  std::int64_t started_us = 0, ended_us = 0;
  bool simulated = false;
  std::uint64_t first_seq = 0, last_seq = 0;  ///< `last_seq` 0: not ended

  bool operator==(CatalogueRow const&) const = default;
};

/// What is asked for; empty members are any. Texts are compared whole.
struct CatalogueQuery {
  std::string attempt, serial, order, design, outcome, instrument;
  std::string since, until;  ///< ISO days in UTC, both inclusive
};

class RecordCatalogue {
 public:
  /// Read-write: brings the file up to date with the journal, or makes it anew; a folder that has no room for it has no
  /// catalogue file, and everything still works. Read-only: writes nothing; what the file lacks is read from the
  /// journal.
  RecordCatalogue(std::string const& folder, JournalDatabase const& journal, JournalDatabase::Access access);
  ~RecordCatalogue();
  RecordCatalogue(RecordCatalogue const&) = delete;
  RecordCatalogue& operator=(RecordCatalogue const&) = delete;

  /// Entries that were just appended. Never throws: a catalogue that cannot be written is left behind and caught up at
  /// the next start.
  void take(std::vector<StoredEvent> const& events) noexcept;

  /// In the order of starts.
  std::vector<CatalogueRow> find(CatalogueQuery const& query) const;

  /// Compares the file with the journal, row by row: nothing, or what is wrong in words. A missing file is right.
  static std::optional<std::string> difference(std::string const& folder, JournalDatabase const& journal);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

/// Whether a batch holds the start or the end of an attempt.
bool starts_or_ends_attempt(std::string const& bytes);

}  // namespace benchward
