// SPDX-License-Identifier: MIT
#include "firmware_host/store/journal_database.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

#include "firmware_host/store/durable_file.hpp"
#include "firmware_host/store/record_catalogue.hpp"

namespace benchward {
namespace {

// "BWJ1": marks our file among SQLite databases.
constexpr int application_id = 0x42574A31;
constexpr int file_version = 1;

struct Statement {
  sqlite3_stmt* handle = nullptr;
  ~Statement() { sqlite3_finalize(handle); }
};

/// The file as a URI of the database library, opened as one that cannot change.
std::string uri_of(std::string const& file) {
  std::string uri = "file:";
  for (char const c : file) {
    bool const plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' ||
                       c == '.' || c == '-' || c == '_';
    uri += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return uri + "?immutable=1";
}

}  // namespace

struct JournalDatabase::Handles {
  sqlite3* database = nullptr;
  sqlite3_stmt* insert = nullptr;
  sqlite3_stmt* insert_head = nullptr;
  int lock = -1;
  bool empty = false;  // read-only access to a journal that is not there yet
  bool has_heads = false;

  ~Handles() {
    sqlite3_finalize(insert);
    sqlite3_finalize(insert_head);
    sqlite3_close(database);
    if (lock >= 0) ::close(lock);
  }

  [[noreturn]] void fail(std::string const& id, std::string const& file, std::string const& what) const {
    throw StoreError(
        id, fmt::format("journal {}: {}: {}", file, what, database ? sqlite3_errmsg(database) : "no database"));
  }
  void run(std::string const& file, char const* sql, char const* what, char const* id = "journal.write") const {
    if (sqlite3_exec(database, sql, nullptr, nullptr, nullptr) != SQLITE_OK) fail(id, file, what);
  }
  int number(std::string const& file, char const* sql) const {
    Statement statement;
    if (sqlite3_prepare_v2(database, sql, -1, &statement.handle, nullptr) != SQLITE_OK)
      fail("journal.foreign", file, "is no journal of ours");
    if (sqlite3_step(statement.handle) != SQLITE_ROW) fail("journal.foreign", file, "is no journal of ours");
    return sqlite3_column_int(statement.handle, 0);
  }
};

JournalDatabase::JournalDatabase(std::string const& folder, Access access)
    : handles_(std::make_unique<Handles>()), file_(folder + "/journal.db") {
  bool const writing = access == Access::read_write;
  bool const existed = ::access(file_.c_str(), F_OK) == 0;
  if (!writing && !existed) {
    struct stat status {};
    if (::stat(folder.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) {
      throw StoreError("journal.folder", fmt::format("records folder {}: there is no such folder", folder));
    }
    handles_->empty = true;
    return;
  }
  if (writing) {
    make_records_folder(folder);
    auto const lock_file = folder + "/journal.lock";
    handles_->lock = ::open(lock_file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640);
    if (handles_->lock < 0) {
      throw StoreError("journal.folder",
                       fmt::format("records folder {}: cannot be written: {}", folder, std::strerror(errno)));
    }
    if (::flock(handles_->lock, LOCK_EX | LOCK_NB) != 0) {
      std::array<char, 100> owner{};
      auto const got = ::pread(handles_->lock, owner.data(), owner.size() - 1, 0);
      throw StoreError("journal.locked", fmt::format("records folder {}: is in use by {}. One program a folder", folder,
                                                     got > 0 ? owner.data() : "another program"));
    }
    auto const text = fmt::format("process {}", ::getpid());
    if (::ftruncate(handles_->lock, 0) != 0 || ::pwrite(handles_->lock, text.data(), text.size(), 0) < 0) {
      throw StoreError("journal.folder",
                       fmt::format("records folder {}: cannot be written: {}", folder, std::strerror(errno)));
    }
  }
  int const flags = writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
  bool opened = sqlite3_open_v2(file_.c_str(), &handles_->database, flags, nullptr) == SQLITE_OK;
  if (!writing && opened && ::access(folder.c_str(), W_OK) != 0 && ::access((file_ + "-wal").c_str(), F_OK) != 0) {
    // A folder that nobody here may write and no log beside the file: it cannot change under us, and the library need
    // not make its shared-memory file (which it could not).
    sqlite3_close(handles_->database);
    opened = sqlite3_open_v2(uri_of(file_).c_str(), &handles_->database, flags | SQLITE_OPEN_URI, nullptr) == SQLITE_OK;
  }
  if (!opened) {
    handles_->fail(writing ? "journal.folder" : "journal.foreign", file_, "cannot be opened");
  }
  sqlite3_busy_timeout(handles_->database, 5000);
  if (!writing) {
    // A program that was killed while it made the file leaves a half-made one, which the library puts right as soon as
    // it may write.
    bool const half_made = sqlite3_exec(handles_->database, "SELECT count(*) FROM sqlite_master", nullptr, nullptr,
                                        nullptr) == SQLITE_READONLY;
    if (half_made) {
      sqlite3_close(handles_->database);
      if (sqlite3_open_v2(file_.c_str(), &handles_->database, SQLITE_OPEN_READWRITE, nullptr) != SQLITE_OK)
        handles_->fail("journal.foreign", file_, "cannot be opened");
    }
    if (handles_->number(file_, "SELECT count(*) FROM sqlite_master") == 0) {
      handles_->empty = true;  // made, and nothing written yet
      return;
    }
  }
  bool const fresh = writing && handles_->number(file_, "SELECT count(*) FROM sqlite_master") == 0;
  if (fresh) {
    handles_->run(file_, "PRAGMA page_size = 4096", "page size");
  } else {
    if (handles_->number(file_, "PRAGMA application_id") != application_id) {
      throw StoreError(
          "journal.foreign",
          fmt::format("journal {}: is a database, but not a journal of this program. It is left as it is", file_));
    }
    int const version = handles_->number(file_, "PRAGMA user_version");
    if (version > file_version) {
      throw StoreError("journal.newer", fmt::format("journal {}: was written by a newer program (file version {}, this "
                                                    "program knows {}). It is left as it is",
                                                    file_, version, file_version));
    }
  }
  // Reading through a map instead of copies: verification reads everything.
  handles_->run(file_, "PRAGMA mmap_size = 1073741824", "map of the file", "journal.foreign");
  if (!writing) {
    handles_->has_heads = handles_->number(file_, "SELECT count(*) FROM sqlite_master WHERE name = 'heads'") > 0;
    return;
  }
  handles_->run(file_, "PRAGMA journal_mode = WAL", "write-ahead log");
  // FULL: a commit that has returned survives a power cut.
  handles_->run(file_, "PRAGMA synchronous = FULL", "synchronous writes");
  if (fresh) {
    handles_->run(file_,
                  "BEGIN IMMEDIATE;"
                  "CREATE TABLE entries (seq INTEGER PRIMARY KEY, bytes BLOB NOT NULL, hash TEXT NOT NULL);"
                  "CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'the "
                  "journal is append-only'); END;"
                  "CREATE TRIGGER entries_are_never_removed BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'the "
                  "journal is append-only'); END;"
                  "PRAGMA application_id = 1113016881;"
                  "PRAGMA user_version = 1;"
                  "COMMIT;",
                  "making the tables");
    fsync_folder(folder);
  }
  // Not in the oldest journals: added where it is missing.
  handles_->run(file_,
                "CREATE TABLE IF NOT EXISTS heads (seq INTEGER PRIMARY KEY, line TEXT NOT NULL);"
                "CREATE TRIGGER IF NOT EXISTS heads_are_never_changed BEFORE UPDATE ON heads BEGIN SELECT RAISE(ABORT, "
                "'the journal is append-only'); END;"
                "CREATE TRIGGER IF NOT EXISTS heads_are_never_removed BEFORE DELETE ON heads BEGIN SELECT RAISE(ABORT, "
                "'the journal is append-only'); END;",
                "making the table of heads");
  handles_->has_heads = true;
  key_ = SigningKey::open_or_make(folder);
  if (auto const head = last_head()) signed_seq_ = head->seq;
}

JournalDatabase::~JournalDatabase() = default;

bool JournalDatabase::head_due(StoredEvent const& last, std::vector<StoredEvent> const& events) const {
  if (last.seq <= signed_seq_) return false;
  if (last.seq - signed_seq_ >= head_interval) return true;
  for (auto const& event : events) {
    if (event.bytes.compare(0, 23, "{\"type\":\"attempt ended\"") == 0) return true;
  }
  return false;
}

void JournalDatabase::append(std::vector<StoredEvent> const& events) {
  if (events.empty()) return;
  bool const sign = head_due(events.back(), events);
  // One entry alone is a transaction of its own: the library begins and commits it.
  bool const several = events.size() > 1 || sign;
  if (several) handles_->run(file_, "BEGIN IMMEDIATE", "beginning to write");
  auto const prepare = [this](sqlite3_stmt*& statement, char const* sql) {
    if (statement != nullptr) return;
    if (sqlite3_prepare_v2(handles_->database, sql, -1, &statement, nullptr) == SQLITE_OK) return;
    sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
    handles_->fail("journal.write", file_, "preparing to write");
  };
  prepare(handles_->insert, "INSERT INTO entries (seq, bytes, hash) VALUES (?, ?, ?)");
  prepare(handles_->insert_head, "INSERT INTO heads (seq, line) VALUES (?, ?)");
  for (auto const& event : events) {
    sqlite3_bind_int64(handles_->insert, 1, static_cast<sqlite3_int64>(event.seq));
    sqlite3_bind_blob64(handles_->insert, 2, event.bytes.data(), event.bytes.size(), SQLITE_STATIC);
    sqlite3_bind_text(handles_->insert, 3, event.hash.data(), static_cast<int>(event.hash.size()), SQLITE_STATIC);
    if (sqlite3_step(handles_->insert) != SQLITE_DONE) {
      auto const words =
          fmt::format("journal {}: entry {} could not be written: {}. No more units are taken; what is there is kept",
                      file_, event.seq, sqlite3_errmsg(handles_->database));
      sqlite3_reset(handles_->insert);
      sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
      throw StoreError("journal.write", words);
    }
    sqlite3_reset(handles_->insert);
  }
  auto const& last = events.back();
  if (sign) {
    auto const line = head_line(key_->sign(last.seq, last.hash));
    sqlite3_bind_int64(handles_->insert_head, 1, static_cast<sqlite3_int64>(last.seq));
    sqlite3_bind_text(handles_->insert_head, 2, line.data(), static_cast<int>(line.size()), SQLITE_STATIC);
    int const kept = sqlite3_step(handles_->insert_head);
    sqlite3_reset(handles_->insert_head);
    if (kept != SQLITE_DONE) {
      auto const words = fmt::format("journal {}: the signed head {} could not be written: {}. No more units are taken",
                                     file_, last.seq, sqlite3_errmsg(handles_->database));
      sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
      throw StoreError("journal.write", words);
    }
  }
  if (several && sqlite3_exec(handles_->database, "COMMIT", nullptr, nullptr, nullptr) != SQLITE_OK) {
    auto const words =
        fmt::format("journal {}: could not be written to the disk: {}. No more units are taken; what is there is kept",
                    file_, sqlite3_errmsg(handles_->database));
    sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
    throw StoreError("journal.write", words);
  }
  if (sign) signed_seq_ = last.seq;
}

void JournalDatabase::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  if (handles_->empty) return;
  Statement select;
  if (sqlite3_prepare_v2(handles_->database, "SELECT seq, bytes, hash FROM entries WHERE seq >= ? ORDER BY seq", -1,
                         &select.handle, nullptr) != SQLITE_OK) {
    handles_->fail("journal.foreign", file_, "cannot be read");
  }
  sqlite3_bind_int64(select.handle, 1, static_cast<sqlite3_int64>(from_seq));
  StoredEvent event;  // one for all rows: its memory is used again
  for (;;) {
    int const step = sqlite3_step(select.handle);
    if (step == SQLITE_DONE) return;
    if (step != SQLITE_ROW) handles_->fail("journal.foreign", file_, "cannot be read");
    event.bytes.clear();
    event.hash.clear();
    event.seq = static_cast<std::uint64_t>(sqlite3_column_int64(select.handle, 0));
    if (void const* bytes = sqlite3_column_blob(select.handle, 1)) {
      event.bytes.assign(static_cast<char const*>(bytes),
                         static_cast<std::size_t>(sqlite3_column_bytes(select.handle, 1)));
    }
    if (unsigned char const* hash = sqlite3_column_text(select.handle, 2)) {
      event.hash.assign(reinterpret_cast<char const*>(hash),
                        static_cast<std::size_t>(sqlite3_column_bytes(select.handle, 2)));
    }
    if (!each(event)) return;
  }
}

std::optional<StoredEvent> JournalDatabase::last() const {
  if (handles_->empty) return std::nullopt;
  Statement select;
  if (sqlite3_prepare_v2(handles_->database, "SELECT seq FROM entries ORDER BY seq DESC LIMIT 1", -1, &select.handle,
                         nullptr) != SQLITE_OK) {
    handles_->fail("journal.foreign", file_, "cannot be read");
  }
  if (sqlite3_step(select.handle) != SQLITE_ROW) return std::nullopt;
  auto const seq = static_cast<std::uint64_t>(sqlite3_column_int64(select.handle, 0));
  std::optional<StoredEvent> found;
  scan(seq, [&found](StoredEvent const& event) {
    found = event;
    return false;
  });
  return found;
}

std::vector<SignedHead> JournalDatabase::heads(std::uint64_t from_seq) const {
  std::vector<SignedHead> found;
  if (handles_->empty || !handles_->has_heads) return found;
  Statement select;
  if (sqlite3_prepare_v2(handles_->database, "SELECT seq, line FROM heads WHERE seq >= ? ORDER BY seq", -1,
                         &select.handle, nullptr) != SQLITE_OK) {
    handles_->fail("journal.foreign", file_, "its heads cannot be read");
  }
  sqlite3_bind_int64(select.handle, 1, static_cast<sqlite3_int64>(from_seq));
  while (sqlite3_step(select.handle) == SQLITE_ROW) {
    auto const* text = sqlite3_column_text(select.handle, 1);
    auto head = head_of_line(text == nullptr ? "" : reinterpret_cast<char const*>(text));
    // One that cannot be read stays in the list: it holds for nothing, and verification names it.
    if (!head) head.emplace();
    head->seq = static_cast<std::uint64_t>(sqlite3_column_int64(select.handle, 0));
    found.push_back(*std::move(head));
  }
  return found;
}

std::optional<SignedHead> JournalDatabase::last_head() const {
  if (handles_->empty || !handles_->has_heads) return std::nullopt;
  auto const newest = handles_->number(file_, "SELECT coalesce(max(seq), 0) FROM heads");
  auto all = heads(static_cast<std::uint64_t>(newest));
  if (newest == 0 || all.empty()) return std::nullopt;
  return all.back();
}

void JournalDatabase::no_own_checkpoints() {
  handles_->run(file_, "PRAGMA wal_autocheckpoint = 0", "checkpoints by another thread");
}

void JournalDatabase::lengthen_log() {
  // The log is the library's own file beside the journal; zeros behind its end are no entries to it. Nobody else has it
  // open (the folder's lock is held), and it is not cut while it is open.
  int const log = ::open((file_ + "-wal").c_str(), O_WRONLY | O_CLOEXEC);
  if (log < 0) return;
  constexpr off_t block = 1 << 20, length = 16 * block;
  std::string const zeros(static_cast<std::size_t>(block), '\0');
  off_t at = ::lseek(log, 0, SEEK_END);
  while (at >= 0 && at < length) {
    auto const written = ::pwrite(log, zeros.data(), static_cast<std::size_t>(std::min(block, length - at)), at);
    if (written <= 0) break;  // a full disk: the log grows by itself, as long as it can
    at += written;
  }
  ::fdatasync(log);
  ::close(log);
}

void JournalDatabase::checkpoint_by(std::string const& file, std::function<bool()> const& wait) {
  sqlite3* database = nullptr;
  bool const opened = sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READWRITE, nullptr) == SQLITE_OK;
  while (wait()) {
    // A checkpoint that cannot be made leaves the entries in the write-ahead log, where they are just as durable.
    if (opened) sqlite3_wal_checkpoint_v2(database, nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
  }
  sqlite3_close(database);
}

void JournalDatabase::copy_to(std::string const& file) const {
  if (handles_->empty) throw StoreError("journal.write", fmt::format("journal {}: there is none to copy", file_));
  sqlite3* copy = nullptr;
  int result = sqlite3_open_v2(file.c_str(), &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr);
  if (result == SQLITE_OK) {
    // In one step: read in one transaction, so that a writer beside it does not start the copy anew.
    auto* backup = sqlite3_backup_init(copy, "main", handles_->database, "main");
    if (backup == nullptr) {
      result = sqlite3_errcode(copy);
    } else {
      sqlite3_backup_step(backup, -1);
      result = sqlite3_backup_finish(backup);
    }
  }
  // One file without a log beside it: readable on a disk that nobody may write.
  if (result == SQLITE_OK) result = sqlite3_exec(copy, "PRAGMA journal_mode = DELETE", nullptr, nullptr, nullptr);
  std::string const words = sqlite3_errmsg(copy);
  sqlite3_close(copy);
  if (result != SQLITE_OK) throw StoreError("journal.write", fmt::format("copy {}: cannot be made: {}", file, words));
}

}  // namespace benchward
