// SPDX-License-Identifier: MIT
// Every way in which a run can stop: outcome by the first cause, bench earthed, reason kept.
#include <catch2/catch.hpp>

#include <algorithm>
#include <memory>
#include <stdexcept>

#include "limits/documents/readings_json.hpp"
#include "rig.hpp"
#include "tests_seq/journal/chain.hpp"
#include "tests_seq/journal/record_view.hpp"
#include "tests_seq/sequence/guard_watch.hpp"
#include "tests_seq/sequence/outcome.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

/// Once a live reading of that name has been shown, and so much later, does something to the bench.
void after_reading(Rig& rig, std::string const& what, std::function<void()> action, double after_s = 0.3) {
  auto done = std::make_shared<bool>(false);
  rig.progress.on_reading = [&rig, what, action = std::move(action), after_s, done](std::string const& seen) {
    if (*done || seen != what) return;
    *done = true;
    rig.at(static_cast<double>(rig.clock.now().monotonic_ns) * 1e-9 + after_s, action);
  };
}

void check_made_safe_and_kept(Rig const& rig, AttemptResult const& result) {
  CHECK(result.earth_proven);
  CHECK_FALSE(rig.block.live());
  CHECK_FALSE(rig.block.touched_live);
  CHECK(verify_chain(rig.store).unbroken);
  auto const record = read_attempt(rig.store, result.attempt);
  REQUIRE(record);
  REQUIRE(record->ended);
  CHECK(record->ended->outcome == result.outcome);
  CHECK(record->ended->reason == result.reason);
  CHECK(record->ended->repeat == result.repeat);
}

}  // namespace

TEST_CASE("an emergency stop in a hold is ABORTED, and what was finished and what is to repeat is said",
          "[sequence][stop]") {
  Rig rig;
  after_reading(rig, "no-load loss", [&] { rig.block.stop_pressed = true; });
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::aborted);
  CHECK(result.disposition == Disposition::repeat);
  CHECK(result.reason.find("I01") != std::string::npos);
  CHECK(has(result.finished, "load_loss"));
  CHECK(has(result.repeat, "no_load"));
  CHECK_FALSE(rig.block.live());
  CHECK_FALSE(rig.block.touched_live);
  auto const record = read_attempt(rig.store, result.attempt);
  REQUIRE(record);
  bool trip_kept = false;
  for (auto const& seen : record->guard) trip_kept = trip_kept || (seen.trip && seen.trip->first.number == 1);
  CHECK(trip_kept);
}

TEST_CASE("over-current at the guard's own transducer is a FAIL where the step names it and the bench is clean",
          "[sequence][stop]") {
  Rig rig;
  after_reading(rig, "no-load loss", [&] { rig.block.load_ma = 100'000; });
  SECTION("no-load, clean bench") {
    auto const result = rig.run(rig.plan());
    INFO(result.reason);
    CHECK(result.outcome == Outcome::fail);
    CHECK(result.disposition == Disposition::hold);
    CHECK(result.reason.find("broke down") != std::string::npos);
    CHECK_FALSE(has(rig.progress.evaluated_tests, "induced"));
    check_made_safe_and_kept(rig, result);
  }
  SECTION("no-load, an instrument that no longer answers: INVALID, and the unit is held as suspect") {
    after_reading(rig, "no-load loss", [&] {
      rig.block.load_ma = 100'000;
      Fault fault;
      fault.id = "bus.timeout";
      fault.device = "power-analyser";
      fault.operation = "read";
      fault.what = "no answer";
      rig.analyzer.fault = fault;
    });
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::invalid);
    CHECK(result.disposition == Disposition::hold);
    check_made_safe_and_kept(rig, result);
  }
  SECTION("load loss does not name it: INVALID, held as suspect") {
    after_reading(rig, "load loss", [&] { rig.block.load_ma = 100'000; });
    auto const result = rig.run(rig.plan());
    INFO(result.reason);
    CHECK(result.outcome == Outcome::invalid);
    CHECK(result.disposition == Disposition::hold);
    check_made_safe_and_kept(rig, result);
  }
}

TEST_CASE("the source's own relay in the induced test is the unit's breakdown, with volts, amperes and time",
          "[sequence][stop]") {
  Rig rig;
  rig.source.trips_above_v = 430.0;
  auto const result = rig.run(rig.plan());
  INFO(result.reason);
  CHECK(result.outcome == Outcome::fail);
  CHECK(result.disposition == Disposition::hold);
  auto const record = read_attempt(rig.store, result.attempt);
  REQUIRE(record);
  bool broke = false;
  for (auto const& step : record->steps) {
    for (auto const& readings : step.readings) {
      if (readings.kind != "breakdown") continue;
      broke = true;
      auto const seen = read_json<BreakdownReading>(readings.json, "record");
      CHECK(seen.test == "induced");
      CHECK(seen.at_volts.in(volts) > 300.0);
      CHECK(seen.after.in(seconds) > 0.0);
      CHECK(seen.bench_proven_clean);
    }
  }
  CHECK(broke);
  check_made_safe_and_kept(rig, result);
  // Its relay lets go with a set value of zero: without it the supply stays unhealthy and nobody leaves the trip.
  auto const& calls = rig.source.calls;
  auto const last_order = std::find_if(calls.rbegin(), calls.rend(),
                                       [](std::string const& call) { return call == "set" || call == "to_zero"; });
  REQUIRE(last_order != calls.rend());
  CHECK(*last_order == "to_zero");
}

TEST_CASE("volts that collapse in a dielectric hold are a FAIL and the run ends there", "[sequence][stop]") {
  Rig rig;
  SECTION("applied") {
    rig.dielectric.collapses_after_s = 20.0;
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::fail);
    CHECK(result.reason.find("collapsed") != std::string::npos);
    CHECK_FALSE(has(result.finished, "applied"));
    check_made_safe_and_kept(rig, result);
  }
  SECTION("induced") {
    rig.analyzer.collapses_after_s = 10.0;
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::fail);
    CHECK(result.reason.find("collapsed") != std::string::npos);
    check_made_safe_and_kept(rig, result);
  }
}

TEST_CASE("a test lead that fell off does not pass the applied test", "[sequence][stop]") {
  Rig rig;
  rig.dielectric.lead_off = true;
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::invalid);
  CHECK(result.disposition != Disposition::release);
  CHECK_FALSE(has(rig.progress.evaluated_tests, "induced"));
}

