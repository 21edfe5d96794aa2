// SPDX-License-Identifier: MIT
#pragma once

/// Work done at a unit, kept in the journal so that the next run knows which tests it opens again.

#include "tests_seq/journal/journal.hpp"

namespace benchward {

/// Durable when it answers. Throws DocumentError (`plan.rework`) for a word that the retest table does not have,
/// StoreError where the journal cannot be written.
Task<void> keep_rework(Journal& journal, ReworkDone rework);

}  // namespace benchward
