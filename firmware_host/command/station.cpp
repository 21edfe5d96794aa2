// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <sodium.h>
#include <sys/stat.h>
#include <unistd.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <exception>
#include <memory>
#include <optional>
#include <system_error>
#include <utility>

#include "firmware_host/bench_lock.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/operator/simulated_operator.hpp"
#include "firmware_host/panel/instrument_watch.hpp"
#include "firmware_host/panel/panel_api.hpp"
#include "firmware_host/panel/station_control.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/program_start.hpp"
#include "firmware_host/session/session.hpp"
#include "firmware_host/session/signals.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/sequence/guard_watch.hpp"

namespace benchward {
namespace {

namespace asio = boost::asio;
using namespace panel;

// What the eye takes for at once, and what tells a panel that the station still lives (it gives up after 750 ms).
constexpr auto shown_at_most_every = std::chrono::milliseconds(50);
constexpr auto shown_at_least_every = std::chrono::milliseconds(300);
constexpr auto instruments_every = std::chrono::seconds(60);

void make_private_folder(std::string const& path) {
  if (::mkdir(path.c_str(), 0700) != 0 && errno != EEXIST) {
    throw SessionError(ExitCode::bad_input, fmt::format("{}: cannot be made: {}", path, std::strerror(errno)));
  }
}

std::string accounts_file(std::string const& records) {
  if (::mkdir(records.c_str(), 0750) != 0 && errno != EEXIST) {
    throw SessionError(ExitCode::record_not_kept,
                       fmt::format("records folder {}: cannot be made: {}", records, std::strerror(errno)));
  }
  make_private_folder(records + "/keys");
  return records + "/keys/accounts.json";
}

/// One line of standard input, without its end.
std::string line_of_input() {
  std::string line;
  char c = 0;
  while (line.size() < 2000 && ::read(STDIN_FILENO, &c, 1) == 1 && c != '\n') line += c;
  while (!line.empty() && line.back() == '\r') line.pop_back();
  return line;
}

ExitCode add_account(StationCommand const& options) {
  auto const role = role_named(options.role);
  if (!role) {
    throw SessionError(ExitCode::bad_input,
                       fmt::format("--role: \"{}\" is none of watcher, operator, quality, technician", options.role));
  }
  Accounts accounts(accounts_file(options.records));
  accounts.set(options.add_account, *role, line_of_input());
  say_err(fmt::format("account {} ({}) kept in {}/keys/accounts.json; a running station takes it at its next start",
                      options.add_account, to_word(*role), options.records));
  return ExitCode::done;
}

struct Everything {
  BenchSession& session;
  Bench const& bench;
  Journal& journal;
  StationControl& control;
  InstrumentWatch& instruments;
  PanelApi& api;
  GuardWatch& watch;
  StopRequest& stop;
  StationCommand const& options;
  std::exception_ptr failure;
  bool over = false;
};

std::string ready_line(std::uint16_t port) {
  return JsonWriter()
      .begin_object()
      .field("ready", true)
      .field("url", fmt::format("http://127.0.0.1:{}/", port))
      .field("events", events_path)
      .end_object()
      .text();
}

Task<void> ask_instruments(Everything& all) {
  auto const busy = [&all] { return all.control.busy() || all.stop.asked(); };
  asio::steady_timer pause(all.session.io());
  while (!all.stop.asked()) {
    bool const asked = co_await all.instruments.ask_all(busy);
    auto const rest = asked ? instruments_every : std::chrono::seconds(1);  // broken off by a run: soon after it
    for (auto i = rest / std::chrono::seconds(1); i > 0 && !all.stop.asked(); --i) {
      pause.expires_after(std::chrono::seconds(1));
      co_await pause.async_wait(asio::use_awaitable);
      if (all.instruments.is_looked_at() && !busy()) co_await all.instruments.read_values();
    }
  }
}

Task<void> serve(Everything& all) {
  if (auto const words = co_await record_program_start(all.journal, all.bench); !words.empty()) say_err(words);
  all.control.records().read(all.journal.store());

  HttpServer::Handler handler = [&all](Request request) { return all.api.handle(std::move(request)); };
  HttpServer::Gate gate = [&all](Request const& request) { return all.api.gate(request); };
  HttpServer server(all.session.io(), all.options.port, events_path, ServerLimits(), std::move(handler),
                    std::move(gate));
  all.api.set_port(server.port());
  server.broadcast(all.control.snapshot());
  say_out(ready_line(server.port()));
  asio::co_spawn(all.session.io(), ask_instruments(all), asio::detached);

  asio::steady_timer tick(all.session.io());
  auto last = std::chrono::steady_clock::now();
  while (!(all.stop.asked() && !all.control.busy())) {
    tick.expires_after(shown_at_most_every);
    co_await tick.async_wait(asio::use_awaitable);
    auto const now = std::chrono::steady_clock::now();
    if (all.control.take_changed() || now - last >= shown_at_least_every) {
      last = now;
      server.broadcast(all.control.snapshot());
    }
  }
  say_err("making the bench safe ...");
  co_await all.session.guard().make_safe(all.stop.reason());
  bool const earthed = all.session.guard().status().earth_proven;
  say_err(earthed ? "EARTHED: proven closed, sources open."
                  : "NOT PROVEN EARTHED: treat everything as live; test dead and earth by hand.");
  all.watch.stop();
  co_await all.watch.drain();
}

IdSource random_ids() {
  if (sodium_init() < 0) throw SessionError(ExitCode::defect, "the cryptographic library does not start");
  std::uint64_t random[2] = {};
  randombytes_buf(random, sizeof random);
  return IdSource(random[0], random[1]);
}

ExitCode run(StationCommand const& options) {
  if (options.bench.empty())
    throw SessionError(ExitCode::bad_input, "--bench is needed (only --add-account is without)");
  auto bench = read_bench(options.bench);
  std::optional<ReadyLine> ready;
  if (!options.links.empty()) {
    ready = read_ready_line(options.links);
    bench = with_links(std::move(bench), *ready);
  }
  auto const* io_link = bench.link(bench.io.link);
  auto taken = BenchLock::take(io_link != nullptr ? io_link->address : bench.name, "station");
  if (!taken.lock) {
    throw SessionError(ExitCode::bad_input,
                       fmt::format("bench {} is in use by {}. One program a bench", bench.name, taken.owner));
  }
  Accounts accounts(accounts_file(options.records));
  if (accounts.empty()) {
    auto const password = random_password();
    accounts.set("supervisor", Role::quality, password);
    say_err(
        fmt::format("first start: account \"supervisor\" with the password {} (said this once; --add-account makes "
                    "others and changes this one)",
                    password));
  }
  auto const session = session_on_wires(bench, ready ? &*ready : nullptr);
  WriterJournalStore store(session->io(), options.records);
  Journal journal(store, session->clock(), session->boot());
  for (auto const& words : session->remarks()) say_err(words);

  std::unique_ptr<SimulatedOperator> hands;
  if (session->hands() != nullptr) {
    auto const gate_may_open = [&guard = session->guard()] { return guard.status().state == GuardState::safe_earthed; };
    hands = std::make_unique<SimulatedOperator>(*session->hands(), session->clock(), gate_may_open);
  }
  auto ids = random_ids();
  panel::StationOptions of_control;
  of_control.units = options.units;
  of_control.limits = options.limits;
  of_control.records = options.records;
  of_control.time_scale = ready ? ready->time_scale : 1.0;
  of_control.next_id = [&ids] { return ids.next(); };
  of_control.say = say_err;
  StationControl control(*session, bench, journal, hands.get(), std::move(of_control));
  InstrumentWatch instruments(*session, bench);
  PanelApi api(session->io(), control, accounts, instruments, options.records);
  GuardWatch watch(session->guard(), events_of(session->guard().core()), session->clock(), journal, control.progress(),
                   [&control] { return control.attempt(); });
  StopRequest stop;
  stop.slot().assign([&control, &stop](asio::cancellation_type) { control.stop_by_signal(stop.reason()); });
  SignalWatch const signals(session->io(), stop, say_err);
  Everything all{*session, bench, journal, control, instruments, api, watch, stop, options, nullptr, false};
  asio::co_spawn(session->io(), watch.run(), asio::detached);
  asio::co_spawn(session->io(), serve(all), [&all](std::exception_ptr failure) {
    all.failure = std::move(failure);
    all.over = true;
  });
  if (!session->run([&all] { return all.over; })) {
    throw SessionError(ExitCode::defect, "the station waits for something that never comes");
  }
  if (all.failure) std::rethrow_exception(all.failure);
  return worse(ExitCode::stopped, control.worst());
}

}  // namespace

ExitCode run_station(StationCommand const& options) {
  try {
    return options.add_account.empty() ? run(options) : add_account(options);
  } catch (SessionError const& error) {
    say_err(error.what());
    return error.code();
  } catch (AccountError const& error) {
    say_err(error.what());
    return ExitCode::bad_input;
  } catch (StoreError const& error) {
    say_err(error.what());
    return ExitCode::record_not_kept;
  } catch (std::system_error const& error) {
    say_err(fmt::format("--port {}: {}", options.port, error.what()));
    return ExitCode::bad_input;
  }
}

}  // namespace benchward
