// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/say.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/sequence/stage_standing.hpp"

namespace benchward {
namespace {

/// Stages that the unit was tested in, in the order of a unit's life.
std::vector<std::string> stages_seen(DirectJournalStore const& store, RecordsOptions const& options) {
  std::vector<std::string> seen;
  auto const rows = chosen_rows(store, options);
  for (char const* stage : {"before_closing", "before_shipping", "routine"}) {
    bool const tested = std::any_of(rows.begin(), rows.end(), [&](CatalogueRow const& row) {
      auto const record = record_of(store, row);
      return record && record->started.stage == stage;
    });
    if (tested) seen.emplace_back(stage);
  }
  return seen;
}

std::string in_words(StageStanding const& stage) {
  if (!stage.passed)
    return stage.why.empty() ? "not passed" : fmt::format("not passed: {}", fmt::join(stage.why, "; "));
  if (stage.open.empty()) return "passed";
  return fmt::format("PASS withdrawn, open {}: {}", fmt::join(stage.why, "; "), fmt::join(stage.open, ", "));
}

}  // namespace

ExitCode records_standing(DirectJournalStore const& store, RecordsOptions const& options) {
  if (options.serial.empty()) throw DocumentError("records.unknown", "--serial", "", "is missing: whose standing");
  auto const stages = stages_seen(store, options);
  if (stages.empty())
    throw DocumentError("records.unknown", "--serial", "",
                        fmt::format("unit {} was never tested here", options.serial));
  auto const hold = hold_of(store, options.serial, true);
  JsonWriter json;
  json.begin_object().field("serial", options.serial).field("hold", hold.why).field("broke_down", hold.broke_down);
  json.key("stages").begin_list();
  for (auto const& stage : stages_standing(store, options.serial, stages, true)) {
    json.begin_object().field("stage", stage.stage).field("passed", stage.passed).field("stands", stage.stands());
    json.field("open", stage.open).field("why", stage.why).end_object();
    if (!options.json) say_out(fmt::format("{}: {}", stage.stage, in_words(stage)));
  }
  json.end_list().end_object();
  if (options.json) {
    say_out(json.text());
  } else if (!hold.why.empty()) {
    say_out(fmt::format("on hold by {}{}", hold.why,
                        hold.broke_down ? ". A repeat that passes does not end it; quality does: benchward sign" : ""));
  }
  return ExitCode::done;
}

}  // namespace benchward
