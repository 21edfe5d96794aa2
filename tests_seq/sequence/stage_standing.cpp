// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/stage_standing.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include <fmt/format.h>

#include "limits/documents/json_writer.hpp"
#include "tests_seq/journal/record_view.hpp"
#include "tests_seq/plan/retest.hpp"

namespace benchward {

namespace {

/// What happened to one unit, in the order of the journal.
struct Happened {
  std::string rework;  ///< else an attempt that ended
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
  store.scan(0, [&](StoredEvent const& stored) {
    bool const starts = stored.bytes.find("\"type\":\"attempt started\"") != std::string::npos;
    bool const ends = stored.bytes.find("\"type\":\"attempt ended\"") != std::string::npos;
    bool const reworked = stored.bytes.find("\"type\":\"rework\"") != std::string::npos;
    if (!starts && !ends && !reworked) return true;
    if (!ends && !of_serial(stored.bytes, serial)) return true;
    auto const event = parse_event(stored.bytes);
    if (event.type == event_type::rework) {
      auto const rework = rework_of(event);
      if (rework.serial != serial) return true;
      Happened happened;
      happened.rework = rework.done;
      history.push_back(std::move(happened));
    } else if (event.type == event_type::attempt_started) {
      auto record = read_attempt(store, event.attempt, stored.seq, stored.seq);
      if (!record || record->started.serial != serial) return true;
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
      history.push_back(std::move(happened));
    }
    return true;
  });
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

void take_attempt(Stage& stage, AttemptStarted const& started, AttemptEnded const& ended) {
  bool const good = ended.outcome == Outcome::pass && ended.disposition == Disposition::release;
  bool const whole = started.after.empty();
  if (whole) stage.tests = started.tests;
  if (good && whole) {
    stage.standing.passed = true;
    stage.standing.open.clear();
    stage.standing.why.clear();
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
      if (!happened.attempt) {
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
