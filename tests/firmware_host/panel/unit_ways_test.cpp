// SPDX-License-Identifier: MIT
#include "firmware_host/panel/unit_ways.hpp"

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <catch2/catch.hpp>
#include <stdexcept>

#include "drivers/bench/bench_document.hpp"
#include "drivers/time/virtual_clock.hpp"
#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/session/rework.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/unit_document.hpp"
#include "tests_seq/journal/journal.hpp"

using namespace benchward;
using namespace benchward::panel;

namespace {

std::string demo(std::string const& file) { return std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/" + file; }

template <class Data>
Task<void> kept(Journal& journal, Data event) {
  auto const written = co_await journal.record_event(event, Durability::ordinary);
  if (!written) throw std::runtime_error(written.error().text());
}

/// A journal in memory, a simulated bench and one unit of it.
struct Shelf {
  explicit Shelf(std::string const& file) : unit(read_unit(demo("units/" + file))), set(chosen_limit_set("", unit)) {}

  void run(Task<void> task) {
    boost::asio::co_spawn(io, std::move(task), [](std::exception_ptr failure) {
      if (failure) std::rethrow_exception(failure);
    });
    io.restart();
    io.run();
  }

  /// An attempt at a stage that came to its end so.
  void attempt(std::string const& id, std::string const& stage, Outcome outcome, Disposition disposition,
               std::string const& after = "") {
    auto order = make_order(unit, set, stage, bench);
    AttemptStarted started;
    started.attempt = id;
    started.serial = unit.serial;
    started.stage = stage;
    started.after = after;
    started.simulated = true;
    for (auto const& step : order.plan.steps) started.tests.push_back(step.test);
    run(kept(journal, started));
    AttemptEnded ended;
    ended.attempt = id;
    ended.outcome = outcome;
    ended.disposition = disposition;
    ended.reason = "because";
    run(kept(journal, ended));
  }

  void rework(std::string const& done) {
    ReworkDone made;
    made.serial = unit.serial;
    made.done = done;
    made.person = "fitter";
    run(keep_rework(journal, made));
  }

  UnitWays ways() { return ways_of(store, store, bench, unit, set, clock.now()); }

  boost::asio::io_context io;
  VirtualClock clock{1'000'000'000'000'000};
  MemoryEventStore store;
  Journal journal{store, clock, "boot"};
  Bench bench = read_bench(demo("benches/01-scaled.json"));
  Unit unit;
  LimitSet set;
};

std::vector<std::string> keys(UnitWays const& ways) {
  std::vector<std::string> found;
  for (auto const& way : ways.all) found.push_back(way.key);
  return found;
}

}  // namespace

TEST_CASE("A unit that nobody tested has one way: the whole of its stage, and the bench is not proven", "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  auto const ways = shelf.ways();
  CHECK(keys(ways) == std::vector<std::string>{"whole routine"});
  CHECK(ways.all[0].waits.empty());
  CHECK_FALSE(ways.all[0].past.unit_is_held);
  CHECK(ways.find("whole routine") != nullptr);
  CHECK(ways.find("resume x") == nullptr);
  CHECK_THAT(ways.why_not_for_record, Catch::Contains("no check object"));
}

TEST_CASE("A rework at a passed unit offers what it repeats, the newest first; at one never passed it offers nothing",
          "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  shelf.rework("re-tapped");
  CHECK(keys(shelf.ways()) == std::vector<std::string>{"whole routine"});
  shelf.attempt("first", "routine", Outcome::pass, Disposition::release);
  // What was done before it was passed is no matter.
  CHECK(keys(shelf.ways()) == std::vector<std::string>{"whole routine"});
  shelf.rework("gauge replaced");
  shelf.rework("load-loss leads re-clamped");
  auto const ways = shelf.ways();
  CHECK(keys(ways)[1] == "after routine load-loss leads re-clamped");
  CHECK(keys(ways)[2] == "after routine gauge replaced");
  auto const* way = ways.find("after routine load-loss leads re-clamped");
  REQUIRE(way != nullptr);
  CHECK(way->past.after == "load-loss leads re-clamped");
  REQUIRE(way->order.plan.steps.size() == 3);
  CHECK(way->order.plan.steps[2].test == "load_loss");
}

TEST_CASE("A later stage says what it waits for, and the first that does not stand is proposed", "[panel]") {
  Shelf shelf("three-phase-substation-5000kva-dyn1.json");
  auto ways = shelf.ways();
  CHECK(keys(ways) == std::vector<std::string>{"whole before_closing", "whole before_shipping"});
  CHECK(ways.proposed == 0);
  CHECK(ways.all[0].waits.empty());
  CHECK_THAT(ways.all[1].waits, Catch::Contains("waits for before_closing"));
  shelf.attempt("first", "before_closing", Outcome::pass, Disposition::release);
  ways = shelf.ways();
  CHECK(ways.all[ways.proposed].key == "whole before_shipping");
  CHECK(ways.all[ways.proposed].waits.empty());
}

TEST_CASE("An attempt of which nothing would stand, or that came to its end, is not offered again", "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  shelf.attempt("first", "routine", Outcome::aborted, Disposition::repeat);
  CHECK(keys(shelf.ways()) == std::vector<std::string>{"whole routine"});
  shelf.attempt("second", "routine", Outcome::fail, Disposition::hold);
  CHECK(keys(shelf.ways()) == std::vector<std::string>{"whole routine"});
}

TEST_CASE(
    "Each way bears what its run may release: a check object beyond its limits days ago, what another rework opened",
    "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  CHECK(shelf.ways()
            .all[0]
            .past.release->withheld.empty());  // never checked: not for record, but nothing speaks against it
  AttemptStarted object;
  object.attempt = "of the object";
  object.serial = "OBJECT-1";
  object.unit_document = write_unit(shelf.unit);
  shelf.run(kept(shelf.journal, object));
  ObjectChecked checked;
  checked.attempt = "of the object";
  checked.object = "OBJECT-1";
  checked.bench_hash = shelf.bench.hash;
  checked.beyond = {"ratio: off"};
  shelf.run(kept(shelf.journal, checked));
  shelf.attempt("first", "routine", Outcome::pass, Disposition::release);
  shelf.rework("re-tapped");
  shelf.rework("load-loss leads re-clamped");
  auto const ways = shelf.ways();
  for (auto const& way : ways.all)
    CHECK_THAT(way.past.release.value().withheld, Catch::Contains("OBJECT-1 found the bench beyond"));
  CHECK(ways.find("whole routine")->past.release->still_open.empty());
  auto const* after = ways.find("after routine load-loss leads re-clamped");
  REQUIRE(after != nullptr);
  CHECK(after->past.release->still_open == std::vector<std::string>{"ratio", "as_shipped"});
  CHECK_THAT(after->past.release->why_still_open, Catch::Contains("re-tapped"));
}

TEST_CASE("A word that the retest table does not have is not kept, and the known ones are named", "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  ReworkDone made;
  made.serial = shelf.unit.serial;
  made.done = "painted";
  CHECK_THROWS_AS(shelf.run(keep_rework(shelf.journal, made)), DocumentError);
  CHECK(shelf.store.events.empty());
}

TEST_CASE("A journal from an entry on shows nothing that stood before, and is not written", "[panel]") {
  Shelf shelf("single-phase-pad-50kva.json");
  shelf.attempt("first", "routine", Outcome::pass, Disposition::release);
  shelf.rework("re-tapped");
  REQUIRE(shelf.store.events.size() == 3);
  LaterEntries const later(shelf.store, shelf.store.events[2].seq);
  int seen = 0;
  later.scan(0, [&](StoredEvent const& event) {
    CHECK(event.seq == shelf.store.events[2].seq);
    ++seen;
    return true;
  });
  CHECK(seen == 1);
}
