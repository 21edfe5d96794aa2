// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <utility>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/rework.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "limits/documents/document_error.hpp"
#include "tests_seq/journal/journal.hpp"
#include "tests_seq/plan/retest.hpp"
#include "tests_seq/sequence/stage_standing.hpp"

namespace benchward {

ExitCode run_rework(ReworkOptions const& options) {
  if (options.list) {
    for (auto const& rule : retest_table()) {
      std::string tests;
      for (auto const& test : rule.repeat) tests += (tests.empty() ? "" : ", ") + std::string(test);
      say_out(fmt::format("{}: {} ({}{}{})", rule.done, tests.empty() ? "everything" : tests, rule.level,
                          rule.before.empty() ? "" : "; ", rule.before));
    }
    return ExitCode::done;
  }
  if (options.records.empty() || options.serial.empty() || options.done.empty() || options.person.empty())
    throw DocumentError("plan.rework", "rework", "", "needs --records, --serial, --done and --operator (or --list)");
  check_rework(options.done);
  try {
    DirectJournalStore store(options.records);
    boost::asio::io_context io(1);
    WallClock clock(io, 1.0);
    Journal journal(store, clock, boot_id());
    ReworkDone rework;
    rework.serial = options.serial;
    rework.done = options.done;
    rework.person = options.person;
    rework.words = options.words;
    std::exception_ptr failure;
    auto write = keep_rework(journal, rework);
    boost::asio::co_spawn(io, std::move(write), [&failure](std::exception_ptr error) { failure = std::move(error); });
    io.run();
    if (failure) std::rethrow_exception(failure);
  } catch (StoreError const& error) {
    say_err(error.what());
    return ExitCode::record_not_kept;
  }
  say_out(fmt::format("Kept: {} at unit {}. What it repeats: benchward plan --after \"{}\" ...", options.done,
                      options.serial, options.done));
  return ExitCode::done;
}

}  // namespace benchward
