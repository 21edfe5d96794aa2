// SPDX-License-Identifier: MIT
// A journal of 10,000 entries under a tampering hand: every entry, one bit of each drawn at random.
#include <sys/stat.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "firmware_host/store/record_catalogue.hpp"
#include "firmware_host/store/signed_head.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/journal/chain.hpp"
#include "tests_seq/journal/journal.hpp"

using namespace benchward;

namespace {

constexpr std::size_t journal_entries = 10000;

std::vector<StoredEvent> journal_of(std::size_t entries) {
  boost::asio::io_context io{1};
  MemoryEventStore store;
  WallClock clock(io, 1.0);
  Journal journal(store, clock, "tamper");
  auto const write = [&journal, entries]() -> Task<void> {
    for (std::size_t i = 0; i < entries; ++i) {
      OperatorAct act;
      act.attempt = "attempt";
      act.person = "nobody";
      act.act = "connected";
      act.words = "number " + std::to_string(i);
      co_await journal.record_event(act, Durability::ordinary);
    }
  };
  boost::asio::co_spawn(io, write(), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  return store.events;
}

/// A store over other entries, handed on as they are.
class Tampered final : public EventStore {
 public:
  std::vector<StoredEvent const*> entries;
  Task<Answer<Done>> append(StoredEvent, Durability) override { co_return Answer<Done>(Done{}); }
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override {
    for (auto const* entry : entries) {
      if (entry->seq >= from_seq && !each(*entry)) return;
    }
  }
  std::optional<StoredEvent> last() const override { return std::nullopt; }
};

}  // namespace

TEST_CASE("of 10,000 entries each that is changed, removed, inserted, exchanged or cut off is found",
          "[host][tamper]") {
  auto const events = journal_of(journal_entries);
  REQUIRE(events.size() == journal_entries);
  ChainHead const known{events.back().seq, events.back().hash};
  MemoryEventStore untouched;
  untouched.events = events;
  REQUIRE(verify_chain(untouched, known).unbroken);
  std::mt19937 random(20261125);  // fixed: the same bits every time
  std::size_t tried = 0;
  for (std::size_t i = 0; i < events.size(); ++i) {
    INFO("entry " << i + 1);
    // What stands before the entry is untouched, and was verified above: the check begins at the entry before it and
    // reads on until it finds something wrong or the end.
    ChainHead begin;
    std::size_t const front = i >= 2 ? i - 1 : 0;
    if (front > 0) begin = {events[front - 1].seq, events[front - 1].hash};
    std::vector<StoredEvent const*> tampered;
    for (std::size_t k = front; k < events.size(); ++k) tampered.push_back(&events[k]);
    auto const at = static_cast<std::ptrdiff_t>(i - front);
    auto const found = [&](std::vector<StoredEvent const*> entries) {
      ++tried;
      Tampered store;
      store.entries = std::move(entries);
      auto const report = verify_chain_from(store, begin, {known});
      return report.first_bad.value_or(0);
    };

    auto flipped = events[i];
    auto const place = random() % flipped.bytes.size();
    flipped.bytes[place] = static_cast<char>(flipped.bytes[place] ^ (1 << random() % 8));
    auto changed = tampered;
    changed[static_cast<std::size_t>(at)] = &flipped;
    REQUIRE(found(changed) == i + 1);

    // The same with its own hash made right again: the next entry's link (or the known head) gives it away.
    flipped.hash = sha256_hex(flipped.bytes);
    auto const named = found(changed);
    REQUIRE((named == i + 1 || named == i + 2));

    auto removed = tampered;
    removed.erase(removed.begin() + at);
    REQUIRE(found(removed) == i + 1);

    auto inserted = tampered;
    auto const second = events[i];
    inserted.insert(inserted.begin() + at, &second);
    REQUIRE(found(inserted) == i + 2);

    if (i + 1 < events.size()) {
      auto exchanged = tampered;
      std::swap(exchanged[static_cast<std::size_t>(at)], exchanged[static_cast<std::size_t>(at) + 1]);
      REQUIRE(found(exchanged) == i + 1);
    }

    auto cut = tampered;
    cut.resize(static_cast<std::size_t>(at));
    REQUIRE(found(cut) == i + 1);
  }
  WARN(tried << " tamperings, all found");
}

TEST_CASE("a head's line comes back as it was, and one altered anywhere does not hold", "[host][head]") {
  std::string pattern = (std::filesystem::temp_directory_path() / ("benchward-head-" + std::string(6, 'X'))).string();
  REQUIRE(::mkdtemp(pattern.data()) != nullptr);
  {
    auto const key = SigningKey::open_or_make(pattern);
    CHECK(SigningKey::open_or_make(pattern).public_key() == key.public_key());
    struct stat status {};
    REQUIRE(::stat((pattern + "/keys/journal.key").c_str(), &status) == 0);
    CHECK((status.st_mode & 0777) == 0600);
    auto const head = key.sign(7, sha256_hex("seven"));
    auto const line = head_line(head);
    auto const back = head_of_line(line);
    REQUIRE(back);
    CHECK(signature_holds(*back));
    CHECK(head_line(*back) == line);
    for (std::size_t place = 17; place < line.size(); ++place) {
      auto other = line;
      other[place] = other[place] == '1' ? '2' : '1';
      auto const read = head_of_line(other);
      CHECK((!read || !signature_holds(*read)));
    }
  }
  std::filesystem::remove_all(pattern);
}

TEST_CASE("Ed25519 is the standard's", "[host][head]") {
  // RFC 8032, 7.1, test 1 signs the empty message, which no head is; so the head's own message is signed by the library
  // and the key pair of test 1 is only read here: secret 9d61..., public d75a...
  std::string pattern = (std::filesystem::temp_directory_path() / ("benchward-head-" + std::string(6, 'X'))).string();
  REQUIRE(::mkdtemp(pattern.data()) != nullptr);
  std::string const public_half = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
  std::string const seed = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
  std::filesystem::create_directories(pattern + "/keys");
  {
    std::FILE* file = std::fopen((pattern + "/keys/journal.key").c_str(), "w");
    REQUIRE(file != nullptr);
    std::fputs((seed + public_half + "\n").c_str(), file);
    std::fclose(file);
    REQUIRE(::chmod((pattern + "/keys/journal.key").c_str(), 0600) == 0);
  }
  auto const key = SigningKey::open_or_make(pattern);
  CHECK(key.public_key() == public_half);
  CHECK(signature_holds(key.sign(1, sha256_hex(""))));
  std::filesystem::remove_all(pattern);
}

TEST_CASE("a clock that is set back is an event of its own, before the event that shows it", "[host][journal]") {
  struct BackwardsClock final : Clock {
    std::int64_t utc_us = 1'900'000'000'000'000;
    Stamp now() const override { return {5, utc_us}; }
    double scale() const override { return 1.0; }
    Task<void> wait_until(std::int64_t) override { co_return; }
  } clock;
  MemoryEventStore store;
  boost::asio::io_context io{1};
  auto const write = [&]() -> Task<void> {
    Journal journal(store, clock, "boot");
    co_await journal.record_event(EventsLost{1}, Durability::durable);
    clock.utc_us -= 3'600'000'000;
    co_await journal.record_event(EventsLost{2}, Durability::durable);
    // A program that starts later, with the clock set back meanwhile, notices too.
    clock.utc_us -= 1;
    Journal later(store, clock, "boot");
    co_await later.record_event(EventsLost{3}, Durability::durable);
  };
  boost::asio::co_spawn(io, write(), [](std::exception_ptr failure) {
    if (failure) std::rethrow_exception(failure);
  });
  io.run();
  std::vector<std::string> types;
  for (auto const& entry : store.events) types.push_back(parse_event(entry.bytes).type);
  CHECK(types ==
        std::vector<std::string>{"events lost", "clock set back", "events lost", "clock set back", "events lost"});
  CHECK(store.events[1].bytes.find("2030-03-17T17:46:40.000000Z") != std::string::npos);
  CHECK(verify_chain(store).unbroken);
}
