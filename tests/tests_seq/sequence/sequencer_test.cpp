// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <algorithm>
#include <set>

#include "rig.hpp"
#include "tests_seq/journal/chain.hpp"
#include "tests_seq/journal/record_view.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

int asked(Rig const& rig, std::string const& id) {
  return static_cast<int>(std::count(rig.person.acts.begin(), rig.person.acts.end(), "ask " + id));
}

}  // namespace

TEST_CASE("a sound unit runs through its whole plan, passes and is released, with the bench earthed at the end",
          "[sequence]") {
  Rig rig;
  auto const plan = rig.plan();
  REQUIRE(plan.testable());
  auto const result = rig.run(plan);
  INFO(result.reason);
  CHECK(result.outcome == Outcome::pass);
  CHECK(result.disposition == Disposition::release);
  CHECK(result.repeat.empty());
  CHECK(result.earth_proven);
  CHECK(result.simulated);
  CHECK_FALSE(rig.block.touched_live);
  CHECK_FALSE(rig.ratio.asked_without_consent);
  CHECK_FALSE(rig.resistance.selected_under_current);
  CHECK(rig.progress.ends == 1);
  CHECK(verify_chain(rig.store).unbroken);
  auto const record = read_attempt(rig.store, result.attempt);
  REQUIRE(record);
  CHECK(record->steps.size() == plan.steps.size());
  REQUIRE(record->ended);
  CHECK(record->ended->outcome == Outcome::pass);
  CHECK(record->judgement->disposition == Disposition::release);
  // What the bench does not wire up is never silently true: the record says so with the reason.
  CHECK(record->started.conditions_absent.size() == rig.bench.absent.size());
  for (auto const& absent : rig.bench.absent) {
    INFO("I" << absent.number);
    CHECK(std::any_of(record->started.conditions_absent.begin(), record->started.conditions_absent.end(),
                      [&](auto const& text) { return text.find(absent.reason) != std::string::npos; }));
  }
  // Total loss and efficiency stand in the evaluation that was made again once both losses were known.
  std::set<std::string> quantities;
  for (auto const& evaluation : result.evaluations) {
    for (auto const& one : evaluation.results) quantities.insert(one.quantity);
  }
  CHECK(quantities.contains("efficiency_percent"));
  CHECK(quantities.contains("total_loss_w"));
}

TEST_CASE(
    "every energisation follows a durable intent, and no verdict is shown before its readings and results are kept",
    "[sequence][journal]") {
  Rig rig;
  bool evaluation_last = true, readings_before = true;
  rig.progress.on_evaluated = [&](Evaluation const& evaluation) {
    auto const types = rig.event_types();
    evaluation_last = evaluation_last && types.back() == "evaluation";
    readings_before = readings_before && has(types, "readings");
    CHECK(parse_event(rig.store.events.back().bytes).data.find(evaluation.test) != std::string::npos);
  };
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::pass);
  CHECK(evaluation_last);
  CHECK(readings_before);
  auto const types = rig.event_types();
  auto const intents = std::count(types.begin(), types.end(), "energise intended");
  CHECK(intents == rig.block.energisations);
  CHECK(intents >= 10);
}

TEST_CASE("tests on the same leads follow each other without a new warning and without a new START", "[sequence]") {
  Rig rig;
  auto const plan = rig.plan();
  auto const result = rig.run(plan);
  REQUIRE(result.outcome == Outcome::pass);
  auto const step =
      std::find_if(plan.steps.begin(), plan.steps.end(), [](auto const& s) { return s.test == "no_load"; });
  REQUIRE(step != plan.steps.end());
  CHECK(step->keeps_area);
  CHECK(std::next(step)->test == "induced");
  auto const starts = std::count(rig.person.acts.begin(), rig.person.acts.end(), "start " + step->connection.name);
  CHECK(starts == 1);
}

TEST_CASE("a unit whose ratio is wrong is rejected and nothing is energised with power", "[sequence]") {
  Rig rig;
  rig.unit.ratio_error_percent["X1-X2"] = 1.9;  // one turn of 53 on the low side
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::fail);
  CHECK(result.disposition == Disposition::hold);
  CHECK(result.reason.find("X1-X2") != std::string::npos);
  CHECK(rig.source.settings.empty());
  CHECK(has(result.repeat, "no_load"));
  CHECK(result.earth_proven);
}

