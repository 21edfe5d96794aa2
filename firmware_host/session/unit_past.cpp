// SPDX-License-Identifier: MIT
#include "firmware_host/session/unit_past.hpp"

#include <fmt/format.h>

#include <utility>

#include "limits/documents/document_error.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/plan/retest.hpp"
#include "tests_seq/sequence/check_object.hpp"
#include "tests_seq/sequence/stage_standing.hpp"

namespace benchward {
namespace {

Resumption resumption_for(EventStore const& store, Bench const& bench, UnitOrder& order, std::string const& attempt,
                          Stamp now, bool only_shown) {
  auto record = read_attempt(store, attempt);
  if (!record) throw DocumentError("plan.resume", "--resume", "", "the journal has no attempt " + attempt);
  if (!record->ended && only_shown) record->ended = ended_by_a_crash(*record);
  if (!record->started.after.empty()) order.plan = plan_after(std::move(order.plan), record->started.after);
  ResumeCircumstances circumstances;
  circumstances.unit_hash = sha256_hex(order.unit_document);
  circumstances.bench_hash = bench.hash;
  circumstances.limit_set_hash = order.sheet.limit_set_hash;
  circumstances.newest_of_serial = newest_attempt_of(store, order.unit.serial);
  circumstances.now = now;
  auto const reworks = reworks_since(store, order.unit.serial, record->last_seq);
  if (!reworks.empty()) circumstances.reworked = reworks.back();
  return resumption_of(*record, order.plan, circumstances);
}

}  // namespace

RunPast past_of_unit(EventStore const* store, Bench const& bench, UnitOrder& order, PastWishes const& wishes, Stamp now,
                     bool only_shown) {
  if (store != nullptr) {
    auto const waits =
        why_stage_waits(*store, order.unit.serial, stages_of(order.unit), order.plan.stage, bench.simulated);
    if (!waits.empty()) throw DocumentError("plan.stage-waits", "--stage", "", waits);
  }
  RunPast past;
  past.repeat_reason = wishes.reason;
  if (store != nullptr) {
    auto const hold = hold_of(*store, order.unit.serial, bench.simulated);
    past.unit_is_held = !hold.why.empty();
    if (past.unit_is_held && wishes.reason.empty() && wishes.resume.empty() && !only_shown) {
      throw DocumentError(
          "unit.on-hold", "--reason", "",
          fmt::format("unit {} is on hold by {}. Nobody energises it again without --reason, signed by "
                      "quality{}",
                      order.unit.serial, hold.why,
                      hold.broke_down ? "; a repeat that passes does not end the hold: benchward sign" : ""));
    }
  }
  if (!wishes.resume.empty() && !wishes.after.empty()) {
    throw DocumentError("plan.resume", "--resume", "",
                        "a resumed attempt keeps its own --after; after a new rework begin with --after alone");
  }
  if (store != nullptr && !wishes.resume.empty()) {
    past.resumption = resumption_for(*store, bench, order, wishes.resume, now, only_shown);
    past.unit_is_held = past.unit_is_held || past.resumption->needs_reason;
    if (past.unit_is_held && wishes.reason.empty() && !only_shown) {
      throw DocumentError("plan.resume", "--resume", "",
                          "the unit is on hold: nobody energises it again without --reason, signed by quality");
    }
    past.after = read_attempt(*store, wishes.resume)->started.after;
  }
  if (!wishes.after.empty()) {
    order.plan = plan_after(std::move(order.plan), wishes.after);
    past.after = wishes.after;
  }
  return past;
}

void judge_release(RunPast& past, EventStore const& of_unit, EventStore const& of_bench, Bench const& bench,
                   UnitOrder const& order, Stamp now) {
  MayRelease release;
  auto const stands = bench_standing(of_bench, bench.hash, now, order.unit.phases);
  if (stands.beyond()) release.withheld = stands.why_not_for_record;
  auto const hold = hold_of(of_unit, order.unit.serial, bench.simulated);
  if (hold.broke_down) release.broke_down = hold.why;
  if (!past.after.empty()) {
    std::vector<std::string> tests;
    for (auto const& step : order.plan.steps) tests.push_back(step.test);
    auto open = still_open_after(of_unit, order.unit.serial, order.plan.stage, tests, bench.simulated);
    release.still_open = std::move(open.tests);
    release.why_still_open = std::move(open.why);
  }
  past.release = std::move(release);
}

}  // namespace benchward
