// SPDX-License-Identifier: MIT
#pragma once

/// Fake roles on an ideal unit, in virtual time, with what a test wants to go wrong. Not the simulator: closed forms of
/// a few lines, so that a procedure's own behaviour shows.

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "drivers/bench/bench.hpp"
#include "drivers/roles/operator.hpp"
#include "drivers/roles/roles.hpp"
#include "drivers/time/virtual_clock.hpp"
#include "limits/unit/unit.hpp"
#include "small_bench.hpp"

namespace benchward::testing {

/// The unit on the bench as the fakes see it, and what a test makes wrong with it.
struct FakeUnit {
  Unit unit;
  Connection connection;  ///< as the operator made it
  int tap = 0;
  int tap_offset = 0;                                 ///< the changer stands so many list places beside what it shows
  std::map<std::string, double> ratio_error_percent;  ///< by lv pair
  bool leads_exchanged = false;
  bool marking_wrong = false;
  bool bar_missing = false;
  double no_load_w = 80.0, exciting_a = 1.0, average_over_rms = 1.0;
  double load_loss_w = 500.0, impedance_percent = 2.2;
  double hv_ohm = 3.5, lv_ohm = 0.0022;
  double settling_tau_s = 4.0;
  double temperature_c = 22.0;
};

struct FakeBase {
  FakeBase(FakeUnit& of_unit, SmallBench& of_bench, Clock& of_clock)
      : unit(of_unit), bench(of_bench), clock(of_clock) {}
  FakeUnit& unit;
  SmallBench& bench;
  Clock& clock;
  std::vector<std::string> calls;
  std::optional<Fault> fault;  ///< the next call answers it

  template <class Q>
  Reading<Q> reading(Q value, std::string instrument, std::string channel) const {
    Reading<Q> made;
    made.value = value;
    made.quality = Quality::good;
    made.source = made.received = clock.now();
    made.origin.instrument = std::move(instrument);
    made.origin.channel = std::move(channel);
    return made;
  }
  Task<Answer<Done>> done(std::string call);
  Task<Answer<Identity>> identity(std::string serial);
};

struct FakeRatioMeter final : RatioMeter, FakeBase {
  using FakeBase::FakeBase;
  std::string name() const override { return "ratio-meter"; }
  Task<Answer<Identity>> identify() override { return identity("RM-0417"); }
  Voltage highest_applied() const override { return volts(80); }
  Task<Answer<Sample>> measure(Permit const& permit, Request request) override;
  Task<Answer<Done>> output_off() override;
  double highest_asked_v = 0.0;
  bool asked_without_consent = false;
};

struct FakeResistanceMeter final : ResistanceMeter, FakeBase {
  using FakeBase::FakeBase;
  std::string name() const override { return "resistance-meter"; }
  Task<Answer<Identity>> identify() override { return identity("WR-0250"); }
  Current highest_current() const override { return amperes(20); }
  Task<Answer<Done>> select(std::string from, std::string to) override;
  Task<Answer<Done>> set_current(Permit const& permit, Current current) override;
  Task<Answer<Sample>> read() override;
  Task<Answer<Done>> current_off() override;
  std::string from, to;
  Stamp on_at;
  double offset_v = 2e-5;
  bool selected_under_current = false;
  bool never_settles = false;
};

struct FakeAcSource final : AcSource, FakeBase {
  using FakeBase::FakeBase;
  std::string name() const override { return "ac-source"; }
  Task<Answer<Identity>> identify() override { return identity("SR-0009"); }
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override;
  Task<Answer<Done>> to_zero(Duration ramp) override;
  Task<Answer<State>> read() override;
  double step_v = 0.0;  ///< least step of the source: coarse ones cannot set within 0.25 %
  double set_v = 0.0, set_hz = 60.0;
  double trips_above_v = 1e9;  ///< its own over-current relay acts there
  double reaches_at_most_v = 1e9;
  std::vector<double> settings;
};

struct FakePowerAnalyzer final : PowerAnalyzer, FakeBase {
  FakePowerAnalyzer(FakeUnit& of_unit, SmallBench& of_bench, Clock& of_clock, FakeAcSource& of_source)
      : FakeBase(of_unit, of_bench, of_clock), source(of_source) {}
  std::string name() const override { return "power-analyser"; }
  Task<Answer<Identity>> identify() override { return identity("PA-0033"); }
  Task<Answer<Done>> set_up(Setup setup) override;
  Task<Answer<PowerSnapshot>> read() override;
  FakeAcSource& source;
  Setup setup;
  double gain = 0.995;             ///< volts at the unit over volts at the source
  double collapses_after_s = 1e9;  ///< of reading at more than 1.5 times rated volts
  Stamp first_high;
};

struct FakeThermometer final : ThermometerScanner, FakeBase {
  using FakeBase::FakeBase;
  std::string name() const override { return "thermometers"; }
  Task<Answer<Identity>> identify() override { return identity("TS-0102"); }
  Task<Answer<Sample>> read() override;
};

struct FakeDielectricTester final : DielectricTester, FakeBase {
  using FakeBase::FakeBase;
  std::string name() const override { return "dielectric-tester"; }
  Task<Answer<Identity>> identify() override { return identity("DT-0021"); }
  Voltage highest_level() const override { return kilovolts(75); }
  Task<Answer<Done>> set(Permit const& permit, Setting setting) override;
  Task<Answer<Done>> to_zero(Duration ramp) override;
  Task<Answer<State>> read() override;
  Setting setting;
  double breaks_at_kv = 1e9;
  double collapses_after_s = 1e9;  ///< of the hold
  bool lead_off = false;
  Stamp at_set_since;
  bool was_at_set = false;
};

/// A person who does everything, in a person's time, and opens and closes the gate for it.
struct FakeOperator final : Operator {
  FakeOperator(FakeUnit& of_unit, SmallBench& of_bench, Clock& of_clock)
      : unit(of_unit), bench(of_bench), clock(of_clock) {}
  std::string person() const override { return "test person"; }
  Task<bool> connect(Connection const& connection, int step, int of) override;
  Task<bool> set_tap(int position) override;
  Task<bool> start(Connection const& connection) override;
  Task<std::string> ask(Question question) override;
  Task<bool> acknowledge_trip(std::string cause) override;
  Task<bool> make_as_shipped(Connection const& as_shipped) override;
  FakeUnit& unit;
  SmallBench& bench;
  Clock& clock;
  std::vector<std::string> acts;
  std::map<std::string, std::string> answers;  ///< by question id; else the first choice
  std::function<void(std::string const&)> on_question;
  bool refuses_start = false;

 private:
  Task<void> inside();
};

}  // namespace benchward::testing
