// SPDX-License-Identifier: MIT
#include "tests_seq/procedures/ac_supply.hpp"

#include <cmath>

#include <fmt/format.h>

namespace benchward {

namespace {

constexpr Duration look_every = milliseconds(200);
constexpr Duration patience = seconds(10);

template <class Q, class Unit>
std::optional<double> mean_of(std::vector<Reading<Q>> const& readings, Unit unit) {
  if (readings.empty()) return std::nullopt;
  double sum = 0.0;
  for (auto const& reading : readings) {
    if (!reading.good()) return std::nullopt;
    sum += reading.value.in(unit);
  }
  return sum / static_cast<double>(readings.size());
}

double to_line(AcWiring const& wiring) {
  return wiring.phases == 3 && !wiring.line_to_line_volts ? std::sqrt(3.0) : 1.0;
}

StepStopped stopped_short(StepContext const& at, Shortfall shortfall, std::string cause, std::string const& hint,
                          AcSource::State const& state) {
  if (shortfall == Shortfall::of_the_unit) {
    return StepStopped::broken_down(breakdown_at(at, std::move(cause), state.voltage.value, state.current.value));
  }
  return StepStopped(StopCause::cannot_measure,
                     fmt::format("{}: {}{}{}", at.plan_step.test, cause, hint.empty() ? "" : ": ", hint));
}

}  // namespace

BreakdownReading breakdown_at(StepContext const& at, std::string cause, Voltage output, Current current) {
  BreakdownReading seen;
  seen.test = at.plan_step.test;
  seen.cause = std::move(cause);
  seen.at_volts = output;
  seen.at_amperes = current;
  if (at.energised_at) seen.after = between(*at.energised_at, at.world.clock.now());
  return seen;
}

Task<void> raise_to(StepContext& at, Permit const& permit, AcSource::Setting setting, Shortfall shortfall,
                    std::string hint) {
  AcSource& source = in_role(at.world.roles.ac_source, "ac_source");
  Clock& clock = at.world.clock;
  at.world.guard.raising();
  double const wanted = setting.voltage.in(volts);
  double const limit_s = (setting.ramp + patience).in(seconds);
  auto const begin = clock.now();
  co_await need(source.set(permit, setting));
  for (;;) {
    co_await wait_energised(at, permit, look_every);
    auto const state = co_await need(source.read());
    require_live(at, permit);
    if (state.voltage.good()) at.world.progress.reading("source", state.voltage.value.in(volts), "V");
    if (state.voltage.good() && state.current.good()) {
      RampPoint const point{state.voltage.value, state.current.value};
      at.ramp.push_back(point);
    }
    if (state.tripped) {
      throw stopped_short(at, shortfall, "the source's over-current relay acted", hint, state);
    }
    if (state.at_set) co_return;
    if (between(begin, clock.now()).in(seconds) > limit_s) {
      throw stopped_short(at, shortfall,
                          fmt::format("volts not reached: {:.5g} V of {:.5g} V at {:.4g} A",
                                      state.voltage.value.in(volts), wanted, state.current.value.in(amperes)),
                          hint, state);
    }
  }
}

Task<void> require_not_tripped(StepContext& at, Shortfall shortfall, std::string hint) {
  AcSource& source = in_role(at.world.roles.ac_source, "ac_source");
  auto const state = co_await need(source.read());
  if (state.tripped) throw stopped_short(at, shortfall, "the source's over-current relay acted", hint, state);
}

Task<void> lower_and_stop(StepContext& at, Duration ramp, bool keep_area) {
  AcSource& source = in_role(at.world.roles.ac_source, "ac_source");
  Clock& clock = at.world.clock;
  auto const lowered = co_await source.to_zero(ramp);
  if (lowered) {
    // Bounded: the guard's stop below lowers by its own wire whatever the source says here.
    auto const begin = clock.now();
    while (between(begin, clock.now()) < ramp + seconds(2)) {
      auto const state = co_await source.read();
      if (!state || state.value().at_zero) break;
      co_await clock.wait(look_every);
    }
  }
  co_await de_energise(at, keep_area);
  if (!lowered) throw StepStopped(lowered.error());
}

Task<Answer<Done>> source_to_zero(RunWorld& world, SourcePath source) {
  auto const at_once = seconds(1);
  if (source == SourcePath::ac_source && world.roles.ac_source != nullptr) {
    co_return co_await world.roles.ac_source->to_zero(at_once);
  }
  if (source == SourcePath::dielectric && world.roles.dielectric_tester != nullptr) {
    co_return co_await world.roles.dielectric_tester->to_zero(at_once);
  }
  co_return Done{};
}

std::optional<double> average_line_volts(PowerSnapshot const& snapshot, AcWiring const& wiring) {
  auto const mean = mean_of(snapshot.volts_average, volts);
  if (!mean) return std::nullopt;
  return *mean * to_line(wiring);
}

std::optional<double> rms_line_volts(PowerSnapshot const& snapshot, AcWiring const& wiring) {
  auto const mean = mean_of(snapshot.volts_rms, volts);
  if (!mean) return std::nullopt;
  return *mean * to_line(wiring);
}

std::optional<double> mean_amperes(PowerSnapshot const& snapshot) { return mean_of(snapshot.amperes, amperes); }

}  // namespace benchward
