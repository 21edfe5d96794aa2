// SPDX-License-Identifier: MIT
#include "drivers/check/bench_check.hpp"

#include <fmt/core.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/io_context.hpp>
#include <exception>
#include <memory>
#include <optional>
#include <utility>

#include "drivers/instruments/bench_io_link.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "firmware_host/bench_lock.hpp"
#include "firmware_host/command/commands.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/session/bench_on_wires.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {
namespace {

constexpr std::uint16_t checking_owner = 0x0C4E;

Task<void> check_all(Bench const& bench, OpenedInstruments& opened, BenchLink* link, Clock& clock, std::string skipped,
                     BenchCheck& check) {  // by value: the caller's text is gone when this runs
  CheckSettings settings;
  settings.today = today_utc(clock.now());
  check = co_await check_instruments(bench, opened, settings);
  if (link != nullptr) {
    check.devices.push_back(co_await check_bench_io(bench, *link, clock, checking_owner));
  } else {
    DeviceCheck io;
    io.device = "bench I/O";
    io.role = "bench_io";
    io.link = bench.io.link;
    io.skipped = std::move(skipped);
    check.devices.push_back(std::move(io));
  }
}

void print(DeviceCheck const& device) {
  if (!device.skipped.empty()) {
    say_out(fmt::format("{:<22} skipped: {}", device.device, device.skipped));
  } else {
    say_out(fmt::format("{:<22} {:<8} {} {} {} firmware {}; {}{}", device.device, device.ok() ? "ok" : "WRONG",
                        device.identity.maker, device.identity.model, device.identity.serial, device.identity.firmware,
                        device.counts.answered == 0
                            ? std::string("no answer")
                            : fmt::format("round trip {:.1f} to {:.1f} ms", device.fastest.in(milliseconds),
                                          device.slowest.in(milliseconds)),
                        device.calibration_due.empty() ? "" : "; calibration due " + device.calibration_due));
  }
  for (auto const& finding : device.findings) {
    say_out(fmt::format("    {} {}{}", finding.wrong ? "!" : "-", finding.what,
                        finding.next.empty() ? "" : ". " + finding.next));
  }
}

std::string json_of(BenchCheck const& check) {
  JsonWriter json;
  json.begin_object().field("bench", check.bench).field("ok", check.ok()).key("devices").begin_list();
  for (auto const& device : check.devices) {
    json.begin_object()
        .field("device", device.device)
        .field("role", device.role)
        .field("link", device.link)
        .field("ok", device.ok());
    json.field("maker", device.identity.maker)
        .field("model", device.identity.model)
        .field("serial", device.identity.serial);
    json.field("firmware", device.identity.firmware)
        .field("fastest_ms", device.fastest.in(milliseconds))
        .field("slowest_ms", device.slowest.in(milliseconds));
    json.field("calibration_due", device.calibration_due).field("skipped", device.skipped).key("findings").begin_list();
    for (auto const& finding : device.findings) {
      json.begin_object()
          .field("wrong", finding.wrong)
          .field("id", finding.id)
          .field("what", finding.what)
          .field("next", finding.next)
          .end_object();
    }
    json.end_list().end_object();
  }
  json.end_list();
  return json.end_object().text();
}

}  // namespace

ExitCode run_bench_check(BenchCheckOptions const& options) {
  auto const wired = read_bench_on_wires(options.bench, options.links);
  auto const& bench = wired.bench;
  auto const* io_link = wired.io_link();
  auto taken = BenchLock::take(wired.lock_name(), "bench check");
  boost::asio::io_context io{1};
  WallClock clock(io, wired.time_scale);
  std::unique_ptr<BenchIoLink> link;
  if (taken.lock && io_link != nullptr) link = std::make_unique<BenchIoLink>(bench.io, *io_link, clock);
  auto opened = open_instruments(bench, clock);
  BenchCheck check;
  std::exception_ptr failure;
  boost::asio::co_spawn(
      io,
      check_all(bench, opened, link.get(), clock, "in use by " + taken.owner + "; the I/O link is its alone", check),
      [&failure](std::exception_ptr seen) { failure = std::move(seen); });
  io.run();
  if (failure) std::rethrow_exception(failure);
  if (options.json) {
    say_out(json_of(check));
  } else {
    for (auto const& device : check.devices) print(device);
    if (!bench.absent.empty()) say_out("\nDeclared absent on this bench:");
    for (auto const& absent : bench.absent) say_out(fmt::format("    I{:02}: {}", absent.number, absent.reason));
    std::string wrong;
    for (auto const& device : check.devices) {
      if (!device.ok()) wrong += (wrong.empty() ? "" : ", ") + device.device;
    }
    say_out(check.ok() ? "\nNothing is wrong." : "\nWrong: " + wrong);
  }
  return check.ok() ? ExitCode::done : ExitCode::invalid;
}

}  // namespace benchward
