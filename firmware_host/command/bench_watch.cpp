// SPDX-License-Identifier: MIT
#include "drivers/check/bench_watch.hpp"

#include <fmt/core.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <exception>
#include <memory>
#include <utility>

#include "drivers/instruments/open_instruments.hpp"
#include "drivers/time/together.hpp"
#include "firmware_host/bench_lock.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/bench_on_wires.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward {
namespace {

std::string joined(std::vector<std::string> const& words) {
  std::string text;
  for (auto const& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

void print(WatchedLine const& line) {
  auto const clock = utc_text(line.at.utc_us);
  auto text = fmt::format("{} {:<18}", clock.substr(11, 12), line.device);
  if (line.fault) {
    say_out(fmt::format("{} NO ANSWER  {}: {}{}", text, line.fault->id, line.fault->what,
                        line.fault->next.empty() ? "" : ". " + line.fault->next));
    return;
  }
  text += fmt::format(" {:.1f} ms{}{}", line.round_trip.in(milliseconds),
                      line.bits.empty() ? "" : "  [" + joined(line.bits) + "]",
                      line.bad.empty() ? "" : "  BAD: " + line.bad);
  for (auto const& value : line.values) {
    auto const number = value.value         ? fmt::format("{} {}", json_number(*value.value), value.unit)
                        : value.why.empty() ? std::string("-")
                                            : "BAD: " + value.why;
    text += fmt::format("\n    {:<18} {:<28} {}", value.name, number, value.raw);
  }
  say_out(text);
}

std::string json_of(WatchedLine const& line) {
  JsonWriter json;
  json.begin_object()
      .field("at", utc_text(line.at.utc_us))
      .field("device", line.device)
      .field("role", line.role)
      .field("link", line.link)
      .field("ok", !line.fault.has_value());
  if (line.fault) {
    json.key("fault").begin_object().field("id", line.fault->id).field("operation", line.fault->operation);
    json.field("what", line.fault->what).field("next", line.fault->next);
    json.field("sent", line.fault->sent).field("received", line.fault->received).end_object();
    return json.end_object().text();
  }
  json.field("round_trip_ms", line.round_trip.in(milliseconds)).field("bad", line.bad).key("bits").begin_list();
  for (auto const& bit : line.bits) json.value(bit);
  json.end_list().key("values").begin_list();
  for (auto const& value : line.values) {
    json.begin_object().field("name", value.name);
    if (value.value) json.field("value", *value.value);
    json.field("unit", value.unit).field("quality", value.value ? "GOOD" : "BAD");
    json.field("why", value.why).field("raw", value.raw).end_object();
  }
  return json.end_list().end_object().text();
}

Task<void> keep(Task<bool> watching, bool& well) { well = co_await std::move(watching); }

}  // namespace

ExitCode run_bench_watch(BenchWatchOptions const& options) {
  auto const wired = read_bench_on_wires(options.bench, options.links);
  auto const& bench = wired.bench;
  auto const* io_link = wired.io_link();
  auto const taken = BenchLock::take(wired.lock_name(), "bench watch");
  boost::asio::io_context io{1};
  WallClock clock(io, wired.time_scale);
  auto opened = open_instruments(bench, clock);
  std::unique_ptr<Bus> io_bus;
  WatchSettings settings;
  settings.every = seconds(options.every_s * wired.time_scale);
  settings.turns = options.turns;
  auto const say = [&](WatchedLine const& line) { options.json ? say_out(json_of(line)) : print(line); };
  bool instruments = false, block = true;
  std::vector<Task<void>> tasks;
  tasks.push_back(keep(watch_instruments(opened, clock, settings, say), instruments));
  if (taken.lock && io_link != nullptr) {
    io_bus = std::make_unique<Bus>(*io_link, clock);
    tasks.push_back(keep(watch_bench_io(bench, *io_bus, clock, settings, say), block));
  } else {
    say_err("bench watch: the I/O block is in use by " + taken.owner + "; its link is that program's alone");
  }
  std::exception_ptr failure;
  bool ended = false;
  boost::asio::signal_set signals(io, SIGINT, SIGTERM, SIGHUP);
  signals.async_wait([&](auto error, int) {
    if (!error) io.stop();
  });
  boost::asio::co_spawn(io, together(std::move(tasks)), [&](std::exception_ptr seen) {
    failure = std::move(seen);
    ended = true;
    signals.cancel();
  });
  io.run();
  if (failure) std::rethrow_exception(failure);
  if (!ended) return ExitCode::stopped;
  return instruments && block ? ExitCode::done : ExitCode::invalid;
}

}  // namespace benchward
