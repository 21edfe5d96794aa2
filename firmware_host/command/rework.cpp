// SPDX-License-Identifier: MIT
#include <fmt/core.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <functional>

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

namespace {

Task<void> keep_signature(Journal& journal, HoldLifted lifted) {
  auto const kept = co_await journal.record(body_of(lifted), Durability::durable);
  if (!kept) throw StoreError("journal.write", kept.error().text());
}

/// One entry of a journal that no run has open.
ExitCode keep_in(std::string const& records, std::function<Task<void>(Journal&)> const& keep) {
  try {
    DirectJournalStore store(records);
    boost::asio::io_context io(1);
    WallClock clock(io, 1.0);
    Journal journal(store, clock, boot_id());
    std::exception_ptr failure;
    boost::asio::co_spawn(io, keep(journal), [&failure](std::exception_ptr const& error) { failure = error; });
    io.run();
    if (failure) std::rethrow_exception(failure);
  } catch (StoreError const& error) {
    say_err(error.what());
    return ExitCode::record_not_kept;
  }
  return ExitCode::done;
}

}  // namespace

ExitCode run_sign(ReworkOptions const& options) {
  if (options.records.empty() || options.serial.empty() || options.words.empty() || options.person.empty())
    throw DocumentError("unit.on-hold", "sign", "", "needs --records, --serial, --operator and --words: who, and why");
  {
    DirectJournalStore const store(options.records, JournalDatabase::Access::read_only);
    if (hold_of(store, options.serial, true).why.empty())
      throw DocumentError("unit.on-hold", "--serial", "", fmt::format("unit {} is not on hold", options.serial));
  }
  HoldLifted lifted;
  lifted.serial = options.serial;
  lifted.person = options.person;
  lifted.words = options.words;
  auto const code = keep_in(options.records, [&](Journal& journal) { return keep_signature(journal, lifted); });
  if (code != ExitCode::done) return code;
  say_out(fmt::format("Kept: unit {} is off hold, signed by {}: {}", options.serial, options.person, options.words));
  return ExitCode::done;
}

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
  ReworkDone rework;
  rework.serial = options.serial;
  rework.done = options.done;
  rework.person = options.person;
  rework.words = options.words;
  auto const code = keep_in(options.records, [&](Journal& journal) { return keep_rework(journal, rework); });
  if (code != ExitCode::done) return code;
  say_out(fmt::format("Kept: {} at unit {}. What it repeats: benchward plan --after \"{}\" ...", options.done,
                      options.serial, options.done));
  return ExitCode::done;
}

}  // namespace benchward
