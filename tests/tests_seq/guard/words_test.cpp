// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <algorithm>
#include <string>

#include "limits/documents/document_error.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/words.hpp"

using namespace benchward;

namespace {

long words_in(std::string_view text) { return 1 + std::count(text.begin(), text.end(), ' '); }

Bench small_bench() {
  Bench bench;
  bench.file = "bench.json";
  bench.sources = {{SourcePath::ac_source, "source", "K1", "K2"}, {SourcePath::resistance, "ohms", "K3", "K4"}};
  bench.envelope.source = volts(1000);
  bench.envelope.source_current = amperes(100);
  bench.io.inputs["voltage_absent"] = {};
  return bench;
}

StepEnergy step_of(Voltage set, double ratio) {
  StepEnergy step;
  step.test = "no_load";
  step.source = SourcePath::ac_source;
  step.set = set;
  step.ceiling = set * 1.1;
  step.highest_ratio = ratio;
  step.trip_current = amperes(10);
  step.longest = seconds(60);
  return step;
}

}  // namespace

TEST_CASE("what the operator is told is under ten words, and every condition has its own", "[guard][words]") {
  std::vector<std::string_view> seen;
  for (int number = 1; number < guard::condition_count; ++number) {
    auto const words = words_of_guard_condition(number);
    INFO("I" << number << ": " << words);
    CHECK_FALSE(words.empty());
    CHECK(words_in(words) < 10);
    CHECK(std::find(seen.begin(), seen.end(), words) == seen.end());
    seen.push_back(words);
  }
  for (int state = 0; state < guard_state_count; ++state)
    CHECK(words_in(words_of(static_cast<GuardState>(state))) < 10);
}

TEST_CASE("what is missing is listed in the order in which a person meets it, and nothing is left out",
          "[guard][words]") {
  auto const all = nearest_first((guard::Mask{1} << guard::condition_count) - 2);
  CHECK(all.size() == guard::condition_count - 1);
  auto const some = nearest_first(guard::bit(36) | guard::bit(2) | guard::bit(3) | guard::bit(9));
  REQUIRE(some.size() == 4);
  CHECK(some[0].number == 9);
  CHECK(some[1].number == 2);
  CHECK(some[2].number == 3);
  CHECK(some[3].number == 36);
}

// Worked numbers of the requirements: 29 CFR 1910.333(a)(1) puts the line at 50 V to ground; at any terminal of a
// 7,200/240 unit that is 1.67 V on X, at 14,400/240 0.83 V, at 34,500/480 0.70 V (derived there from the ratios).
TEST_CASE("LOW is judged at the highest terminal", "[guard][declaration]") {
  auto const bench = guard_declaration(small_bench(), 1);
  struct Row {
    double ratio;
    int low_mv;
  };
  for (auto const row : {Row{7200.0 / 240.0, 1666}, Row{14400.0 / 240.0, 833}, Row{34500.0 / 480.0, 695}}) {
    auto const limits = step_limits(step_of(volts(240), row.ratio), bench);
    REQUIRE(limits.ok());
    CHECK(limits.value().low_mv == row.low_mv);
    CHECK(limits.value().resolves_low);
  }
}

TEST_CASE("a channel whose noise hides LOW may not prove it", "[guard][declaration]") {
  auto document = small_bench();
  document.io.output_noise_v = 0.3;  // three times it is above 50 V / 71.9
  auto const limits = step_limits(step_of(volts(240), 34500.0 / 480.0), guard_declaration(document, 1));
  REQUIRE(limits.ok());
  CHECK_FALSE(limits.value().resolves_low);
}

// IEEE C57.12.91 excerpt as the requirements quote it: discharged below 1 % of the current, 10 mA and 5 % of the
// winding's rated exciting current. A 10 kVA, 7.2 kV unit with 0.5 %: 6.9 mA, of which 5 % is 0.35 mA.
TEST_CASE("direct current counts as gone below the smallest of its three limits", "[guard][declaration]") {
  auto const bench = guard_declaration(small_bench(), 1);
  StepEnergy step = step_of(volts(0), 1.0);
  step.source = SourcePath::resistance;
  step.stop = StopWay::direct_current;
  struct Row {
    double set_a, exciting_limit_ma;
    int limit_ua;
  };
  for (auto const row : {Row{0.2, 0.35, 350}, Row{0.2, 50, 2000}, Row{10, 50, 10'000}}) {
    step.set_direct = amperes(row.set_a);
    step.direct_limit = milliamperes(row.exciting_limit_ma);
    auto const limits = step_limits(step, bench);
    REQUIRE(limits.ok());
    CHECK(limits.value().direct_limit_ua == row.limit_ua);
  }
}

TEST_CASE("a bench cannot declare absent what the guard cannot do without", "[guard][declaration]") {
  for (int const number : {8, 10, 11, 12, 22, 23, 33}) {
    auto bench = small_bench();
    bench.absent.push_back({number, "not wired"});
    try {
      guard_declaration(bench, 1);
      FAIL("I" << number << " was accepted");
    } catch (DocumentError const& error) {
      CHECK(error.id() == "guard.condition-needed");
      CHECK(error.path() == "/absent");
    }
  }
  auto bench = small_bench();
  bench.absent.push_back({21, "hand-held tests are not done here"});
  CHECK((guard_declaration(bench, 1).absent & guard::bit(21)) != 0);
  bench.guard.warning = seconds(0);
  CHECK_THROWS_AS(guard_declaration(bench, 1), DocumentError);
}
