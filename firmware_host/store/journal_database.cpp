// SPDX-License-Identifier: MIT
#include "firmware_host/store/journal_database.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace benchward {
namespace {

// "BWJ1": marks our file among SQLite databases.
constexpr int application_id = 0x42574A31;
constexpr int file_version = 1;

struct Statement {
  sqlite3_stmt* handle = nullptr;
  ~Statement() { sqlite3_finalize(handle); }
};

void fsync_folder(std::string const& folder) {
  int const descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return;
  ::fsync(descriptor);
  ::close(descriptor);
}

void make_folder(std::string const& folder) {
  // Each missing part in turn, so that "records/2030" works where "records" is missing too.
  for (std::size_t at = 1; at <= folder.size(); ++at) {
    if (at != folder.size() && folder[at] != '/') continue;
    auto const part = folder.substr(0, at);
    if (::mkdir(part.c_str(), 0750) != 0 && errno != EEXIST) {
      throw StoreError("journal.folder",
                       fmt::format("records folder {}: cannot be made: {}. Choose a folder that this user may write",
                                   folder, std::strerror(errno)));
    }
  }
  struct stat status {};
  if (::stat(folder.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) {
    throw StoreError("journal.folder", fmt::format("records folder {}: is no folder", folder));
  }
  if (::access(folder.c_str(), W_OK | X_OK) != 0) {
    throw StoreError("journal.folder",
                     fmt::format("records folder {}: cannot be written: {}. Choose a folder that this user may write",
                                 folder, std::strerror(errno)));
  }
}

}  // namespace

struct JournalDatabase::Handles {
  sqlite3* database = nullptr;
  int lock = -1;
  bool empty = false;  // read-only access to a journal that is not there yet

  ~Handles() {
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
    make_folder(folder);
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
  if (sqlite3_open_v2(file_.c_str(), &handles_->database, flags, nullptr) != SQLITE_OK) {
    handles_->fail(writing ? "journal.folder" : "journal.foreign", file_, "cannot be opened");
  }
  sqlite3_busy_timeout(handles_->database, 5000);
  bool const fresh = writing && handles_->number(file_, "SELECT count(*) FROM sqlite_master") == 0;
  if (fresh) {
    handles_->run(file_, "PRAGMA page_size = 16384", "page size");
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
  if (!writing) return;
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
}

JournalDatabase::~JournalDatabase() = default;

void JournalDatabase::append(std::vector<StoredEvent> const& events) {
  if (events.empty()) return;
  handles_->run(file_, "BEGIN IMMEDIATE", "beginning to write");
  Statement insert;
  if (sqlite3_prepare_v2(handles_->database, "INSERT INTO entries (seq, bytes, hash) VALUES (?, ?, ?)", -1,
                         &insert.handle, nullptr) != SQLITE_OK) {
    sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
    handles_->fail("journal.write", file_, "preparing to write");
  }
  for (auto const& event : events) {
    sqlite3_bind_int64(insert.handle, 1, static_cast<sqlite3_int64>(event.seq));
    sqlite3_bind_blob64(insert.handle, 2, event.bytes.data(), event.bytes.size(), SQLITE_STATIC);
    sqlite3_bind_text(insert.handle, 3, event.hash.data(), static_cast<int>(event.hash.size()), SQLITE_STATIC);
    if (sqlite3_step(insert.handle) != SQLITE_DONE) {
      auto const words =
          fmt::format("journal {}: entry {} could not be written: {}. No more units are taken; what is there is kept",
                      file_, event.seq, sqlite3_errmsg(handles_->database));
      sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
      throw StoreError("journal.write", words);
    }
    sqlite3_reset(insert.handle);
  }
  if (sqlite3_exec(handles_->database, "COMMIT", nullptr, nullptr, nullptr) != SQLITE_OK) {
    auto const words =
        fmt::format("journal {}: could not be written to the disk: {}. No more units are taken; what is there is kept",
                    file_, sqlite3_errmsg(handles_->database));
    sqlite3_exec(handles_->database, "ROLLBACK", nullptr, nullptr, nullptr);
    throw StoreError("journal.write", words);
  }
}

void JournalDatabase::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  if (handles_->empty) return;
  Statement select;
  if (sqlite3_prepare_v2(handles_->database, "SELECT seq, bytes, hash FROM entries WHERE seq >= ? ORDER BY seq", -1,
                         &select.handle, nullptr) != SQLITE_OK) {
    handles_->fail("journal.foreign", file_, "cannot be read");
  }
  sqlite3_bind_int64(select.handle, 1, static_cast<sqlite3_int64>(from_seq));
  for (;;) {
    int const step = sqlite3_step(select.handle);
    if (step == SQLITE_DONE) return;
    if (step != SQLITE_ROW) handles_->fail("journal.foreign", file_, "cannot be read");
    StoredEvent event;
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

}  // namespace benchward
