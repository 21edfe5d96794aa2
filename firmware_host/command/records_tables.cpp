// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <algorithm>

#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/record/lot.hpp"
#include "firmware_host/record/record_csv.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/store/durable_file.hpp"

namespace benchward {

ExitCode records_export(DirectJournalStore const& store, RecordsOptions const& options) {
  std::string text = options.csv ? csv_header() : "";
  for (auto const& row : chosen_rows(store, options)) {
    auto const record = record_of(store, row);
    if (!record) continue;
    text += options.csv ? record_csv(*record) : record_json(*record) + "\n";
  }
  if (options.to.empty()) {
    if (!text.empty()) text.pop_back();
    if (options.csv && !text.empty()) text.pop_back();
    say_out(text);
  } else {
    write_file_durably(options.to, text, 0640);
    say_out("written: " + options.to);
  }
  return ExitCode::done;
}

ExitCode records_lot(DirectJournalStore const& store, RecordsOptions const& options) {
  if (options.order.empty() && options.design.empty()) {
    say_err("records lot: --order or --design is needed: which units belong together");
    return ExitCode::bad_input;
  }
  std::vector<AttemptRecord> records;
  for (auto const& row : chosen_rows(store, options)) {
    auto record = record_of(store, row);
    if (record) records.push_back(*std::move(record));
  }
  auto const lot = lot_of(records);
  say_out(options.json ? lot_json(lot) : lot_page(lot));
  bool const above =
      std::any_of(lot.averages.begin(), lot.averages.end(), [](LotAverage const& one) { return one.within == false; });
  bool const apart = lot.impedance_spread_percent && lot.impedance_spread_limit &&
                     *lot.impedance_spread_percent > *lot.impedance_spread_limit;
  return above || apart || lot.represented_ok == false ? ExitCode::rejected : ExitCode::done;
}

}  // namespace benchward
