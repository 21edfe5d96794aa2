// SPDX-License-Identifier: MIT
#include "firmware_host/session/rework.hpp"

#include <utility>

#include "firmware_host/store/journal_store.hpp"
#include "tests_seq/journal/events.hpp"
#include "tests_seq/sequence/stage_standing.hpp"

namespace benchward {

Task<void> keep_rework(Journal& journal, ReworkDone rework) {
  check_rework(rework.done);
  auto const kept = co_await journal.record(body_of(rework), Durability::durable);
  if (!kept) throw StoreError("journal.write", kept.error().text());
}

}  // namespace benchward
