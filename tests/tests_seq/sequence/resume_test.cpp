// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <algorithm>
#include <set>

#include "limits/documents/document_error.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "rig.hpp"
#include "tests_seq/journal/chain.hpp"
#include "tests_seq/sequence/resume.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

using Catch::Matchers::Contains;

AttemptOptions options_of(std::string attempt) {
  AttemptOptions options;
  options.attempt = std::move(attempt);
  options.unit_hash = "hash of the unit";
  return options;
}

ResumeCircumstances circumstances_of(Rig& rig) {
  ResumeCircumstances now;
  now.unit_hash = "hash of the unit";
  now.bench_hash = rig.bench.hash;
  now.limit_set_hash = rig.sheet.limit_set_hash;
  now.newest_of_serial = newest_attempt_of(rig.store, rig.unit.unit.serial);
  now.now = rig.clock.now();
  return now;
}

/// As the next start of the program finds it.
AttemptRecord closed(Rig& rig, std::string const& attempt) {
  auto close = [&]() -> Task<void> {
    auto const answer = co_await close_open_attempts(rig.journal);
    if (!answer) throw std::runtime_error(answer.error().text());
  };
  rig.finish(close());
  return read_attempt(rig.store, attempt).value();
}

/// Steps at which an attempt asked for energy.
std::multiset<std::string> energised(Rig const& rig, std::string const& attempt) {
  std::multiset<std::string> tests;
  auto const record = read_attempt(rig.store, attempt);
  REQUIRE(record);
  for (auto const& step : record->steps) {
    if (!step.energised.empty()) tests.insert(std::to_string(step.number) + " " + step.test);
  }
  return tests;
}

std::vector<StoredEvent> whole_run() {
  Rig rig;
  auto const result = rig.run(rig.plan(), options_of("attempt1"));
  REQUIRE(result.outcome == Outcome::pass);
  return rig.store.events;
}

}  // namespace

TEST_CASE("a run killed after any entry of the journal is taken up again at a test boundary and passes", "[resume]") {
  auto const events = whole_run();
  std::size_t runs = 0, held = 0, most = 0;
  for (std::size_t kept = 1; kept < events.size(); ++kept) {
    auto const type = parse_event(events[kept - 1].bytes).type;
    if (type == event_type::operator_act || type == event_type::guard_event) continue;  // as after the entry before
    Rig rig(demo_unit(), {events.begin(), events.begin() + static_cast<std::ptrdiff_t>(kept)});
    if (attempts_in(rig.store).empty()) continue;
    auto const record = closed(rig, "attempt1");
    if (record.ended->outcome == Outcome::pass) continue;
    INFO("killed after entry " << kept << ", " << type);
    auto const plan = rig.plan();
    auto const resumption = resumption_of(record, plan, circumstances_of(rig));
    ++runs;
    most = std::max(most, resumption.standing());

    // Only what was finished in those entries stands; which unit, how warm, and as shipped never.
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
      if (!resumption.steps[i].stands) continue;
      CHECK(std::any_of(record.steps.begin(), record.steps.end(), [&](RecordedStep const& step) {
        return step.number == static_cast<int>(i) + 1 && step.how == "finished";
      }));
      CHECK(plan.steps[i].test != "identity");
      CHECK(plan.steps[i].test != "temperatures");
      CHECK(plan.steps[i].test != "as_shipped");
    }

    auto options = options_of("attempt2");
    options.resumption = resumption;
    if (resumption.needs_reason) {
      ++held;
      auto blocked = options;
      options.attempt = "attempt3";
      blocked.unit_is_held = true;
      auto const nothing = rig.run(plan, blocked);
      CHECK(nothing.outcome == Outcome::aborted);
      CHECK(energised(rig, "attempt2").empty());
      options.unit_is_held = true;
      options.repeat_reason = "looked at after the power cut (signed: quality)";
    }
    auto const result = rig.run(plan, options);
    INFO(result.reason);
    CHECK(result.outcome == Outcome::pass);
    CHECK(result.repeat.empty());
    CHECK_FALSE(rig.block.touched_live);
    CHECK_FALSE(rig.ratio.asked_without_consent);
    CHECK(verify_chain(rig.store).unbroken);

    // The record is whole: every step, readings and results of each; energy only at those that were repeated.
    auto const resumed = read_attempt(rig.store, options.attempt);
    REQUIRE(resumed);
    CHECK(resumed->started.resumes == "attempt1");
    CHECK(resumed->steps.size() == plan.steps.size());
    auto const live = energised(rig, options.attempt);
    for (std::size_t i = 0; i < plan.steps.size(); ++i) {
      auto const name = std::to_string(i + 1) + " " + plan.steps[i].test;
      CHECK(live.contains(name) == (plan.steps[i].energy.has_value() && !resumption.steps[i].stands));
    }
    std::set<std::string> quantities;
    for (auto const& evaluation : result.evaluations) {
      for (auto const& one : evaluation.results) quantities.insert(one.quantity);
    }
    CHECK(quantities.contains("efficiency_percent"));
    CHECK(quantities.contains("total_loss_w"));
  }
  CHECK(runs > 40);
  CHECK(held > 3);
  CHECK(most > 6);
}

