// SPDX-License-Identifier: MIT
#pragma once

/// The journal's first event of every program that can run units.

#include <string>

#include "drivers/bench/bench.hpp"
#include "drivers/task.hpp"
#include "tests_seq/journal/journal.hpp"

namespace benchward {

/// Records durably that this program started on this bench, then closes as ABORTED what an earlier program left open.
/// Gives what to say to the person of that; empty where nothing was open. Throws StoreError if it cannot be written.
Task<std::string> record_program_start(Journal& journal, Bench const& bench);

}  // namespace benchward