TEST_CASE("an instrument that cannot answer makes the attempt INVALID and is named", "[sequence][stop]") {
  Rig rig;
  rig.progress.on_step = [&](PlanStep const& step) {
    if (step.test != "winding_resistance") return;
    Fault fault;
    fault.id = "bus.timeout";
    fault.device = "resistance-meter";
    fault.operation = "read volts";
    fault.what = "no answer in 500 ms";
    rig.resistance.fault = fault;
  };
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::invalid);
  CHECK(result.disposition == Disposition::repeat);
  CHECK(result.reason.find("resistance-meter") != std::string::npos);
  check_made_safe_and_kept(rig, result);
  auto const record = read_attempt(rig.store, result.attempt);
  bool kept = false;
  for (auto const& step : record->steps) {
    for (auto const& fault : step.faults) kept = kept || fault.id == "bus.timeout";
  }
  CHECK(kept);
}

TEST_CASE("a link to the bench I/O lost while energised is INVALID", "[sequence][stop]") {
  Rig rig;
  after_reading(rig, "no-load loss", [&] { rig.block.dead_link = true; });
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::invalid);
  CHECK_FALSE(result.earth_proven);  // nobody can say it
  CHECK_FALSE(rig.block.live());     // the block's own watchdog
}

TEST_CASE("a supply that fails is INVALID, not the unit's fault", "[sequence][stop]") {
  Rig rig;
  after_reading(rig, "hold current", [&] { rig.block.supply_lost = true; });
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::invalid);
  CHECK(result.reason.find("I26") != std::string::npos);
}

TEST_CASE("a run that is cancelled makes safe, is ABORTED, and its reason was stored first", "[sequence][stop]") {
  for (double const after_s : {1.0, 12.0, 47.0, 90.0, 200.0, 333.3, 500.0, 700.0, 1000.0}) {
    Rig rig;
    rig.at(after_s, [&] { rig.stop.ask(StopRequest::By::signal, "stopped by SIGINT"); });
    auto const result = rig.run(rig.plan());
    INFO(after_s << " s: " << result.reason);
    if (result.outcome == Outcome::pass) continue;  // it was over before
    CHECK(result.outcome == Outcome::aborted);
    CHECK(result.reason.find("SIGINT") != std::string::npos);
    CHECK_FALSE(rig.block.live());
    CHECK(rig.block.earth_ms == 0);
    CHECK_FALSE(rig.block.touched_live);
    auto const record = read_attempt(rig.store, result.attempt);
    REQUIRE(record);
    REQUIRE(record->ended);
    CHECK(record->ended->outcome == Outcome::aborted);
  }
}

TEST_CASE("a record that cannot be kept stops the run: made safe, nothing energised after it", "[sequence][stop]") {
  Rig rig;
  int energisations = -1;
  rig.progress.on_step = [&](PlanStep const& step) {
    if (step.test != "load_loss") return;
    Fault fault;
    fault.id = "store.write";
    fault.device = "record store";
    fault.operation = "append";
    fault.what = "no space left";
    rig.store.failure = fault;
    energisations = rig.block.energisations;
  };
  auto const result = rig.run(rig.plan());
  CHECK(result.journal_failed);
  CHECK(result.outcome == Outcome::aborted);
  CHECK(rig.block.energisations == energisations);
  CHECK_FALSE(rig.block.live());
  CHECK(rig.journal.broken());
}

