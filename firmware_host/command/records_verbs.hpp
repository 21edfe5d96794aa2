// SPDX-License-Identifier: MIT
#pragma once

/// The verbs of `records` that need more than a few lines, a file a subject.

#include <vector>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/store/journal_store.hpp"

namespace benchward {

/// The rows asked for by ids or by what they are; an unknown id is a DocumentError.
std::vector<CatalogueRow> chosen_rows(DirectJournalStore const& store, RecordsOptions const& options);

ExitCode records_verify(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_verify_extract(RecordsOptions const& options);
ExitCode records_head(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_recompute(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_affected(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_export(DirectJournalStore const& store, RecordsOptions const& options);
/// Where the chosen serial stands: stages passed, tests that a rework opened again, hold.
ExitCode records_standing(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_lot(DirectJournalStore const& store, RecordsOptions const& options);
ExitCode records_report(DirectJournalStore const& store, RecordsOptions const& options);

}  // namespace benchward
