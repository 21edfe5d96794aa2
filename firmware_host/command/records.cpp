// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/store/backup.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {
namespace {

struct Verb {
  char const* name;
  ExitCode (*run)(DirectJournalStore const&, RecordsOptions const&);
};

ExitCode records_list(DirectJournalStore const& store, RecordsOptions const& options) {
  JsonWriter json;
  json.begin_object().key("records").begin_list();
  for (auto const& row : chosen_rows(store, options)) {
    if (options.json) {
      json.raw(row_json(row));
    } else {
      say_out(row_line(row));
    }
  }
  json.end_list().end_object();
  if (options.json) say_out(json.text());
  return ExitCode::done;
}

ExitCode records_show(DirectJournalStore const& store, RecordsOptions const& options) {
  bool first = true;
  for (auto const& row : chosen_rows(store, options)) {
    auto const record = record_of(store, row);
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

constexpr std::array verbs{
    Verb{"list", records_list},         Verb{"show", records_show},           Verb{"verify", records_verify},
    Verb{"head", records_head},         Verb{"recompute", records_recompute}, Verb{"affected", records_affected},
    Verb{"lot", records_lot},           Verb{"report", records_report},       Verb{"export", records_export},
    Verb{"standing", records_standing},
};

ExitCode back_up_or_restore(RecordsOptions const& options) {
  bool const out = options.verb == "backup";
  auto const& other = out ? options.to : options.from;
  if (other.empty()) {
    say_err(
        fmt::format("records {}: {} is missing", options.verb, out ? "--to (a new folder)" : "--from (the backup)"));
    return ExitCode::bad_input;
  }
  auto const entries = out ? back_up(options.records, other) : restore(other, options.records);
  say_out(out ? fmt::format("backed up and verified: {} entries in {}", entries, other)
              : fmt::format("restored and verified: {} entries in {}", entries, options.records));
  return ExitCode::done;
}

}  // namespace

std::string records_verbs() {
  return "list, show, verify, head (the newest signed head, a line for paper), recompute, affected (who rests on an "
         "instrument), lot (averages of an order or design), standing (stages, open tests and hold of a --serial), "
         "report (PDF or HTML), export (JSON or CSV), backup, "
         "restore";
}

std::vector<CatalogueRow> chosen_rows(DirectJournalStore const& store, RecordsOptions const& options) {
  CatalogueQuery query{
      "",           options.serial, options.order, options.design, options.outcome, options.instrument, options.since,
      options.until};
  for (auto const* day : {&options.since, &options.until}) {
    if (!day->empty() && !documents::is_date(*day)) {
      throw DocumentError("records.date", day == &options.since ? "--since" : "--until", "",
                          "expected a day as YYYY-MM-DD, got \"" + *day + "\"");
    }
  }
  if (options.ids.empty()) return store.catalogue().find(query);
  std::vector<CatalogueRow> rows;
  for (auto const& id : options.ids) {
    query.attempt = id;
    auto found = store.catalogue().find(query);
    if (found.empty()) {
      throw DocumentError("records.unknown", id, "", "there is no record of this id; `records list` names them");
    }
    rows.push_back(std::move(found.front()));
  }
  return rows;
}

ExitCode run_records(RecordsOptions const& options) {
  bool const copies = options.verb == "backup" || options.verb == "restore";
  auto const verb = std::find_if(verbs.begin(), verbs.end(), [&](Verb const& one) { return options.verb == one.name; });
  if (verb == verbs.end() && !copies) {
    say_err(fmt::format("records: unknown verb \"{}\"; known: {}", options.verb, records_verbs()));
    return ExitCode::bad_input;
  }
  try {
    if (options.verb == "verify" && !options.extract.empty()) return records_verify_extract(options);
    if (options.records.empty()) {
      say_err("records: --records is missing: the folder of the journal");
      return ExitCode::bad_input;
    }
    if (copies) return back_up_or_restore(options);
    DirectJournalStore const store(options.records, JournalDatabase::Access::read_only);
    return verb->run(store, options);
  } catch (StoreError const& error) {
    say_err(error.what());
    if (error.id() == "journal.broken") return ExitCode::rejected;
    return error.id() == "journal.write" ? ExitCode::record_not_kept : ExitCode::bad_input;
  }
}

}  // namespace benchward
