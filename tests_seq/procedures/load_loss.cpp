// SPDX-License-Identifier: MIT
// Load loss and impedance (10 CFR 431 subpart K appendix A 4.5): one winding shorted, rated frequency, rated current or
// what the source gives of it; at full current only for as long as the predicted heating stays below 0.5 K.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/procedures/ac_supply.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

constexpr double first_share = 0.2;  ///< of the expected volts: the impedance is found here
constexpr double least_current_share = 0.5;
constexpr double set_within = 0.01;  ///< of the wanted current
constexpr std::size_t snapshots_at_most = 5;
constexpr char const* bar_hint = "shorting bar loose or an earth left on; look before you start again";

AcSource::Setting setting_of(StepContext const& at, LoadLossWork const& work, double line_volts) {
  AcSource::Setting setting;
  setting.voltage = volts(line_volts);
  setting.frequency = work.frequency;
  setting.phases = work.wiring.phases;
  setting.ramp = seconds(2);
  setting.current_limit = at.plan_step.energy->trip_current;
  return setting;
}

struct Operating {
  double volts_at_unit, amperes;
};

Task<Operating> look(StepContext& at, Permit const& permit, LoadLossWork const& work) {
  PowerAnalyzer& analyzer = in_role(at.world.roles.power_analyzer, "power_analyzer");
  auto const snapshot = co_await need(analyzer.read());
  require_live(at, permit);
  auto const line = rms_line_volts(snapshot, work.wiring);
  auto const current = mean_amperes(snapshot);
  if (!line || !current) {
    throw StepStopped(StopCause::cannot_measure,
                      "load_loss: the analyser's volts or amperes are not GOOD: check its leads");
  }
  Operating seen{};
  seen.volts_at_unit = *line;
  seen.amperes = *current;
  at.world.progress.reading("current", seen.amperes, "A");
  co_return seen;
}

/// Volts that give the wanted current, from what a fifth of the expected volts gave.
double volts_for(StepContext const& at, LoadLossWork const& work, double set_v, Operating const& seen) {
  double const wanted = work.set.in(amperes);
  double const share = seen.amperes / wanted;
  double const volts_share = set_v / work.expected.in(volts);
  // Exciting current instead of short-circuit current: nothing is shorted.
  if (!(share > 0.1 * volts_share)) {
    throw StepStopped(
        StopCause::cannot_measure,
        fmt::format("load_loss: {:.3g} A at {:.4g} V, about {:.3g} A expected: the shorting bar {} is missing",
                    seen.amperes, seen.volts_at_unit, wanted * volts_share, work.shorted));
  }
  double const needed = set_v / share;
  double const highest = at.plan_step.energy->ceiling.in(volts) / 1.05;
  if (needed <= highest) return needed;
  if (share * highest / set_v < least_current_share) {
    throw StepStopped(StopCause::cannot_measure,
                      fmt::format("load_loss: {:.5g} V needed for {:.4g} A, the step allows {:.5g} V: {}", needed,
                                  wanted, highest, bar_hint));
  }
  return highest;
}

}  // namespace

Task<LoadLossReadings> measure_load_loss(StepContext& at, LoadLossWork const& work) {
  PowerAnalyzer& analyzer = in_role(at.world.roles.power_analyzer, "power_analyzer");
  Clock& clock = at.world.clock;
  LoadLossReadings readings;
  readings.fed = work.wiring.fed;
  readings.shorted = work.shorted;
  readings.tap = work.tap;
  readings.line_to_line_volts = work.wiring.line_to_line_volts;
  readings.shorting_bar = at.world.bench.shorting_bar;
  readings.shorting_bar_inductance = at.world.bench.shorting_bar_inductance;
  readings.temperature_before = co_await read_temperatures(at);
  PowerAnalyzer::Setup setup;
  setup.wiring = work.wiring.wiring;
  setup.expected_voltage = work.expected;
  setup.expected_current = work.set;
  setup.frequency = work.frequency;
  co_await need(analyzer.set_up(std::move(setup)));

  Permit const permit = co_await energise(at, *at.plan_step.energy);
  std::string hint = bar_hint;
  double const first_v = work.expected.in(volts)*first_share;
  auto low = setting_of(at, work, first_v);
  co_await raise_to(at, permit, std::move(low), Shortfall::of_the_bench, hint);
  co_await wait_energised(at, permit, seconds(1));
  auto const found = co_await look(at, permit, work);
  double set_v = volts_for(at, work, first_v, found);

  auto full = setting_of(at, work, set_v);
  co_await raise_to(at, permit, std::move(full), Shortfall::of_the_bench, hint);
  auto const full_since = clock.now();
  co_await wait_energised(at, permit, seconds(1));
  auto const seen = co_await look(at, permit, work);
  double const off = seen.amperes / work.set.in(amperes);
  double const highest = at.plan_step.energy->ceiling.in(volts) / 1.05;
  if (std::abs(off - 1.0) > set_within && set_v / off <= highest) {
    set_v /= off;
    auto trimmed = setting_of(at, work, set_v);
    trimmed.ramp = seconds(1);
    co_await raise_to(at, permit, std::move(trimmed), Shortfall::of_the_bench, hint);
    co_await wait_energised(at, permit, seconds(1));
  }
  at.world.guard.reached();
  // At least one snapshot; more while the predicted heating allows.
  double const allowed_s = work.on_time.in(seconds)-1.5;
  do {
    auto snapshot = co_await need(analyzer.read());
    require_live(at, permit);
    double sum = 0.0;
    for (auto const& watt : snapshot.active) sum += watt.value.in(watts);
    at.world.progress.reading("load loss", sum, "W");
    readings.snapshots.push_back(std::move(snapshot));
    co_await wait_energised(at, permit, seconds(1));
  } while (readings.snapshots.size() < snapshots_at_most && between(full_since, clock.now()).in(seconds) < allowed_s);
  co_await lower_and_stop(at, seconds(2), at.plan_step.keeps_area);
  readings.on_time = between(full_since, clock.now());
  readings.temperature_after = co_await read_temperatures(at);
  co_await keep_readings(at, "load_loss", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
