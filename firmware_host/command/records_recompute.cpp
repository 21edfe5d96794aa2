// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/record/affected.hpp"
#include "firmware_host/record/recompute.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "firmware_host/say.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/rules/limit_set.hpp"

namespace benchward {
namespace {

/// What would have been under another limit set: outcomes and verdicts that differ, a line each.
ExitCode with_other_limits(DirectJournalStore const& store, RecordsOptions const& options) {
  std::size_t records = 0, outcomes = 0, verdicts = 0;
  for (auto const& row : chosen_rows(store, options)) {
    auto const record = record_of(store, row);
    if (!record || !record->ended) continue;
    ++records;
    auto inputs = inputs_of(*record);
    auto const set = chosen_limit_set(options.limits, inputs.unit);
    inputs.sheet = work_out(set, inputs.unit);
    auto const then = evaluations_of(*record);
    auto const now = evaluations_again(*record, inputs);
    for (std::size_t i = 0; i < then.size(); ++i) {
      for (auto const& old : then[i].results) {
        for (auto const& evaluation : now) {
          auto const same =
              std::find_if(evaluation.results.begin(), evaluation.results.end(), [&old](Result const& result) {
                return result.test == old.test && result.quantity == old.quantity && result.at == old.at;
              });
          if (same == evaluation.results.end()) continue;
          if (same->verdict != old.verdict) {
            ++verdicts;
            say_out(fmt::format("{} {}: {} {}: then {} ({}), would be {} ({})", row.attempt, row.serial, old.test,
                                quantity_in_words(old), verdict_in_words(old.verdict),
                                old.limit ? limit_in_words(*old.limit) : "no limit", verdict_in_words(same->verdict),
                                same->limit ? limit_in_words(*same->limit) : "no limit"));
          }
          break;
        }
      }
    }
    bool const incomplete = !record->ended->repeat.empty();
    auto const judged = judge_attempt(now, inputs.sheet, incomplete);
    bool const measured = record->ended->outcome == Outcome::pass || record->ended->outcome == Outcome::fail;
    if (measured && judged.outcome != record->ended->outcome) {
      ++outcomes;
      say_out(fmt::format("{} {}: then {}, would be {}: {}", row.attempt, row.serial, word_of(record->ended->outcome),
                          word_of(judged.outcome), judged.reason));
    }
  }
  say_out(fmt::format("with other limits: {} records, {} verdicts and {} outcomes would be others. Nothing was changed",
                      records, verdicts, outcomes));
  return ExitCode::done;
}

std::string margin_words(std::optional<double> margin, Result const& result) {
  if (!margin) return "-";
  auto text = number_in_words(*margin, result.uncertainty ? result.uncertainty->standard : 0.0);
  return result.unit.empty() || result.unit == "1" ? text : text + " " + result.unit;
}

}  // namespace

ExitCode records_recompute(DirectJournalStore const& store, RecordsOptions const& options) {
  if (!options.limits.empty()) return with_other_limits(store, options);
  auto worst = ExitCode::done;
  std::size_t records = 0, identical = 0, equal = 0, different = 0;
  for (auto const& row : chosen_rows(store, options)) {
    auto const record = record_of(store, row);
    if (!record) continue;
    ++records;
    auto const comparison = recompute_record(*record);
    identical += comparison.identical;
    equal += comparison.equal;
    different += comparison.differences.size();
    for (auto const& words : comparison.differences) say_out(row.attempt + ": DIFFERENT: " + words);
    if (!comparison.differences.empty()) worst = ExitCode::rejected;
  }
  say_out(
      fmt::format("recomputed from raw readings: {} records, {} results identical, {} equal within 1e-12, {} different",
                  records, identical, equal, different));
  return worst;
}

ExitCode records_affected(DirectJournalStore const& store, RecordsOptions const& options) {
  if (options.instrument.empty() || options.since.empty()) {
    say_err(
        "records affected: --instrument (name, serial number or certificate) and --since (YYYY-MM-DD, the day of its "
        "last good check) are needed");
    return ExitCode::bad_input;
  }
  std::optional<FoundError> error;
  if (!options.found.empty()) error = found_error_of(options.found);
  auto asked = options;
  asked.instrument.clear();  // a serial number stands only in the record itself
  JsonWriter json;
  json.begin_object().field("instrument", options.instrument).field("since", options.since);
  json.key("records").begin_list();
  std::size_t units = 0, results = 0, outside = 0;
  for (auto const& row : chosen_rows(store, asked)) {
    auto const record = record_of(store, row);
    if (!record) continue;
    auto const affected = affected_by(*record, options.instrument, error);
    if (!affected) continue;
    ++units;
    json.begin_object().field("record_id", row.attempt).field("serial", row.serial).field("outcome", row.outcome);
    json.field("disposition", row.disposition).field("simulated", row.simulated);
    json.field("instrument_serial", affected->instrument_serial).key("results").begin_list();
    if (!options.json) {
      say_out(fmt::format("{} {} {}: rests on {} ({})", row.attempt, row.serial, row.outcome, affected->instrument_name,
                          affected->instrument_serial));
    }
    for (auto const& one : affected->results) {
      ++results;
      bool const fails =
          one.now && one.margin_now && *one.margin_now < 0.0 && one.margin_then && *one.margin_then >= 0.0;
      outside += fails ? 1u : 0u;
      json.begin_object().field("test", one.then.test).field("quantity", one.then.quantity).field("at", one.then.at);
      json.field("value", one.then.value).field("unit", one.then.unit).field("margin", one.margin_then);
      if (one.now) json.field("value_corrected", one.now->value).field("margin_corrected", one.margin_now);
      json.field("outside_when_corrected", fails).end_object();
      if (options.json) continue;
      if (one.now) {
        say_out(fmt::format("    {} {}: margin {} becomes {}{}", one.then.test, quantity_in_words(one.then),
                            margin_words(one.margin_then, one.then), margin_words(one.margin_now, *one.now),
                            fails ? "  OUTSIDE" : ""));
      } else if (one.margin_then) {
        say_out(fmt::format("    {} {}: margin {}", one.then.test, quantity_in_words(one.then),
                            margin_words(one.margin_then, one.then)));
      }
    }
    json.end_list().end_object();
  }
  json.end_list().field("outside_when_corrected", outside).end_object();
  if (options.json) {
    say_out(json.text());
  } else {
    say_out(fmt::format("{} records, {} results rest on {} since {}{}", units, results, options.instrument,
                        options.since,
                        error ? fmt::format("; with the error taken out {} would be outside their limit", outside)
                              : std::string("; with --found QUANTITY=PERCENT their margins are computed again")));
  }
  return ExitCode::done;
}

}  // namespace benchward
