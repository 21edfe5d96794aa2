// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "limits/documents/limit_set_document.hpp"
#include "rig.hpp"
#include "tests_seq/journal/chain.hpp"
#include "tests_seq/journal/record_view.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

/// A small journal of ten entries, made by Journal itself.
std::vector<StoredEvent> small_journal() {
  Rig rig;
  PlanStep nothing;
  rig.run_step(nothing, [&](StepContext& at) -> Task<void> {
    for (int i = 0; i < 10; ++i) co_await keep_act(at, "act", "number " + std::to_string(i));
  });
  return rig.store.events;
}

ChainHead head_of(std::vector<StoredEvent> const& events) { return {events.back().seq, events.back().hash}; }

ChainReport verified(std::vector<StoredEvent> const& events, std::optional<ChainHead> const& anchor) {
  MemoryEventStore store;
  store.events = events;
  return verify_chain(store, anchor);
}

}  // namespace

TEST_CASE("an untouched journal verifies, an empty one with 0 entries", "[journal][chain]") {
  auto const events = small_journal();
  REQUIRE(events.size() == 10);
  auto const report = verified(events, head_of(events));
  CHECK(report.unbroken);
  CHECK(report.entries == 10);
  auto const empty = verified({}, std::nullopt);
  CHECK(empty.unbroken);
  CHECK(empty.entries == 0);
}

