// SPDX-License-Identifier: MIT
#include "firmware_host/store/journal_store.hpp"

#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

using namespace benchward;

namespace {

class Folder {
 public:
  Folder() {
    std::string pattern =
        (std::filesystem::temp_directory_path() / ("benchward-store-" + std::string(6, 'X'))).string();
    if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = pattern;
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(Folder const&) = delete;
  Folder& operator=(Folder const&) = delete;
  std::string records() const { return path_ + "/deep/records"; }
  std::string file() const { return records() + "/journal.db"; }

 private:
  std::string path_;
};

StoredEvent event(std::uint64_t seq) {
  StoredEvent one;
  one.seq = seq;
  one.bytes = "{\"n\":" + std::to_string(seq) + "}";
  one.hash = std::string(64, 'a');
  return one;
}

std::string id_of(std::string const& folder, JournalDatabase::Access access) {
  try {
    JournalDatabase const database(folder, access);
  } catch (StoreError const& error) {
    return error.id();
  }
  return "";
}

int run_sql(std::string const& file, char const* sql) {
  sqlite3* database = nullptr;
  sqlite3_open(file.c_str(), &database);
  int const result = sqlite3_exec(database, sql, nullptr, nullptr, nullptr);
  sqlite3_close(database);
  return result;
}

}  // namespace

TEST_CASE("what was appended is read back byte for byte, in order", "[host][store]") {
  Folder const folder;
  {
    JournalDatabase database(folder.records(), JournalDatabase::Access::read_write);
    database.append({event(1), event(2)});
    database.append({event(3)});
  }
  JournalDatabase const again(folder.records(), JournalDatabase::Access::read_only);
  std::vector<std::string> seen;
  again.scan(2, [&seen](StoredEvent const& one) {
    seen.push_back(one.bytes);
    return true;
  });
  CHECK(seen == std::vector<std::string>{"{\"n\":2}", "{\"n\":3}"});
  REQUIRE(again.last());
  CHECK(again.last()->seq == 3);
}

TEST_CASE("the journal file refuses change and removal by itself", "[host][store]") {
  Folder const folder;
  {
    JournalDatabase database(folder.records(), JournalDatabase::Access::read_write);
    database.append({event(1)});
  }
  CHECK(run_sql(folder.file(), "UPDATE entries SET hash = 'b'") != SQLITE_OK);
  CHECK(run_sql(folder.file(), "DELETE FROM entries") != SQLITE_OK);
}

TEST_CASE("the records folder is made for its owner and group alone", "[host][store]") {
  Folder const folder;
  JournalDatabase const database(folder.records(), JournalDatabase::Access::read_write);
  struct stat status {};
  REQUIRE(::stat(folder.records().c_str(), &status) == 0);
  CHECK((status.st_mode & 0007) == 0);
}

TEST_CASE("a second program on one records folder is refused and the owner named", "[host][store]") {
  Folder const folder;
  JournalDatabase const first(folder.records(), JournalDatabase::Access::read_write);
  try {
    JournalDatabase const second(folder.records(), JournalDatabase::Access::read_write);
    FAIL("the second was let in");
  } catch (StoreError const& error) {
    CHECK(error.id() == "journal.locked");
    CHECK(std::string(error.what()).find(std::to_string(::getpid())) != std::string::npos);
  }
}

TEST_CASE("a foreign database, a newer journal and a folder that is a file are refused and left as they are",
          "[host][store]") {
  Folder const folder;
  std::filesystem::create_directories(folder.records());
  REQUIRE(run_sql(folder.file(), "CREATE TABLE other (x)") == SQLITE_OK);
  CHECK(id_of(folder.records(), JournalDatabase::Access::read_write) == "journal.foreign");
  std::filesystem::remove(folder.file());
  { JournalDatabase const ours(folder.records(), JournalDatabase::Access::read_write); }
  REQUIRE(run_sql(folder.file(), "PRAGMA user_version = 99") == SQLITE_OK);
  CHECK(id_of(folder.records(), JournalDatabase::Access::read_write) == "journal.newer");
  std::ofstream(folder.records() + "/plain") << "x";
  CHECK(id_of(folder.records() + "/plain/records", JournalDatabase::Access::read_write) == "journal.folder");
}

TEST_CASE("reading a folder without a journal finds an empty one and writes nothing", "[host][store]") {
  Folder const folder;
  std::filesystem::create_directories(folder.records());
  JournalDatabase const database(folder.records(), JournalDatabase::Access::read_only);
  CHECK_FALSE(database.last());
  CHECK(std::filesystem::is_empty(folder.records()));
}

TEST_CASE("the writer thread answers a durable entry once everything before it is on the disk", "[host][store]") {
  Folder const folder;
  boost::asio::io_context io{1};
  bool ok = false;
  {
    WriterJournalStore store(io, folder.records());
    auto const job = [&store, &ok]() -> Task<void> {
      for (std::uint64_t seq = 1; seq <= 20; ++seq) {
        auto const durability = seq == 20 ? Durability::durable : Durability::ordinary;
        auto const kept = co_await store.append(event(seq), durability);
        if (!kept) co_return;
      }
      ok = true;
    };
    boost::asio::co_spawn(io, job(), [](std::exception_ptr failure) {
      if (failure) std::rethrow_exception(failure);
    });
    io.run();
    REQUIRE(store.last());
    CHECK(store.last()->seq == 20);
  }
  CHECK(ok);
}

TEST_CASE("small and large durable entries of two tasks are all answered, in order", "[host][store]") {
  // Small ones are written while their owner waits awake, large ones tell him later: both ways, and one behind the
  // other.
  Folder const folder;
  boost::asio::io_context io{1};
  std::uint64_t seq = 0;
  int answered = 0;
  {
    WriterJournalStore store(io, folder.records());
    auto const job = [&](std::size_t extra) -> Task<void> {
      for (int i = 0; i < 30; ++i) {
        auto entry = event(++seq);
        if (i % 3 == 0) entry.bytes.append(extra, 'x');
        auto const kept = co_await store.append(std::move(entry), Durability::durable);
        if (kept) ++answered;
      }
    };
    for (std::size_t const extra : {std::size_t{0}, std::size_t{4} << 20}) {
      boost::asio::co_spawn(io, job(extra), [](std::exception_ptr failure) {
        if (failure) std::rethrow_exception(failure);
      });
    }
    io.run();
    CHECK(answered == 60);
  }
  DirectJournalStore const read(folder.records(), JournalDatabase::Access::read_only);
  std::uint64_t expected = 0;
  read.scan(0, [&](StoredEvent const& entry) {
    CHECK(entry.seq == ++expected);
    return true;
  });
  CHECK(expected == 60);
}

TEST_CASE("the write-ahead log is long before anything is written, and holds nothing", "[host][store]") {
  Folder const folder;
  boost::asio::io_context io{1};
  {
    WriterJournalStore store(io, folder.records());
    CHECK(std::filesystem::file_size(folder.records() + "/journal.db-wal") >= (std::uintmax_t{16} << 20));
    CHECK_FALSE(store.last());
  }
  CHECK_FALSE(std::filesystem::exists(folder.records() + "/journal.db-wal"));  // an ended program leaves one file
}

TEST_CASE("a write that fails breaks the store for good and says what to do", "[host][store]") {
  Folder const folder;
  boost::asio::io_context io{1};
  DirectJournalStore store(folder.records());
  std::vector<bool> kept;
  auto const job = [&store, &kept]() -> Task<void> {
    auto const first = co_await store.append(event(1), Durability::durable);
    kept.push_back(first.ok());
    auto const twice = co_await store.append(event(1), Durability::durable);  // the number is taken: a failing write
    kept.push_back(twice.ok());
    auto const after = co_await store.append(event(2), Durability::durable);
    kept.push_back(after.ok());
  };
  boost::asio::co_spawn(io, job(), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  CHECK(kept == std::vector<bool>{true, false, false});
}
