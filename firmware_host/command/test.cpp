// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <sodium.h>
#include <unistd.h>

#include <algorithm>
#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <fstream>
#include <memory>
#include <optional>
#include <utility>

#include "firmware_host/bench_lock.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/command/limit_choice.hpp"
#include "firmware_host/operator/simulated_operator.hpp"
#include "firmware_host/operator/terminal_operator.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/check_object_document.hpp"
#include "firmware_host/session/program_start.hpp"
#include "firmware_host/session/session.hpp"
#include "firmware_host/session/signals.hpp"
#include "firmware_host/session/unit_past.hpp"
#include "firmware_host/session/unit_run.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "firmware_host/terminal/terminal_view.hpp"
#include "tests_seq/sequence/guard_watch.hpp"
#include "tests_seq/sequence/outcome.hpp"

namespace benchward {
namespace {

namespace asio = boost::asio;

std::string joined(std::vector<std::string> const& words) {
  std::string text;
  for (auto const& word : words) text += (text.empty() ? "" : ", ") + word;
  return text.empty() ? "nothing" : text;
}

void write_truth(std::string const& file, std::string const& truth) {
  std::ofstream out(file);
  out << truth << '\n';
  out.close();
  if (!out) throw SessionError(ExitCode::bad_input, fmt::format("--truth {}: cannot be written", file));
}

std::unique_ptr<EventStore> open_store(TestOptions const& options, asio::io_context& io) {
  if (options.records.empty()) return std::make_unique<MemoryEventStore>();
  if (options.virtual_run) return std::make_unique<DirectJournalStore>(options.records);
  return std::make_unique<WriterJournalStore>(io, options.records);
}

IdSource id_source(TestOptions const& options) {
  if (options.virtual_run) return IdSource(options.seed, 0x6265'6e63'6877'6172u);
  if (sodium_init() < 0) throw SessionError(ExitCode::defect, "the cryptographic library does not start");
  std::uint64_t random[2] = {};
  randombytes_buf(random, sizeof random);
  return IdSource(random[0], random[1]);
}

/// Everything that is said when it is over: safe or not, what was finished, what must be repeated, the table.
void say_end(TerminalView& view, AttemptResult const& result, UnitOrder const& order, TestOptions const& options) {
  view.say("");
  view.say(result.earth_proven ? "EARTHED: proven closed, sources open."
                               : "NOT PROVEN EARTHED: treat everything as live; test dead and earth by hand.");
  view.say("Finished: " + joined(result.finished));
  if (!result.repeat.empty()) view.say("To be repeated: " + joined(result.repeat));
  bool const may_resume = result.outcome == Outcome::aborted || result.outcome == Outcome::invalid;
  if (may_resume && !result.finished.empty() && !options.records.empty()) {
    view.say(
        fmt::format("What stands and what is repeated, on this bench: benchward plan --resume {0} ...; then "
                    "test --resume {0} ...",
                    result.attempt));
  }
  view.say("");
  view.say(fmt::format("Unit {} ({}), limit set {} {}", order.unit.serial, order.unit.design, order.sheet.limit_set,
                       order.sheet.limit_set_version));
  view.say(result_table(result.evaluations));
  for (auto const& evaluation : result.evaluations) {
    for (auto const& words : evaluation.warnings) view.say("warning: " + evaluation.test + ": " + words);
  }
  view.say("");
  view.say(fmt::format("Outcome {}, {}{}", journal_words::of(result.outcome),
                       disposition_in_words(result.disposition, order.plan.stage),
                       result.reason.empty() ? "" : ": " + result.reason));
  if (result.simulated) view.say("SIMULATED: nothing here can release a unit; no ticket.");
  view.say(options.records.empty() ? "Record: not kept (no --records)"
                                   : fmt::format("Record: {} in {}", result.attempt, options.records));
}

struct Everything {
  TestOptions const& options;
  Bench const& bench;
  UnitOrder& order;
  BenchSession& session;
  Journal& journal;
  Operator& person;
  TerminalView& view;
  StopRequest& stop;
  GuardWatch& watch;
  std::string attempt;
  CheckObject const* object;  ///< nullptr: a unit is tested
  AttemptResult result;
  ObjectChecked checked;
  std::exception_ptr failure;
  bool over = false;
};

/// What the object says of the bench, kept whatever it says.
Task<void> keep_object_check(Everything& all) {
  all.checked = judge_by_object(*all.object, all.result.evaluations);
  all.checked.attempt = all.attempt;
  all.checked.bench = all.bench.name;
  all.checked.bench_hash = all.bench.hash;
  all.checked.simulated = all.result.simulated;
  if (all.result.outcome == Outcome::aborted || all.result.outcome == Outcome::invalid) {
    all.checked.passed = false;
    all.checked.beyond.push_back("the run did not come to its end: " + all.result.reason);
  }
  auto const kept = co_await all.journal.record_event(all.checked, Durability::durable);
  if (!kept) throw StoreError("journal.write", kept.error().text());
}

Task<void> whole_run(Everything& all) {
  if (auto const words = co_await record_program_start(all.journal, all.bench); !words.empty()) all.view.say(words);
  PastWishes const wishes{all.options.resume, all.options.after, all.options.reason};
  if (all.options.for_record) {
    auto const stands =
        bench_standing(all.journal.store(), all.bench.hash, all.session.clock().now(), all.order.unit.phases);
    if (!stands.why_not_for_record.empty())
      throw SessionError(ExitCode::bad_input,
                         "not for record: " + stands.why_not_for_record + ". benchward check-object first");
  }
  bool const known = !all.options.records.empty();
  if (!known && all.order.plan.stage != stages_of(all.order.unit).front())
    all.view.say("Without --records nobody knows whether the stage before was passed: this run releases nothing.");
  // The object is known and judges the bench: what the bench read of it before says nothing against it.
  auto past = past_of_unit(known && !all.object ? &all.journal.store() : nullptr, all.bench, all.order, wishes,
                           all.session.clock().now());
  judge_release(past, all.journal.store(), all.journal.store(), all.bench, all.order, all.session.clock().now());
  if (past.resumption) {
    all.view.say(fmt::format("Resumes attempt {} ({}): {} of {} steps stand.", past.resumption->attempt,
                             past.resumption->interrupted, past.resumption->standing(), all.order.plan.steps.size()));
    for (std::size_t i = 0; i < all.order.plan.steps.size(); ++i)
      all.view.say(fmt::format("  {:2} {}: {}", i + 1, all.order.plan.steps[i].test, past.resumption->steps[i].why));
  }
  all.result = co_await run_order(all.session, all.bench, all.order, all.person, all.journal, all.view, all.stop,
                                  all.attempt, std::move(past));
  if (all.object) co_await keep_object_check(all);
  all.watch.stop();
  co_await all.watch.drain();
}

}  // namespace

ExitCode run_test(TestOptions const& options) {
  try {
    if (!options.virtual_run && !options.faults.empty()) {
      throw SessionError(ExitCode::bad_input, "--fault belongs to --virtual; on wires the faults are benchward-sim's");
    }
    auto bench = read_bench(options.bench);
    std::optional<ReadyLine> ready;
    if (!options.links.empty()) {
      ready = read_ready_line(options.links);
      bench = with_links(std::move(bench), *ready);
    }
    if (options.yes && !options.virtual_run && !(ready && !ready->hands.empty())) {
      throw SessionError(ExitCode::bad_input,
                         "--yes needs a simulated bench: --virtual, or --links with the ready line of benchward-sim");
    }
    std::optional<CheckObject> object;
    if (!options.object.empty()) object = read_check_object(options.object);
    auto order = object ? make_order(object->unit, chosen_limit_set(options.limits, object->unit), options.stage, bench)
                        : make_order(options.unit, options.limits, options.stage, bench);
    if (object) order.plan = plan_for_object(std::move(order.plan), *object);
    if (options.for_record && options.records.empty())
      throw SessionError(ExitCode::bad_input, "--for-record needs --records: the journal that has the check object");
    if (!options.resume.empty() && options.records.empty()) {
      throw SessionError(ExitCode::bad_input, "--resume needs --records: the journal that has the attempt");
    }

    std::optional<BenchLock> lock;
    if (!options.virtual_run) {
      auto const* io_link = bench.link(bench.io.link);
      auto taken = BenchLock::take(io_link != nullptr ? io_link->address : bench.name,
                                   fmt::format("test of unit {}", order.unit.serial));
      if (!taken.lock) {
        throw SessionError(ExitCode::bad_input,
                           fmt::format("bench {} is in use by {}. One program a bench", bench.name, taken.owner));
      }
      lock.emplace(std::move(*taken.lock));
    }

    VirtualOptions virtual_options;
    virtual_options.seed = options.seed;
    virtual_options.start = options.start;
    virtual_options.faults = options.faults;
    virtual_options.as_declared = object.has_value();
    auto const session = options.virtual_run ? session_virtual(bench, order.unit, virtual_options)
                                             : session_on_wires(bench, ready ? &*ready : nullptr);
    auto const store = open_store(options, session->io());
    Journal journal(*store, session->clock(), session->boot());
    TerminalView view(options.json ? TerminalView::Where::standard_error : TerminalView::Where::standard_output,
                      session->clock(), bench.simulated);
    if (bench.simulated) view.say("*** SIMULATED, NOT FOR RELEASE ***");
    view.say(
        fmt::format("Unit {} on bench {}: {} steps, {} changes of leads, about {:.0f} min. Not a safety function: the "
                    "hard-wired chain is.",
                    order.unit.serial, bench.name, order.plan.steps.size(), order.plan.connection_changes(),
                    order.plan.predicted().in(minutes)));
    for (auto const& words : session->remarks()) view.say(words);

    std::unique_ptr<Operator> person;
    if (options.yes) {
      auto const gate_may_open = [&guard = session->guard()] {
        return guard.status().state == GuardState::safe_earthed;
      };
      auto simulated = std::make_unique<SimulatedOperator>(*session->hands(), session->clock(), gate_may_open);
      for (auto const& answer : options.answers) {
        auto const equals = answer.find('=');
        if (equals == std::string::npos)
          throw SessionError(ExitCode::bad_input, "--answer: expected QUESTION=ANSWER, got \"" + answer + "\"");
        simulated->answers[answer.substr(0, equals)] = answer.substr(equals + 1);
      }
      person = std::move(simulated);
    } else {
      person = terminal_operator(session->io(),
                                 options.operator_name.empty() ? "person at the terminal" : options.operator_name,
                                 [&view](std::string const& words) { view.say(words); });
    }

    StopRequest stop;
    auto ids = id_source(options);
    // Ids of a virtual run come from its seed: a second run into the same journal takes the next one.
    auto const known = attempts_in(*store);
    std::string attempt = ids.next();
    while (std::find(known.begin(), known.end(), attempt) != known.end()) attempt = ids.next();
    GuardWatch watch(session->guard(), events_of(session->guard().core()), session->clock(), journal, view,
                     [attempt] { return attempt; });
    Everything all{
        options, bench, order,   *session, journal, *person, view, stop, watch, attempt, object ? &*object : nullptr,
        {},      {},    nullptr, false};
    SignalWatch const signals(session->io(), stop, [&view](std::string const& words) { view.say(words); });
    asio::co_spawn(session->io(), watch.run(), asio::detached);
    asio::co_spawn(session->io(), whole_run(all),
                   asio::bind_cancellation_slot(stop.slot(), [&all](std::exception_ptr failure) {
                     all.failure = std::move(failure);
                     all.over = true;
                   }));
    if (!session->run([&all] { return all.over; })) {
      throw SessionError(ExitCode::defect, "the run waits for something that never comes");
    }
    if (all.failure) std::rethrow_exception(all.failure);

    if (!options.truth.empty()) write_truth(options.truth, session->truth());
    say_end(view, all.result, order, options);
    for (auto const& moment : session->dangerous_moments())
      view.say("DANGEROUS MOMENT of the simulated bench at " + moment);
    if (!options.records.empty()) {
      JournalDatabase const kept(options.records, JournalDatabase::Access::read_only);
      if (auto const head = kept.last_head()) view.say("Head, to be kept outside that folder: " + head_line(*head));
    }
    auto code = exit_code_of(all.result.outcome);
    if (object) {
      for (auto const& words : all.checked.beyond) view.say("BEYOND: " + words);
      view.say(all.checked.passed
                   ? fmt::format("The bench reads object {} within its limits: for record until the end "
                                 "of the shift, a trip, or a change of the bench.",
                                 all.checked.object)
                   : "NOT FOR RECORD: the bench is beyond its limits. Find the cause, then check again.");
      code = all.checked.passed ? ExitCode::done : ExitCode::rejected;
    }
    if (all.result.journal_failed) code = worse(code, ExitCode::record_not_kept);
    if (all.result.defect) code = worse(code, ExitCode::defect);
    if (options.json) {
      if (auto const record = read_attempt(*store, all.result.attempt)) say_out(record_json(*record));
    }
    return code;
  } catch (SessionError const& error) {
    say_err(error.what());
    return error.code();
  } catch (StoreError const& error) {
    say_err(error.what());
    return ExitCode::record_not_kept;
  }
}

}  // namespace benchward