TEST_CASE("SHA-256 is the standard's", "[journal][chain]") {
  // FIPS 180-4, examples of NIST: "abc" and the empty message.
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("a flipped bit in any byte of any entry is found, and the entry is named", "[journal][chain]") {
  auto const events = small_journal();
  for (std::size_t i = 0; i < events.size(); ++i) {
    for (std::size_t place = 0; place < events[i].bytes.size(); ++place) {
      auto changed = events;
      changed[i].bytes[place] = static_cast<char>(changed[i].bytes[place] ^ 1);
      auto const report = verified(changed, std::nullopt);
      REQUIRE_FALSE(report.unbroken);
      REQUIRE(report.first_bad == events[i].seq);
    }
  }
}

TEST_CASE("a removed, exchanged, inserted, doubled or newly hashed entry is found and named", "[journal][chain]") {
  auto const events = small_journal();
  auto const anchor = head_of(events);
  for (std::size_t i = 0; i < events.size(); ++i) {
    INFO("entry " << i + 1);
    auto removed = events;
    removed.erase(removed.begin() + static_cast<std::ptrdiff_t>(i));
    CHECK(verified(removed, anchor).first_bad == events[i].seq);

    auto doubled = events;
    doubled.insert(doubled.begin() + static_cast<std::ptrdiff_t>(i), events[i]);
    CHECK(verified(doubled, anchor).first_bad == events[i].seq + 1);

    auto rewritten = events;
    auto const at = rewritten[i].bytes.find("number");
    REQUIRE(at != std::string::npos);
    rewritten[i].bytes.replace(at, 6, "Number");
    rewritten[i].hash = sha256_hex(rewritten[i].bytes);  // the forger knows how to hash
    auto const report = verified(rewritten, anchor);
    CHECK_FALSE(report.unbroken);
    // The next entry's `prev` shows it; of the last one only the known head does.
    CHECK(report.first_bad == (i + 1 < events.size() ? events[i].seq + 1 : events[i].seq));

    if (i + 1 < events.size()) {
      auto exchanged = events;
      std::swap(exchanged[i], exchanged[i + 1]);
      CHECK(verified(exchanged, anchor).first_bad == events[i].seq);
      auto renumbered = exchanged;
      std::swap(renumbered[i].seq, renumbered[i + 1].seq);
      CHECK(verified(renumbered, anchor).first_bad == events[i].seq);
    }
  }
}

TEST_CASE("a cut tail, and a journal written anew from the start, show against a head known outside",
          "[journal][chain]") {
  auto const events = small_journal();
  auto const anchor = head_of(events);
  for (std::size_t keep = 0; keep < events.size(); ++keep) {
    auto cut = events;
    cut.resize(keep);
    CHECK(verified(cut, std::nullopt).unbroken);  // the chain alone cannot show it
    auto const report = verified(cut, anchor);
    CHECK_FALSE(report.unbroken);
    CHECK(report.first_bad == keep + 1);
  }
  auto anew = events;
  std::string prev(chain_begin);
  for (auto& entry : anew) {
    auto event = parse_event(entry.bytes);
    event.prev = prev;
    event.boot = "forged";
    entry.bytes = serialise(event);
    entry.hash = sha256_hex(entry.bytes);
    prev = entry.hash;
  }
  CHECK(verified(anew, std::nullopt).unbroken);
  CHECK_FALSE(verified(anew, anchor).unbroken);
}

TEST_CASE("an event comes back as it was written, and its bytes are compact and in one order", "[journal]") {
  Event event;
  event.type = "operator act";
  event.seq = 7;
  event.prev = std::string(chain_begin);
  event.at = {123456789, 1893456000000001};
  event.boot = "b";
  event.attempt = "a1";
  event.data = "{\"words\":\"x\"}";
  auto const bytes = serialise(event);
  CHECK(bytes ==
        "{\"type\":\"operator act\",\"v\":1,\"seq\":7,\"prev\":\"" + std::string(chain_begin) +
            "\",\"utc\":\"2030-01-01T00:00:00.000001Z\",\"monotonic_ns\":123456789,\"boot\":\"b\",\"attempt\":\"a1\","
            "\"data\":{\"words\":\"x\"}}");
  auto const back = parse_event(bytes);
  CHECK(back.seq == 7);
  CHECK(back.at.utc_us == event.at.utc_us);
  CHECK(back.attempt == "a1");
  CHECK(back.data == event.data);
  CHECK(serialise(back) == bytes);
}

TEST_CASE("a reader refuses an event of a newer version or type, and says so; the chain still verifies", "[journal]") {
  auto events = small_journal();
  auto newer = parse_event(events.back().bytes);
  newer.seq = events.back().seq + 1;
  newer.prev = events.back().hash;
  std::string id;
  auto const refused = [&](Event const& event) {
    try {
      parse_event(serialise(event));
      return std::string("taken");
    } catch (DocumentError const& error) {
      return error.id();
    }
  };
  newer.version = 99;
  CHECK(refused(newer) == "journal.version");
  newer.version = 1;
  newer.type = "dream";
  CHECK(refused(newer) == "journal.type");
  StoredEvent stored{newer.seq, serialise(newer), ""};
  stored.hash = sha256_hex(stored.bytes);
  events.push_back(stored);
  CHECK(verified(events, std::nullopt).unbroken);
  // And the journal goes on behind it.
  MemoryEventStore store;
  store.events = events;
  VirtualClock clock(0);
  Journal journal(store, clock, "b2");
  CHECK(journal.last_seq() == newer.seq);
  CHECK(journal.head() == stored.hash);
}

TEST_CASE("a journal is broken for good by its first failed write", "[journal]") {
  Rig rig;
  PlanStep nothing;
  std::vector<bool> kept;
  rig.run_step(nothing, [&](StepContext&) -> Task<void> {
    OperatorAct act;
    act.act = "x";
    Fault fault;
    fault.id = "store.write";
    rig.store.failure = fault;
    auto const failed = co_await rig.journal.record_event(act, Durability::durable);
    kept.push_back(failed.ok());
    rig.store.failure.reset();
    auto const after = co_await rig.journal.record_event(act, Durability::durable);
    kept.push_back(after.ok());
  });
  CHECK(kept == std::vector<bool>{false, false});
  CHECK(rig.journal.broken());
}

TEST_CASE("ids of a seed are the same again and differ from each other", "[journal]") {
  IdSource a(42), b(42), c(43);
  auto const first = a.next();
  CHECK(first.size() == 26);
  CHECK(first == b.next());
  CHECK(first != a.next());
  CHECK(first != c.next());
}
