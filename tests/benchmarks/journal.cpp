// SPDX-License-Identifier: MIT
// The journal against the bare things it is made of, all in one run on one disk. Usage: bench_journal FOLDER [ATTEMPTS]
#include <fcntl.h>
#include <fmt/core.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <charconv>
#include <chrono>
#include <cstring>
#include <exception>
#include <filesystem>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "firmware_host/record/verification.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/journal/journal.hpp"

using namespace benchward;

namespace {

constexpr int appends = 1000, rounds = 5;

double now_us() {
  return static_cast<double>(
             std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
                 .count()) /
         1000.0;
}

double seconds_of(std::function<void()> const& work) {
  double const begin = now_us();
  work();
  return (now_us() - begin) / 1e6;
}

struct Times {
  double p50, p999, rate;
};
Times times_of(std::vector<double> us) {
  double sum = 0.0;
  for (double const one : us) sum += one;
  std::sort(us.begin(), us.end());
  return {us[us.size() / 2], us[us.size() - 1 - us.size() / 1000], 1e6 * static_cast<double>(us.size()) / sum};
}

std::string const words(8000, 'x');

Times journal_appends(std::string const& folder) {
  boost::asio::io_context io{1};
  WriterJournalStore store(io, folder);
  WallClock clock(io, 1.0);
  Journal journal(store, clock, "bench");
  std::vector<double> us;
  auto const write = [&]() -> Task<void> {
    for (int i = 0; i < appends; ++i) {
      OperatorAct act;
      act.attempt = "bench";
      act.act = "connected";
      act.words = words;
      double const begin = now_us();
      co_await journal.record_event(act, Durability::durable);
      us.push_back(now_us() - begin);
    }
  };
  boost::asio::co_spawn(io, write(), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  return times_of(std::move(us));
}

Times bare_commits(std::string const& file) {
  sqlite3* database = nullptr;
  sqlite3_open(file.c_str(), &database);
  sqlite3_exec(database,
               "PRAGMA page_size=4096; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; CREATE TABLE IF NOT EXISTS t "
               "(n INTEGER PRIMARY KEY, b BLOB)",
               nullptr, nullptr, nullptr);
  sqlite3_stmt* insert = nullptr;
  sqlite3_prepare_v2(database, "INSERT INTO t (b) VALUES (?)", -1, &insert, nullptr);
  std::string const bytes = words + std::string(300, 'y');
  std::vector<double> us;
  for (int i = 0; i < appends; ++i) {
    double const begin = now_us();
    sqlite3_bind_blob(insert, 1, bytes.data(), static_cast<int>(bytes.size()), SQLITE_STATIC);
    sqlite3_step(insert);
    sqlite3_reset(insert);
    us.push_back(now_us() - begin);
  }
  sqlite3_finalize(insert);
  sqlite3_close(database);
  return times_of(std::move(us));
}

Times raw_writes(std::string const& file) {
  int const descriptor = ::open(file.c_str(), O_CREAT | O_WRONLY | O_APPEND, 0600);
  std::string const bytes = words + std::string(300, 'y');
  std::vector<double> us;
  for (int i = 0; i < appends; ++i) {
    double const begin = now_us();
    if (::write(descriptor, bytes.data(), bytes.size()) < 0) break;
    ::fdatasync(descriptor);
    us.push_back(now_us() - begin);
  }
  ::close(descriptor);
  return times_of(std::move(us));
}

/// Starts and ends of attempts, as many as asked for, in large commits.
void fill(std::string const& folder, std::size_t attempts) {
  boost::asio::io_context io{1};
  JournalDatabase database(folder, JournalDatabase::Access::read_write);
  MemoryEventStore memory;
  WallClock clock(io, 1.0);
  Journal journal(memory, clock, "bench");
  std::string const reason(300, 'r');
  auto const write = [&]() -> Task<void> {
    for (std::size_t i = 0; i < attempts; ++i) {
      AttemptStarted started;
      started.attempt = "attempt" + std::to_string(i);
      started.serial = "SERIAL-" + std::to_string(i);
      co_await journal.record_event(started, Durability::ordinary);
      AttemptEnded ended;
      ended.attempt = started.attempt;
      ended.outcome = Outcome::pass;
      ended.disposition = Disposition::release;
      ended.reason = reason;
      co_await journal.record_event(ended, Durability::ordinary);
      if (memory.events.size() >= 2000 || i + 1 == attempts) {
        database.append(memory.events);
        auto last = memory.events.back();
        memory.events.clear();
      }
    }
  };
  boost::asio::co_spawn(io, write(), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  RecordCatalogue const catalogue(folder, database, JournalDatabase::Access::read_write);
}

double look_up_us(std::string const& folder, std::size_t attempts) {
  DirectJournalStore const store(folder, JournalDatabase::Access::read_only);
  std::vector<double> us;
  for (std::size_t i = 0; i < 400; ++i) {
    CatalogueQuery query;
    query.serial = "SERIAL-" + std::to_string(i * 7919 % attempts);
    double const begin = now_us();
    auto const rows = store.catalogue().find(query);
    us.push_back(now_us() - begin);
    if (rows.size() != 1) throw std::runtime_error("look-up found something else");
  }
  return times_of(std::move(us)).p50;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  std::string const folder = argv[1];
  std::size_t attempts = 500000;
  if (argc > 2) std::from_chars(argv[2], argv[2] + std::strlen(argv[2]), attempts);
  std::filesystem::create_directories(folder);
  std::array<std::vector<double>, 4> figures;
  for (int round = 0; round < rounds; ++round) {
    auto const tail = std::to_string(round);
    auto const raw = raw_writes(folder + "/raw" + tail);
    auto const bare = bare_commits(folder + "/bare" + tail + ".db");
    auto const ours = journal_appends(folder + "/journal" + tail);
    fmt::print(
        "round {}: raw p50 {:.0f} p99.9 {:.0f} us; bare commit p50 {:.0f} p99.9 {:.0f}; journal p50 {:.0f} p99.9 "
        "{:.0f}; rate {:.3f} of bare\n",
        round, raw.p50, raw.p999, bare.p50, bare.p999, ours.p50, ours.p999, ours.rate / bare.rate);
    figures[0].push_back(ours.rate / bare.rate);
    figures[1].push_back(ours.p999 / std::max(4.0 * ours.p50, 1.2 * raw.p999));
  }
  for (auto& figure : figures) std::sort(figure.begin(), figure.end());
  fmt::print(
      "durable append, median of {}: {:.3f} of a bare commit (at least 0.85); p99.9 {:.2f} of its bound (at most 1)\n",
      rounds, figures[0][rounds / 2], figures[1][rounds / 2]);

  fill(folder + "/small", 10000);
  fill(folder + "/large", attempts);
  double const small = look_up_us(folder + "/small", 10000), large = look_up_us(folder + "/large", attempts);
  fmt::print("look-up by serial: {:.1f} us among 10000, {:.1f} us among {}: {:.2f} times (at most 1.7)\n", small, large,
             attempts, large / small);

  DirectJournalStore const store(folder + "/large", JournalDatabase::Access::read_only);
  std::vector<double> shares;
  for (int round = 0; round < rounds; ++round) {
    std::uint64_t bytes = 0, entries = 0;
    std::vector<std::string> block;
    double hashing = 0.0;
    // The same bytes, out of memory: block by block, only the hashing is timed.
    auto const hash_block = [&] {
      hashing += seconds_of([&block] {
        for (auto const& one : block) {
          if (sha256_hex(one).empty()) throw std::runtime_error("no hash");
        }
      });
      block.clear();
    };
    store.database().scan(0, [&](StoredEvent const& entry) {
      block.push_back(entry.bytes);
      bytes += entry.bytes.size();
      ++entries;
      if (block.size() == 10000) hash_block();
      return true;
    });
    hash_block();
    bool whole = false;
    double const verifying = seconds_of([&] { whole = verify_chain(store).unbroken; });
    fmt::print("verifying {} entries, {} MB: {:.2f} s; hashing them alone {:.2f} s: {:.2f}{}\n", entries,
               bytes / 1000000, verifying, hashing, hashing / verifying, whole ? "" : "  BROKEN");
    shares.push_back(hashing / verifying);
  }
  std::sort(shares.begin(), shares.end());
  VerificationWishes wishes;
  wishes.from_last_head = true;
  double const from_head = seconds_of([&] { verify_journal(folder + "/large", store, store.database(), wishes); });
  fmt::print("median {:.2f} of hashing alone (at least 0.5); from the last signed head {:.1f} ms (at most 50)\n",
             shares[rounds / 2], 1000.0 * from_head);
  return 0;
}
