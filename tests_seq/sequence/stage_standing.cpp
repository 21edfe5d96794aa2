// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/stage_standing.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include <fmt/format.h>

#include "limits/documents/json_writer.hpp"
#include "tests_seq/journal/record_view.hpp"
#include "tests_seq/plan/retest.hpp"

namespace benchward {

namespace {

/// What happened to one unit, in the order of the journal.
struct Happened {
  std::string rework;   ///< else a signature of quality, or an attempt that ended
  bool lifted = false;  ///< quality signed
  bool broke_down = false;
  std::optional<AttemptStarted> attempt;
  std::optional<AttemptEnded> ended;
};

bool of_serial(std::string const& bytes, std::string const& serial) {
  // A cheap look before parsing; what is looked for stands in the bytes as the writer escapes it.
  auto const object = JsonWriter().begin_object().field("serial", serial).end_object().text();
  return bytes.find(object.substr(1, object.size() - 2)) != std::string::npos;
}

std::vector<Happened> history_of(EventStore const& store, std::string const& serial) {
  std::vector<Happened> history;
  std::map<std::string, AttemptStarted> begun;
  std::set<std::string> broken_down;
  std::vector<StoredEvent> told;  // kept first: a store that is being scanned answers no second question
  store.scan(0, [&](StoredEvent const& stored) {
    bool const starts = stored.bytes.find("\"type\":\"attempt started\"") != std::string::npos;
    bool const ends = stored.bytes.find("\"type\":\"attempt ended\"") != std::string::npos;
    bool const reworked = stored.bytes.find("\"type\":\"rework\"") != std::string::npos;
    bool const lifted = stored.bytes.find("\"type\":\"hold lifted\"") != std::string::npos;
    bool const breakdown = stored.bytes.find("\"kind\":\"breakdown\"") != std::string::npos;
    if (!starts && !ends && !reworked && !lifted && !breakdown) return true;
    if (ends || breakdown || of_serial(stored.bytes, serial)) told.push_back(stored);
    return true;
  });
  for (auto const& stored : told) {
    auto const event = parse_event(stored.bytes);
    if (event.type == event_type::readings) {
      broken_down.insert(event.attempt);
      continue;
    }
    if (event.type == event_type::hold_lifted) {
      if (hold_lifted_of(event).serial != serial) continue;
      Happened happened;
      happened.lifted = true;
      history.push_back(std::move(happened));
      continue;
    }
    if (event.type == event_type::rework) {
      auto const rework = rework_of(event);
      if (rework.serial != serial) continue;
      Happened happened;
      happened.rework = rework.done;
      history.push_back(std::move(happened));
    } else if (event.type == event_type::attempt_started) {
      auto record = read_attempt(store, event.attempt, stored.seq, stored.seq);
      if (!record || record->started.serial != serial) continue;
      if (!record->started.after.empty()) {
        Happened happened;
        happened.rework = record->started.after;
        history.push_back(std::move(happened));
      }
      begun[event.attempt] = std::move(record->started);
    } else if (event.type == event_type::attempt_ended && begun.contains(event.attempt)) {
      auto record = read_attempt(store, event.attempt, stored.seq, stored.seq);
      Happened happened;
      happened.attempt = begun.at(event.attempt);
      happened.ended = std::move(record->ended);
      happened.broke_down = broken_down.contains(event.attempt);
      history.push_back(std::move(happened));
    }
  }
  return history;
}

RetestRule const* rule_of(std::string const& done) {
  auto const& table = retest_table();
  auto const rule =
      std::find_if(table.begin(), table.end(), [&](RetestRule const& entry) { return entry.done == done; });
  return rule == table.end() ? nullptr : &*rule;
}

void open_once(StageStanding& stage, std::string const& test) {
  if (test == "identity" || test == "temperatures") return;
  if (std::find(stage.open.begin(), stage.open.end(), test) == stage.open.end()) stage.open.push_back(test);
}

struct Stage {
  StageStanding standing;
  std::vector<std::string> tests;  ///< of its plan, as the attempts had it
  bool passed_on_hold = false;     ///< whole, though on hold for an earlier breakdown: stands once quality signs
};

void take_rework(Stage& stage, std::string const& done) {
  if (!stage.standing.passed) return;
  auto const* rule = rule_of(done);
  auto const before = stage.standing.open.size();
  for (auto const& test : stage.tests) {
    // A word that a later table no longer has opens everything: the safe side.
    bool const repeats = rule == nullptr || rule->repeat.empty() ||
                         std::find(rule->repeat.begin(), rule->repeat.end(), test) != rule->repeat.end();
    if (repeats) open_once(stage.standing, test);
  }
  if (stage.standing.open.size() > before) stage.standing.why.push_back("after \"" + done + "\"");
}

void pass_whole(StageStanding& standing) {
  standing.passed = true;
  standing.open.clear();
  standing.why.clear();
}

void take_attempt(Stage& stage, AttemptStarted const& started, AttemptEnded const& ended) {
  bool const whole = started.after.empty();
  // A repeat after one of several reworks passes its own tests though it releases nothing.
  bool const others_open = !whole && ended.disposition == Disposition::repeat && !ended.repeat.empty();
  bool const good = ended.outcome == Outcome::pass && (ended.disposition == Disposition::release || others_open);
  stage.passed_on_hold = whole && ended.outcome == Outcome::pass && ended.disposition == Disposition::hold;
  if (whole) stage.tests = started.tests;
  if (good && whole) {
    pass_whole(stage.standing);
  } else if (good) {
    std::erase_if(stage.standing.open, [&](std::string const& test) {
      return std::find(started.tests.begin(), started.tests.end(), test) != started.tests.end();
    });
    if (stage.standing.open.empty()) stage.standing.why.clear();
  } else if (ended.outcome == Outcome::fail || ended.disposition == Disposition::hold) {
    for (auto const& test : started.tests) open_once(stage.standing, test);
    stage.standing.why.push_back(fmt::format("attempt {}: {}", started.attempt, ended.reason));
  }
}

}  // namespace

std::vector<StageStanding> stages_standing(EventStore const& store, std::string const& serial,
                                           std::vector<std::string> const& stages, bool simulated_counts) {
  std::vector<Stage> all(stages.size());
  for (std::size_t i = 0; i < stages.size(); ++i) all[i].standing.stage = stages[i];
  for (auto const& happened : history_of(store, serial)) {
    for (auto& stage : all) {
      if (happened.lifted) {
        if (stage.passed_on_hold) pass_whole(stage.standing);
      } else if (!happened.attempt) {
        take_rework(stage, happened.rework);
      } else if (happened.ended && happened.attempt->stage == stage.standing.stage &&
                 (simulated_counts || !happened.attempt->simulated)) {
        take_attempt(stage, *happened.attempt, *happened.ended);
      }
    }
  }
  std::vector<StageStanding> standing;
  standing.reserve(all.size());
  for (auto& stage : all) standing.push_back(std::move(stage.standing));
  return standing;
}

UnitHold hold_of(EventStore const& store, std::string const& serial, bool simulated_counts) {
  UnitHold hold;
  for (auto const& happened : history_of(store, serial)) {
    if (happened.lifted) hold = UnitHold();
    if (!happened.ended || (happened.attempt->simulated && !simulated_counts)) continue;
    if (happened.ended->disposition == Disposition::hold) {
      // The first breakdown stays the cause, whatever followed.
      if (hold.broke_down) continue;
      hold.why = fmt::format("attempt {}: {}", happened.attempt->attempt, happened.ended->reason);
      hold.broke_down = happened.broke_down;
    } else if (happened.ended->disposition == Disposition::release && !hold.broke_down) {
      hold = UnitHold();
    }
  }
  return hold;
}

StillOpen still_open_after(EventStore const& store, std::string const& serial, std::string const& stage,
                           std::vector<std::string> const& attempt_tests, bool simulated_counts) {
  StillOpen open;
  auto const standing = stages_standing(store, serial, {stage}, simulated_counts).front();
  if (!standing.passed) {
    open.why = fmt::format("the journal shows no whole pass of stage {} that the other tests could stand from", stage);
    open.tests = {"the whole stage"};
    return open;
  }
  for (auto const& test : standing.open) {
    if (std::find(attempt_tests.begin(), attempt_tests.end(), test) == attempt_tests.end()) open.tests.push_back(test);
  }
  if (!open.tests.empty())
    open.why = fmt::format("open {}: {}", fmt::join(standing.why, "; "), fmt::join(open.tests, ", "));
  return open;
}

std::string why_stage_waits(EventStore const& store, std::string const& serial, std::vector<std::string> const& stages,
                            std::string const& stage, bool simulated_counts) {
  if (stages.empty() || stage == stages.front()) return "";
  for (auto const& before : stages_standing(store, serial, stages, simulated_counts)) {
    if (before.stage == stage) return "";
    if (!before.passed) {
      return fmt::format("stage {} waits for {}, which the journal does not show as passed by unit {}: test --stage {}",
                         stage, before.stage, serial, before.stage);
    }
    if (!before.open.empty()) {
      return fmt::format(
          "stage {} waits: in stage {} of unit {} these are open again {}: {}. test --stage {} --after "
          "the rework, or the whole stage",
          stage, before.stage, serial, fmt::join(before.why, "; "), fmt::join(before.open, ", "), before.stage);
    }
  }
  return "";
}

std::vector<std::string> reworks_since(EventStore const& store, std::string const& serial, std::uint64_t seq) {
  std::vector<std::string> reworks;
  store.scan(seq + 1, [&](StoredEvent const& stored) {
    if (stored.bytes.find("\"type\":\"rework\"") == std::string::npos) return true;
    auto const event = parse_event(stored.bytes);
    if (event.type != event_type::rework) return true;
    auto const rework = rework_of(event);
    if (rework.serial == serial) reworks.push_back(rework.done);
    return true;
  });
  return reworks;
}

void check_rework(std::string const& done) {
  if (rule_of(done) != nullptr) return;
  plan_after(Plan(), done);  // throws, naming the words of the table
}

}  // namespace benchward
