// SPDX-License-Identifier: MIT
#include "firmware_host/report/record_report.hpp"

#include <utility>

#include "firmware_host/record/verification.hpp"

namespace benchward::report {

Report report_of_record(DirectJournalStore const& store, CatalogueRow const& row, AttemptRecord const& record,
                        Wishes const& wishes, Issue const& issue) {
  std::vector<AttemptRecord> attempts;
  CatalogueQuery same_unit;
  same_unit.serial = row.serial;
  for (auto const& other : store.catalogue().find(same_unit)) {
    if (auto attempt = record_of(store, other)) attempts.push_back(*std::move(attempt));
  }
  auto const extract = journal_extract(store, store.database(), row.attempt, row.first_seq, row.last_seq);
  auto const heads = store.database().heads(row.last_seq);
  return unit_report(record, attempts, wishes, issue, extract.value_or(""),
                     heads.empty() ? "" : head_line(heads.front()));
}

}  // namespace benchward::report
