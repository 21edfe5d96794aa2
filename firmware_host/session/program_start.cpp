// SPDX-License-Identifier: MIT
#include "firmware_host/session/program_start.hpp"

#include <fmt/format.h>

#include "firmware_host/store/journal_store.hpp"
#include "firmware_host/version.hpp"
#include "tests_seq/sequence/sequencer.hpp"

namespace benchward {

Task<std::string> record_program_start(Journal& journal, Bench const& bench) {
  ProgramStarted started;
  started.version = program_version().version;
  started.commit = program_version().commit;
  started.bench = bench.name;
  started.bench_hash = bench.hash;
  started.simulated = bench.simulated;
  auto const kept = co_await journal.record_event(started, Durability::durable);
  if (!kept) throw StoreError("journal.write", kept.error().text());
  auto const closed = co_await close_open_attempts(journal);
  if (!closed) throw StoreError("journal.write", closed.error().text());
  if (closed.value() == 0) co_return std::string();
  co_return fmt::format("{} attempt(s) that an earlier program left open closed as ABORTED", closed.value());
}

}  // namespace benchward