TEST_CASE("a procedure that throws what nobody expected is made safe, closed and said to be a defect",
          "[sequence][stop]") {
  Rig rig;
  rig.progress.on_evaluated = [](Evaluation const& evaluation) {
    if (evaluation.test == "load_loss") throw std::logic_error("a defect");
  };
  auto const result = rig.run(rig.plan());
  CHECK(result.defect);
  CHECK(result.outcome == Outcome::aborted);
  CHECK(result.earth_proven);
  CHECK_FALSE(rig.block.live());
}

TEST_CASE("a person who refuses START is not overruled", "[sequence][stop]") {
  Rig rig;
  rig.person.refuses_start = true;
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::aborted);
  CHECK(rig.block.energisations == 0);
}

TEST_CASE("an attempt that a crash left open is closed as ABORTED at the next start", "[sequence][journal]") {
  Rig rig;
  after_reading(rig, "hold current", [&] {
    // The computer is gone from here: whatever the run writes later is not there.
    rig.stop.ask(StopRequest::By::program, "crash");
  });
  rig.run(rig.plan());
  // Cut everything from the last step's end on, as a power failure would.
  while (!rig.store.events.empty() && parse_event(rig.store.events.back().bytes).type != "energise intended") {
    rig.store.events.pop_back();
  }
  REQUIRE(attempts_in(rig.store, true) == std::vector<std::string>{"attempt1"});
  Rig next;
  MemoryEventStore& store = next.store;
  store.events = rig.store.events;
  Journal journal(store, next.clock, "second-boot");
  PlanStep nothing;
  int closed = -1;
  next.run_step(nothing, [&](StepContext&) -> Task<void> {
    auto const answer = co_await close_open_attempts(journal);
    closed = answer ? answer.value() : -2;
  });
  CHECK(closed == 1);
  CHECK(attempts_in(store, true).empty());
  auto const record = read_attempt(store, "attempt1");
  REQUIRE(record);
  REQUIRE(record->ended);
  CHECK(record->ended->outcome == Outcome::aborted);
  CHECK(record->ended->disposition == Disposition::hold);  // it was in a dielectric step
  CHECK(has(record->ended->finished, "ratio"));
  CHECK(has(record->ended->repeat, "applied"));
  CHECK(verify_chain(store).unbroken);
}

TEST_CASE("the first cause of a trip decides the outcome", "[sequence][stop]") {
  struct Row {
    int condition;
    TripMeaning meaning;
  };
  // House rule: gate, emergency stop, operator, earth sticks, two-hand; feedback, regulator, watchdog, stale,
  // impossible, supply; over-current, ceiling.
  Row const rows[] = {{1, TripMeaning::aborted},      {2, TripMeaning::aborted}, {3, TripMeaning::aborted},
                      {5, TripMeaning::aborted},      {9, TripMeaning::aborted}, {21, TripMeaning::aborted},
                      {28, TripMeaning::aborted},     {8, TripMeaning::bench},   {11, TripMeaning::bench},
                      {14, TripMeaning::bench},       {22, TripMeaning::bench},  {23, TripMeaning::bench},
                      {24, TripMeaning::bench},       {26, TripMeaning::bench},  {15, TripMeaning::perhaps_unit},
                      {16, TripMeaning::perhaps_unit}};
  for (auto const& row : rows) {
    INFO("I" << row.condition);
    CHECK(meaning_of_condition(row.condition) == row.meaning);
  }
}

TEST_CASE("what the guard did stands in the record, a trip with the second before it", "[sequence][journal]") {
  Rig rig;
  int shown = 0;
  rig.progress.on_guard = [&](GuardStatus const&) { ++shown; };
  GuardWatch watch(rig.guard, events_of(rig.core), rig.clock, rig.journal, rig.progress, [] { return "attempt1"; });
  rig.spawn(watch.run());
  after_reading(rig, "no-load loss", [&] { rig.block.gate_open = true; });
  auto const result = rig.run(rig.plan());
  watch.stop();
  CHECK(result.outcome == Outcome::aborted);
  CHECK(shown > 10);
  auto const record = read_attempt(rig.store, result.attempt);
  REQUIRE(record);
  bool warned = false, tripped = false;
  for (auto const& seen : record->guard) {
    warned = warned || seen.to == GuardState::warning;
    tripped = tripped || (seen.trip && seen.trip->first.number == 2);
  }
  CHECK(warned);
  CHECK(tripped);
  bool frozen = false;
  for (auto const& entry : rig.store.events) {
    frozen = frozen || entry.bytes.find("\"frozen\":[{\"monotonic_ns\"") != std::string::npos;
  }
  CHECK(frozen);
  CHECK(verify_chain(rig.store).unbroken);
}
