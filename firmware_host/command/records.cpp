// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <algorithm>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/record/recompute.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/journal/chain.hpp"

namespace benchward {
namespace {

/// The ids asked for, or all; an unknown one is named.
std::vector<std::string> chosen_ids(EventStore const& store, std::vector<std::string> const& asked) {
  auto all = attempts_in(store);
  if (asked.empty()) return all;
  for (auto const& id : asked) {
    if (std::find(all.begin(), all.end(), id) == all.end()) {
      throw DocumentError("records.unknown", id, "", "there is no record of this id; `records list` names them");
    }
  }
  return asked;
}

ExitCode list(EventStore const& store, RecordsOptions const& options) {
  JsonWriter json;
  json.begin_object().key("records").begin_list();
  for (auto const& id : chosen_ids(store, options.ids)) {
    auto const record = read_attempt(store, id);
    if (!record) continue;
    if (options.json) {
      json.raw(record_line_json(*record));
    } else {
      say_out(record_line(*record));
    }
  }
  json.end_list().end_object();
  if (options.json) say_out(json.text());
  return ExitCode::done;
}

ExitCode show(EventStore const& store, RecordsOptions const& options) {
  bool first = true;
  for (auto const& id : chosen_ids(store, options.ids)) {
    auto const record = read_attempt(store, id);
    if (!record) continue;
    if (options.json) {
      say_out(record_json(*record));
    } else {
      say_out((first ? "" : "\n") + record_page(*record));
    }
    first = false;
  }
  return ExitCode::done;
}

ExitCode verify(EventStore const& store, RecordsOptions const& options) {
  auto const report = verify_chain(store);
  if (options.json) {
    JsonWriter json;
    json.begin_object()
        .field("unbroken", report.unbroken)
        .field("entries", report.entries)
        .field("first_bad", report.first_bad);
    json.field("what", report.what)
        .field("head_seq", report.head.seq)
        .field("head_hash", report.head.hash)
        .end_object();
    say_out(json.text());
  } else if (report.unbroken) {
    say_out(fmt::format(
        "journal verified: {} entries, the chain is whole{}", report.entries,
        report.entries == 0 ? std::string() : ", head " + std::to_string(report.head.seq) + " " + report.head.hash));
  } else {
    say_out(fmt::format("journal BROKEN at entry {}: {} ({} entries read)", report.first_bad.value_or(0), report.what,
                        report.entries));
  }
  return report.unbroken ? ExitCode::done : ExitCode::rejected;
}

ExitCode recompute(EventStore const& store, RecordsOptions const& options) {
  auto worst = ExitCode::done;
  std::size_t identical = 0, equal = 0, different = 0;
  for (auto const& id : chosen_ids(store, options.ids)) {
    auto const record = read_attempt(store, id);
    if (!record) continue;
    auto const comparison = recompute_record(*record);
    identical += comparison.identical;
    equal += comparison.equal;
    different += comparison.differences.size();
    for (auto const& words : comparison.differences) say_out(id + ": DIFFERENT: " + words);
    if (!comparison.differences.empty()) worst = ExitCode::rejected;
  }
  say_out(fmt::format("recomputed from raw readings: {} results identical, {} equal within 1e-12, {} different",
                      identical, equal, different));
  return worst;
}

}  // namespace

ExitCode run_records(RecordsOptions const& options) {
  constexpr char const* verbs[] = {"list", "show", "verify", "recompute", "export"};
  if (std::find(std::begin(verbs), std::end(verbs), options.verb) == std::end(verbs)) {
    say_err(fmt::format("records: unknown verb \"{}\"; known: list, show, verify, recompute, export", options.verb));
    return ExitCode::bad_input;
  }
  try {
    DirectJournalStore const store(options.records, JournalDatabase::Access::read_only);
    if (options.verb == "list") return list(store, options);
    if (options.verb == "verify") return verify(store, options);
    if (options.verb == "recompute") return recompute(store, options);
    auto asked = options;
    if (options.verb == "export") asked.json = true;
    return show(store, asked);
  } catch (StoreError const& error) {
    say_err(error.what());
    return ExitCode::bad_input;
  }
}

}  // namespace benchward
