// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <sys/stat.h>

#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/report/record_report.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/store/durable_file.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

bool is_folder(std::string const& path) {
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0 && S_ISDIR(status.st_mode);
}

report::Wishes wishes_of(RecordsOptions const& options) {
  auto wishes = options.wishes.empty() ? report::Wishes() : report::read_wishes(options.wishes);
  if (!options.paper.empty()) {
    if (options.paper != "A4" && options.paper != "letter") {
      throw DocumentError("report.paper", "--paper", "", "expected A4 or letter, got \"" + options.paper + "\"");
    }
    wishes.paper = options.paper;
  }
  if (!options.issued.empty() && !documents::is_date(options.issued)) {
    throw DocumentError("report.issued", "--issued", "",
                        "expected a day as YYYY-MM-DD, got \"" + options.issued + "\"");
  }
  return wishes;
}

void write_report(report::Report const& made, RecordsOptions const& options) {
  auto const text = options.html ? report::html_of(made) : report::pdf_of(made);
  // A folder, or nothing: the number is the file's name; it holds letters, digits and strokes only.
  auto file = options.to.empty() ? std::string(".") : options.to;
  if (is_folder(file)) file += "/" + made.number + (options.html ? ".html" : ".pdf");
  write_file_durably(file, text, 0640);
  say_out("written: " + file);
}

}  // namespace

ExitCode records_report(DirectJournalStore const& store, RecordsOptions const& options) {
  auto const wishes = wishes_of(options);
  report::Issue const issue{options.issued, options.authorised_by, options.replaces, options.reason};
  auto const rows = chosen_rows(store, options);
  if (options.lot) {
    std::vector<AttemptRecord> records;
    for (auto const& row : rows) {
      if (auto record = record_of(store, row)) records.push_back(*std::move(record));
    }
    auto const of = !options.order.empty() ? "order " + options.order : "design " + options.design;
    auto const head = store.database().last_head();
    write_report(report::lot_report(lot_of(records), of, records, wishes, issue, head ? head_line(*head) : ""),
                 options);
    return ExitCode::done;
  }
  if (rows.empty()) {
    say_err("records report: no such record; `records list` names them");
    return ExitCode::bad_input;
  }
  if (rows.size() > 1 && !options.to.empty() && !is_folder(options.to)) {
    say_err(fmt::format("records report: {} reports need a folder: --to {} is none", rows.size(), options.to));
    return ExitCode::bad_input;
  }
  for (auto const& row : rows) {
    auto const record = record_of(store, row);
    if (!record) continue;
    write_report(report::report_of_record(store, row, *record, wishes, issue), options);
  }
  return ExitCode::done;
}

}  // namespace benchward
