// SPDX-License-Identifier: MIT
#pragma once

/// The journal's file: one SQLite database in the records folder, append-only by construction (triggers refuse update
/// and delete), one program at a time. A plain object: one call, one thread.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "tests_seq/journal/event_store.hpp"

namespace benchward {

/// The folder or file cannot serve as a journal: exit code 5 where it is to be written, 2 where it is only read.
class StoreError : public std::runtime_error {
 public:
  StoreError(std::string id, std::string const& words) : std::runtime_error(words), id_(std::move(id)) {}
  std::string const& id() const {
    return id_;
  }  ///< "journal.folder", "journal.locked", "journal.foreign", "journal.newer", "journal.write"

 private:
  std::string id_;
};

class JournalDatabase {
 public:
  enum class Access { read_only, read_write };

  /// Read-write: makes the folder (0750) and the file where they are missing and takes the folder's lock; throws
  /// StoreError naming the owner where another program has it. Read-only: an absent journal is an empty one.
  JournalDatabase(std::string const& folder, Access access);
  ~JournalDatabase();
  JournalDatabase(JournalDatabase const&) = delete;
  JournalDatabase& operator=(JournalDatabase const&) = delete;

  /// Appends all in one transaction; returns once it is on the disk. Throws StoreError `journal.write`.
  void append(std::vector<StoredEvent> const& events);
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const;
  std::optional<StoredEvent> last() const;

  std::string const& file() const { return file_; }

 private:
  struct Handles;
  std::unique_ptr<Handles> handles_;
  std::string file_;
};

}  // namespace benchward
