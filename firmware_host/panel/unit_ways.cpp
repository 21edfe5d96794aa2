// SPDX-License-Identifier: MIT
#include "firmware_host/panel/unit_ways.hpp"

#include <algorithm>
#include <limits>
#include <optional>
#include <utility>

#include "firmware_host/session/unit_past.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/plan/retest.hpp"
#include "tests_seq/sequence/check_object.hpp"
#include "tests_seq/sequence/stage_standing.hpp"

namespace benchward::panel {
namespace {

constexpr std::uint64_t behind_all = std::numeric_limits<std::uint64_t>::max();
constexpr std::int64_t two_days_us = std::int64_t{48} * 3600 * 1'000'000;

bool has(std::vector<std::string> const& list, std::string const& word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

UnitWay way(std::string kind, std::string words, UnitOrder order) {
  UnitWay made;
  made.kind = std::move(kind);
  made.stage = order.plan.stage;
  made.words = std::move(words);
  made.order = std::move(order);
  return made;
}

/// The newest attempt at the unit, where it can be taken up again.
std::optional<UnitWay> interrupted(EventStore const& store, Bench const& bench, Unit const& unit, LimitSet const& set,
                                   Stamp now) {
  auto const newest = newest_attempt_of(store, unit.serial);
  if (newest.empty()) return std::nullopt;
  auto const record = read_attempt(store, newest);
  if (!record || !record->ended) return std::nullopt;
  try {
    auto order = make_order(unit, set, record->started.stage, bench);
    // A hold is asked about where the run is begun: here it is only shown.
    auto past = past_of_unit(&store, bench, order, {newest, "", ""}, now, true);
    if (!past.resumption || past.resumption->standing() == 0) return std::nullopt;  // nothing would be saved
    auto made = way("resume", past.resumption->interrupted, std::move(order));
    made.key = "resume " + newest;
    made.past = std::move(past);
    return made;
  } catch (DocumentError const&) {
    return std::nullopt;  // another order, bench, limit set or rework since: it is begun anew
  }
}

/// Each rework that opened tests of a stage that was passed.
void add_reworks(UnitWays& ways, EventStore const& store, StageStanding const& stage, UnitOrder const& whole) {
  if (!stage.passed || stage.open.empty()) return;
  std::vector<std::string> seen;
  auto const reworks = reworks_since(store, whole.unit.serial, 0);
  for (auto done = reworks.rbegin(); done != reworks.rend(); ++done) {
    if (has(seen, *done)) continue;
    seen.push_back(*done);
    auto order = whole;
    try {
      order.plan = plan_after(std::move(order.plan), *done);
    } catch (DocumentError const&) {
      continue;  // a word that a later table no longer has: the whole stage is repeated
    }
    bool const opens = std::any_of(order.plan.steps.begin(), order.plan.steps.end(),
                                   [&](PlanStep const& step) { return has(stage.open, step.test); });
    if (!opens) continue;
    auto made = way("after", *done, std::move(order));
    made.key = "after " + stage.stage + " " + *done;
    made.past.after = *done;
    ways.all.push_back(std::move(made));
  }
}

}  // namespace

UnitWay const* UnitWays::find(std::string const& key) const {
  auto const found = std::find_if(all.begin(), all.end(), [&](UnitWay const& known) { return known.key == key; });
  return found == all.end() ? nullptr : &*found;
}

Task<Answer<Done>> LaterEntries::append(StoredEvent, Durability) {
  Fault refused;
  refused.id = "journal.write";
  refused.what = "a view of the journal is only read";
  co_return refused;
}

void LaterEntries::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  if (from_seq_ == behind_all) return;
  whole_.scan(std::max(from_seq, from_seq_), each);
}

UnitWays ways_of(EventStore const& of_unit, EventStore const& of_bench, Bench const& bench, Unit const& unit,
                 LimitSet const& set, Stamp now) {
  UnitWays ways;
  ways.why_not_for_record = bench_standing(of_bench, bench.hash, now, unit.phases).why_not_for_record;
  auto const stages = stages_of(unit);
  auto const standing = stages_standing(of_unit, unit.serial, stages, bench.simulated);
  std::size_t next = stages.size();
  for (std::size_t i = 0; i < stages.size(); ++i) {
    auto const whole = make_order(unit, set, stages[i], bench);
    auto made = way("whole", "", whole);
    made.key = "whole " + stages[i];
    made.waits = why_stage_waits(of_unit, unit.serial, stages, stages[i], bench.simulated);
    if (next == stages.size() && !standing[i].stands()) {
      next = i;
      ways.proposed = ways.all.size();
    }
    ways.all.push_back(std::move(made));
    add_reworks(ways, of_unit, standing[i], whole);
  }
  if (auto again = interrupted(of_unit, bench, unit, set, now)) {
    ways.proposed = ways.all.size();
    ways.all.push_back(*std::move(again));
  }
  for (auto& known : ways.all) judge_release(known.past, of_unit, of_bench, bench, known.order, now);
  return ways;
}

UnitWays ways_in(std::string const& records, std::optional<std::uint64_t> bench_checked_at, Bench const& bench,
                 Unit const& unit, LimitSet const& set, Stamp now) {
  DirectJournalStore const store(records, JournalDatabase::Access::read_only);
  CatalogueQuery of_serial;
  of_serial.serial = unit.serial;
  auto const attempts = store.catalogue().find(of_serial);
  CatalogueQuery lately;
  lately.since = utc_text(now.utc_us - two_days_us).substr(0, 10);
  auto const recent = store.catalogue().find(lately);
  LaterEntries const of_unit(store, attempts.empty() ? behind_all : attempts.front().first_seq);
  auto const from = recent.empty() ? behind_all : recent.front().first_seq;
  LaterEntries const of_bench(store, std::min(from, bench_checked_at.value_or(behind_all)));
  return ways_of(of_unit, of_bench, bench, unit, set, now);
}

}  // namespace benchward::panel
