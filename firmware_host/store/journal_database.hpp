// SPDX-License-Identifier: MIT
#pragma once

/// The journal's file: one SQLite database in the records folder, append-only by construction (triggers refuse update
/// and delete), one program at a time. At the end of each attempt, and at the latest every `head_interval` entries, the
/// newest entry is signed in the same transaction. A plain object: one call, one thread.

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "firmware_host/store/signed_head.hpp"
#include "tests_seq/journal/event_store.hpp"

namespace benchward {

/// The folder or file cannot serve as a journal: exit code 5 where it is to be written, 2 where it is only read.
class StoreError : public std::runtime_error {
 public:
  StoreError(std::string id, std::string const& words) : std::runtime_error(words), id_(std::move(id)) {}
  std::string const& id() const {
    return id_;
  }  ///< "journal.folder", "journal.locked", "journal.foreign", "journal.newer", "journal.write", "journal.key"

 private:
  std::string id_;
};

class JournalDatabase {
 public:
  enum class Access { read_only, read_write };
  static constexpr std::uint64_t head_interval = 256;  ///< entries

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

  /// The signed heads, oldest first; `from_seq`: only those at or behind that entry.
  std::vector<SignedHead> heads(std::uint64_t from_seq = 0) const;
  std::optional<SignedHead> last_head() const;

  /// Moves what was committed from the write-ahead log into the file, without holding writers up; for a connection of
  /// its own in another thread (`checkpoint_by`): the writer's own commits then never pay for it.
  void no_own_checkpoints();
  /// Makes the write-ahead log long beforehand: a commit that lengthens a file has to wait for the file's length as
  /// well and takes twice as long. What the disk has no room for is left out.
  void lengthen_log();
  static void checkpoint_by(std::string const& file, std::function<bool()> const& wait);
  /// A consistent copy while this or another program writes. The file is made anew; throws StoreError `journal.write`.
  void copy_to(std::string const& file) const;

  std::string const& file() const { return file_; }

 private:
  struct Handles;
  bool head_due(StoredEvent const& last, std::vector<StoredEvent> const& events) const;
  std::unique_ptr<Handles> handles_;
  std::string file_;
  std::optional<SigningKey> key_;
  std::uint64_t signed_seq_ = 0;
};

}  // namespace benchward
