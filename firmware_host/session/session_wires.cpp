// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <sodium.h>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>

#include "drivers/instruments/bench_io_link.hpp"
#include "drivers/instruments/open_instruments.hpp"
#include "firmware_host/session/session.hpp"
#include "firmware_host/time/guard_wake.hpp"
#include "firmware_host/time/wall_clock.hpp"
#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/runner.hpp"

namespace benchward {
namespace {

std::uint16_t random_word() {
  if (sodium_init() < 0) throw SessionError(ExitCode::defect, "the cryptographic library does not start");
  return static_cast<std::uint16_t>(randombytes_uniform(0xFFFFu) + 1u);  // never 0
}

class WireSession final : public BenchSession {
 public:
  WireSession(Bench const& bench, ReadyLine const* ready)
      : bench_(bench),
        clock_(io_, ready != nullptr ? ready->time_scale : 1.0),
        wake_(clock_),
        link_(bench.io, link_of(bench), clock_),
        core_(guard_declaration(bench, random_word()), link_, random_word()),
        guard_(core_, clock_, wake_, bench.guard.period),
        seed_(ready != nullptr ? ready->seed : 0) {
    prove_the_wire();
    instruments_ = open_instruments(bench, clock_);
    roles_.ratio_meter = instruments_.ratio_meter.get();
    roles_.resistance_meter = instruments_.resistance_meter.get();
    roles_.power_analyzer = instruments_.power_analyzer.get();
    roles_.ac_source = instruments_.ac_source.get();
    roles_.thermometer_scanner = instruments_.thermometer_scanner.get();
    roles_.dielectric_tester = instruments_.dielectric_tester.get();
    roles_.insulation_meter = instruments_.insulation_meter.get();
    if (ready != nullptr && !ready->hands.empty()) hands_ = hands_on_socket(io_, ready->hands);
  }

  boost::asio::io_context& io() override { return io_; }
  Clock& clock() override { return clock_; }
  TestRoles const& roles() override { return roles_; }
  CoreDesk& guard() override { return guard_; }
  Hands* hands() override { return hands_.get(); }
  OpenedInstruments* wires() override { return &instruments_; }
  bool virtual_time() const override { return false; }
  std::uint64_t seed() const override { return seed_; }
  std::string boot() const override { return boot_id(); }
  std::vector<std::string> remarks() const override {
    return rights_.words.empty() ? std::vector<std::string>{}
                                 : std::vector<std::string>{"guard thread: " + rights_.words};
  }
  bool run(std::function<bool()> const& done) override {
    auto const work = boost::asio::make_work_guard(io_);
    while (!done()) io_.run_one();
    return true;
  }

 private:
  static LinkDeclaration const& link_of(Bench const& bench) {
    auto const* link = bench.link(bench.io.link);
    if (link == nullptr || link->address.empty()) {
      throw SessionError(
          ExitCode::bad_input,
          fmt::format("{}: the bench I/O's link \"{}\" has no address; a simulated bench gets it by --links READY.json",
                      bench.file, bench.io.link));
    }
    return *link;
  }

  /// The guard's first turns write all outputs off and a challenge word; what the block answers says what it is.
  void prove_the_wire() {
    rights_ = guard_.start();
    auto const begin = clock_.now();
    // Two stale limits of bench time: the link is then either there or not.
    Duration const patience = seconds(2.0 * bench_.guard.stale.in(seconds) + 2.0 * clock_.scale());
    std::uint64_t good = 0;
    for (;;) {
      auto const seen = core_.snapshot();
      if (seen.fresh && seen.turns > 3 && ++good > 3) break;
      if (between(begin, clock_.now()) > patience) {
        auto const& fault = link_.last_fault();
        throw SessionError(ExitCode::invalid,
                           fmt::format("bench I/O at {}: {}", link_of(bench_).address,
                                       fault ? fault->what + (fault->next.empty() ? "" : ". " + fault->next)
                                             : "no answer. Is it on, and is the address right?"));
      }
      io_.run_for(std::chrono::milliseconds(5));
      io_.restart();
    }
    bool const wire_is_simulated = core_.snapshot().simulated;
    if (bench_.simulated && !wire_is_simulated) {
      throw SessionError(ExitCode::bad_input,
                         fmt::format("{}: the document says simulated, but the bench I/O at {} does not answer the "
                                     "challenge of a simulated block. Nothing was switched on",
                                     bench_.file, link_of(bench_).address));
    }
    if (!bench_.simulated && wire_is_simulated) {
      throw SessionError(ExitCode::bad_input, fmt::format("{}: the document says a real bench, but the bench I/O at {} "
                                                          "answers as a simulated block. Nothing was switched on",
                                                          bench_.file, link_of(bench_).address));
    }
  }

  Bench const& bench_;
  boost::asio::io_context io_{1};
  WallClock clock_;
  GuardWake wake_;
  BenchIoLink link_;
  GuardCore core_;
  ThreadGuard guard_;
  ThreadRights rights_;
  OpenedInstruments instruments_;
  std::unique_ptr<Hands> hands_;
  TestRoles roles_;
  std::uint64_t seed_;
};

}  // namespace

std::unique_ptr<BenchSession> session_on_wires(Bench const& bench, ReadyLine const* ready) {
  return std::make_unique<WireSession>(bench, ready);
}

}  // namespace benchward