TEST_CASE("one tap step off on every pair is asked about once, and never measured again until it passes",
          "[sequence]") {
  Rig rig;
  rig.unit.tap_offset = 1;
  SECTION("the person says that the position is as recorded: a FAIL") {
    auto const result = rig.run(rig.plan());
    CHECK(asked(rig, "tap.right") == 1);
    CHECK(result.outcome == Outcome::fail);
    CHECK(result.disposition == Disposition::hold);
  }
  SECTION("put right, but it is not: measured once more, asked no more, and not a PASS") {
    rig.person.answers["tap.right"] = "was wrong, put right";
    auto const result = rig.run(rig.plan());
    CHECK(asked(rig, "tap.right") == 1);
    CHECK(result.outcome != Outcome::pass);
    CHECK(result.disposition != Disposition::release);
    auto const record = read_attempt(rig.store, "attempt1");
    REQUIRE(record);
    auto const ratios =
        std::count_if(record->steps.begin(), record->steps.end(), [](auto const& s) { return s.test == "ratio"; });
    CHECK(ratios == 2);
    CHECK(record->questions.size() >= 2);
  }
  SECTION("put right: the second reading counts, the first stays in the record") {
    rig.person.answers["tap.right"] = "was wrong, put right";
    rig.person.on_question = [&](std::string const& id) {
      if (id == "tap.right") rig.unit.tap_offset = 0;
    };
    auto const result = rig.run(rig.plan());
    INFO(result.reason);
    CHECK(result.outcome == Outcome::pass);
    auto const record = read_attempt(rig.store, "attempt1");
    REQUIRE(record);
    int readings = 0;
    for (auto const& step : record->steps)
      readings += step.test == "ratio" ? static_cast<int>(step.readings.size()) : 0;
    CHECK(readings == 2);
  }
}

TEST_CASE("a hand check that failed blocks release", "[sequence]") {
  Rig rig;
  rig.person.answers["hand_check.leak test"] = "failed";
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::fail);
  CHECK(result.disposition == Disposition::hold);
  CHECK(result.reason.find("leak test") != std::string::npos);
}

TEST_CASE("a unit that stood on hold is not energised without a reason that somebody signed", "[sequence]") {
  Rig rig;
  AttemptOptions options;
  options.unit_is_held = true;
  SECTION("without") {
    auto const result = rig.run(rig.plan(), options);
    CHECK(result.outcome == Outcome::aborted);
    CHECK(rig.block.energisations == 0);
  }
  SECTION("with one, which is kept") {
    options.repeat_reason = "bushing H1 changed, signed by quality";
    auto const result = rig.run(rig.plan(), options);
    CHECK(result.outcome == Outcome::pass);
    auto const record = read_attempt(rig.store, "attempt1");
    REQUIRE(record);
    CHECK(record->started.repeat_reason == options.repeat_reason);
  }
}

TEST_CASE("the wrong unit on the bench is noticed before anything is energised", "[sequence]") {
  Rig rig;
  rig.person.answers["unit.identity"] = "no";
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::aborted);
  CHECK(rig.block.energisations == 0);
  CHECK(result.reason.find("DEMO-1P-0050") != std::string::npos);
}

TEST_CASE("a unit that is not at rest is measured later, not judged", "[sequence]") {
  Rig rig;
  rig.person.answers["unit.rest"] = "no";
  auto const result = rig.run(rig.plan());
  CHECK(result.outcome == Outcome::invalid);
  CHECK(result.disposition == Disposition::repeat);
  CHECK(rig.block.energisations == 0);
}

TEST_CASE("a gate that was not opened since the last unit is said and kept", "[sequence]") {
  Rig rig;
  AttemptOptions options;
  // The guard counts one opening by the first connection; a defeated switch would have counted none.
  options.gate_openings_before = 1;
  auto const result = rig.run(rig.plan(), options);
  CHECK(result.outcome == Outcome::pass);
  CHECK(has(rig.progress.acts, "The gate was not opened since the last unit: is its switch bypassed?"));
}

TEST_CASE("a bypass key is timed and kept, and what was measured with it is neither passed nor released",
          "[sequence]") {
  Rig rig;
  SECTION("in for a while in the middle of a run") {
    rig.at(60.0, [&] { rig.block.bypass_key = true; });
    rig.at(72.5, [&] { rig.block.bypass_key = false; });
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::invalid);
    CHECK(result.disposition == Disposition::repeat);
    CHECK(result.reason.find("a bypass key was in for 12.5 s") == 0);
    auto const record = read_attempt(rig.store, result.attempt);
    REQUIRE(record);
    CHECK(record->ended->outcome == Outcome::invalid);
    CHECK(record->judgement->disposition == Disposition::repeat);
  }
  SECTION("in from before it: said at once") {
    rig.block.bypass_key = true;
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::invalid);
    CHECK(result.disposition == Disposition::repeat);
  }
  SECTION("a unit that is rejected beside it stays on hold") {
    rig.unit.ratio_error_percent["X1-X2"] = 1.9;
    rig.block.bypass_key = true;
    auto const result = rig.run(rig.plan());
    CHECK(result.outcome == Outcome::invalid);
    CHECK(result.disposition == Disposition::hold);
    CHECK(result.reason.find("X1-X2") != std::string::npos);
  }
}

TEST_CASE("the same run gives the same bytes", "[sequence][journal]") {
  Rig first, second;
  first.run(first.plan());
  second.run(second.plan());
  REQUIRE(first.store.events.size() == second.store.events.size());
  for (std::size_t i = 0; i < first.store.events.size(); ++i) {
    CHECK(first.store.events[i].bytes == second.store.events[i].bytes);
  }
}
