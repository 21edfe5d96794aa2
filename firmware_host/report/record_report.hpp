// SPDX-License-Identifier: MIT
#pragma once

/// The report of one kept attempt: everything that it needs is read from the records folder.

#include "firmware_host/report/unit_report.hpp"
#include "firmware_host/store/journal_store.hpp"

namespace benchward::report {

/// `record`: of `row`. The other attempts at the unit, the journal's extract and the signed head are looked up.
Report report_of_record(DirectJournalStore const& store, CatalogueRow const& row, AttemptRecord const& record,
                        Wishes const& wishes, Issue const& issue);

}  // namespace benchward::report