TEST_CASE("what is repeated in a resumed run follows the table: before volts, with its load loss, after stress",
          "[resume]") {
  Rig first;
  auto const plan = first.plan();
  std::vector<std::string> repeated;
  // Stopped by a person as the first dielectric step begins.
  first.progress.on_step = [&](PlanStep const& step) {
    if (step.test == "applied") first.stop.ask(StopRequest::By::person, "the shift is over");
  };
  auto const stopped = first.run(plan, options_of("attempt1"));
  REQUIRE(stopped.outcome == Outcome::aborted);
  auto const record = read_attempt(first.store, "attempt1").value();
  auto const resumption = resumption_of(record, plan, circumstances_of(first));
  CHECK_FALSE(resumption.needs_reason);
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    auto const& test = plan.steps[i].test;
    INFO(test << ": " << resumption.steps[i].why);
    bool const stands =
        test == "polarity" || test == "winding_resistance" || test == "load_loss" || test == "elsewhere";
    CHECK(resumption.steps[i].stands == stands);
    if (test == "ratio") CHECK_THAT(resumption.steps[i].why, Contains("before anything above low voltage"));
  }
  // No area is kept open into or out of a step that stands.
  auto const shown = plan_resumed(plan, resumption);
  for (std::size_t i = 0; i + 1 < shown.steps.size(); ++i) {
    if (resumption.steps[i].stands || resumption.steps[i + 1].stands) CHECK_FALSE(shown.steps[i].keeps_area);
  }
}

TEST_CASE("an attempt is not resumed on another bench, unit, limit set or plan, after a newer one, or too late",
          "[resume]") {
  Rig rig;
  auto const plan = rig.plan();
  rig.progress.on_step = [&](PlanStep const& step) {
    if (step.test == "no_load") rig.stop.ask(StopRequest::By::person, "the shift is over");
  };
  REQUIRE(rig.run(plan, options_of("attempt1")).outcome == Outcome::aborted);
  auto const record = read_attempt(rig.store, "attempt1").value();
  auto const good = circumstances_of(rig);
  CHECK_NOTHROW(resumption_of(record, plan, good));
  auto const refused = [&](auto change, char const* words) {
    auto circumstances = good;
    auto other_record = record;
    auto other_plan = plan;
    change(circumstances, other_record, other_plan);
    INFO(words);
    try {
      resumption_of(other_record, other_plan, circumstances);
      FAIL("was resumed");
    } catch (DocumentError const& error) {
      CHECK(error.id() == "plan.resume");
      CHECK_THAT(error.what(), Contains(words));
    }
  };
  refused([](auto& now, auto&, auto&) { now.bench_hash = "x"; }, "bench");
  refused([](auto& now, auto&, auto&) { now.unit_hash = "x"; }, "unit document");
  refused([](auto& now, auto&, auto&) { now.limit_set_hash = "x"; }, "limit set");
  refused([](auto& now, auto&, auto&) { now.newest_of_serial = "attempt2"; }, "attempt2 at this unit is newer");
  refused([](auto& now, auto&, auto&) { now.reworked = "bushing replaced"; }, "--after \"bushing replaced\"");
  refused([](auto& now, auto&, auto&) { now.now.utc_us += std::int64_t{25} * 3600 * 1'000'000; }, "h ago");
  refused([](auto&, auto&, auto& other) { other.serial = "X"; }, "of unit");
  refused([](auto&, auto&, auto& other) { other.stage = "before_shipping"; }, "stage");
  refused([](auto&, auto&, auto& other) { other.steps.pop_back(); }, "plans the unit otherwise");
  refused([](auto&, auto& old, auto&) { old.ended.reset(); }, "has not ended");
  refused([](auto&, auto& old, auto&) { old.ended->outcome = Outcome::pass; }, "came to its end");
  refused([](auto&, auto& old, auto&) { old.ended->outcome = Outcome::fail; }, "came to its end");
}

TEST_CASE("a resumed run stops before any energy when the person says that something was done to the unit meanwhile",
          "[resume]") {
  Rig rig;
  auto const plan = rig.plan();
  rig.progress.on_step = [&](PlanStep const& step) {
    if (step.test == "no_load") rig.stop.ask(StopRequest::By::person, "the shift is over");
  };
  REQUIRE(rig.run(plan, options_of("attempt1")).outcome == Outcome::aborted);
  Rig next(demo_unit(), rig.store.events);
  next.person.answers["resume.untouched"] = "something was done";
  auto options = options_of("attempt2");
  options.resumption = resumption_of(read_attempt(next.store, "attempt1").value(), plan, circumstances_of(next));
  auto const result = next.run(plan, options);
  CHECK(result.outcome != Outcome::pass);
  CHECK_THAT(result.reason, Contains("record the rework"));
  CHECK(energised(next, "attempt2").empty());
}

TEST_CASE("a result that rejects the unit is not walked around by an interruption", "[resume]") {
  Rig rig;
  auto const plan = rig.plan();
  rig.unit.load_loss_w = 2000.0;
  rig.progress.on_step = [&](PlanStep const& step) {
    if (step.test == "induced") rig.stop.ask(StopRequest::By::person, "the shift is over");
  };
  auto const stopped = rig.run(plan, options_of("attempt1"));
  REQUIRE(stopped.outcome == Outcome::aborted);
  CHECK_THROWS_WITH(resumption_of(read_attempt(rig.store, "attempt1").value(), plan, circumstances_of(rig)),
                    Contains("rejected the unit"));
}
