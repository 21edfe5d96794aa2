// SPDX-License-Identifier: MIT
// Induced voltage (IEEE C57.12.90 7200 cycles, from memory; IEC 60076-3): raised frequency on the low side, from a
// quarter to the level, held for the standard's time, lowered to a quarter in 5 s.
#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "tests_seq/procedures/ac_supply.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

constexpr double collapsed_below = 0.9;
constexpr double first_share = 0.25;

AcSource::Setting setting_of(StepContext const& at, InducedWork const& work, double line_volts, Duration ramp) {
  AcSource::Setting setting;
  setting.voltage = volts(line_volts);
  setting.frequency = work.frequency;
  setting.phases = work.wiring.phases;
  setting.ramp = ramp;
  setting.current_limit = at.plan_step.energy->trip_current;
  return setting;
}

Task<void> raise(StepContext& at, Permit const& permit, InducedWork const& work, PowerAnalyzer& analyzer,
                 InducedReadings& readings) {
  double const level = work.level.in(volts);
  std::string hint;
  // At a quarter the volts at the unit's terminals say what the source must be set to.
  auto quarter = setting_of(at, work, first_share * level, seconds(2));
  co_await raise_to(at, permit, std::move(quarter), Shortfall::of_the_unit, hint);
  co_await wait_energised(at, permit, seconds(1));
  auto const snapshot = co_await need(analyzer.read());
  auto const seen = rms_line_volts(snapshot, work.wiring);
  if (!seen || !(*seen > 0.0)) {
    throw StepStopped(StopCause::cannot_measure, "induced: the analyser reads no volts at a quarter: sense leads off");
  }
  double const gain = *seen / (first_share * level);
  if (gain < 0.8 || gain > 1.2) {
    throw StepStopped(
        StopCause::cannot_measure,
        fmt::format("induced: {:.4g} V at the unit where the source gives {:.4g} V: leads or scale factors", *seen,
                    first_share * level));
  }
  readings.at_quarter = snapshot;
  auto full = setting_of(at, work, std::min(level / gain, 1.03 * level), work.ramp);
  co_await raise_to(at, permit, std::move(full), Shortfall::of_the_unit, hint);
}

Task<void> hold(StepContext& at, Permit const& permit, InducedWork const& work, PowerAnalyzer& analyzer,
                InducedReadings& readings) {
  Clock& clock = at.world.clock;
  at.world.guard.reached();
  auto const begin = clock.now();
  std::string hint;
  for (;;) {
    auto snapshot = co_await need(analyzer.read());
    require_live(at, permit);
    co_await require_not_tripped(at, Shortfall::of_the_unit, hint);
    auto const line = rms_line_volts(snapshot, work.wiring);
    if (line && *line < collapsed_below * work.level.in(volts)) {
      double const current = mean_amperes(snapshot).value_or(0.0);
      auto seen =
          breakdown_at(at, fmt::format("voltage collapsed to {:.5g} V of {:.5g} V", *line, work.level.in(volts)),
                       volts(*line), amperes(current));
      throw StepStopped::broken_down(std::move(seen));
    }
    readings.frequency = snapshot.frequency;
    readings.snapshots.push_back(std::move(snapshot));
    readings.held = between(begin, clock.now());
    at.world.progress.hold_left(work.hold - readings.held);
    if (line) at.world.progress.reading("induced volts", *line, "V");
    if (readings.held >= work.hold) co_return;
    co_await wait_energised(at, permit, seconds(1));
  }
}

}  // namespace

Task<InducedReadings> measure_induced(StepContext& at, InducedWork const& work) {
  PowerAnalyzer& analyzer = in_role(at.world.roles.power_analyzer, "power_analyzer");
  InducedReadings readings;
  readings.fed = work.wiring.fed;
  readings.case_name = work.case_name;
  readings.line_to_line_volts = work.wiring.line_to_line_volts;
  PowerAnalyzer::Setup setup;
  setup.wiring = work.wiring.wiring;
  setup.expected_voltage = work.level;
  // Up to the relay everything must be readable: at raised frequency the capacitive current may be many times the
  // exciting one.
  setup.expected_current = work.trip;
  setup.frequency = work.frequency;
  co_await need(analyzer.set_up(std::move(setup)));

  std::optional<Permit> permit = co_await energise(at, *at.plan_step.energy);
  std::exception_ptr stopped;
  try {
    co_await raise(at, *permit, work, analyzer, readings);
    co_await hold(at, *permit, work, analyzer, readings);
  } catch (StepStopped const& seen) {
    readings.broke_down = seen.cause == StopCause::breakdown || seen.cause == StopCause::guard;
    readings.what_happened = seen.words;
    stopped = std::current_exception();
  }
  if (stopped) {
    permit.reset();  // the guard cuts first; the record comes after
    co_await keep_readings(at, "induced", readings_text(readings));
    std::rethrow_exception(stopped);
  }
  co_await lower_and_stop(at, seconds(5), at.plan_step.keeps_area);
  co_await keep_readings(at, "induced", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
