// SPDX-License-Identifier: MIT
// Winding resistance, four-wire (10 CFR 431 subpart K appendix A 3.3): current at most 15 % of rated, offset at zero
// current before and after, same polarity throughout, recorded only when slope x remaining time is below 0.1 %, at
// least four readings; the guard discharges the winding into the short before anything is changed.
#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "limits/correct/settling.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

constexpr double settled_relative = 1e-3;  ///< slope x remaining time over R
constexpr int recorded_readings = 5;       ///< at least four
constexpr Duration between_readings = seconds(1.0);
constexpr double trickle_relative = 2e-4;     ///< of the measured volts: below it the decay no longer shows in R
constexpr int nothing_at_most = 10;           ///< readings at full current without a winding's volts
constexpr std::size_t window = 6;             ///< readings that the slope is taken from
constexpr std::size_t longest_tail = 90;      ///< readings that tell a slow tail
constexpr double tail_noise_relative = 3e-5;  ///< of the mean of a third of it, where the readings show no more
constexpr double tail_noise_at_most = 3e-4;   ///< noise and resolution beyond this hide what is still to come
/// A large winding with a closed delta beside it falls, turns and climbs again for minutes: at the turn nothing moves.
/// So where the tail is watched, it has arrived only if it still stands there this long after.
constexpr Duration stands_for = seconds(30);
constexpr double still_within_v = 2e-6;  ///< over such a window at zero current (common practice, no source)

double ohm_of(ResistanceMeter::Sample const& sample, double offset_v) {
  return (sample.volts.value.in(volts)-offset_v) / sample.current.value.in(amperes);
}

bool usable(ResistanceMeter::Sample const& sample) {
  return sample.volts.good() && sample.current.good() && sample.current.value.in(amperes) > 0.0;
}

/// What a slow tail still has to go, relative to the reading: three groups of readings one after the other, and the
/// geometric series that their differences begin. A slope alone is small also where the time constant is minutes.
/// Nothing where the differences do not shrink yet.
std::optional<double> left_to_go(std::vector<double> const& ohms) {
  std::size_t const group = ohms.size() / 3;
  auto const mean = [&](std::size_t from) {
    double sum = 0.0;
    for (std::size_t i = from; i < from + group; ++i) sum += ohms[i] / static_cast<double>(group);
    return sum;
  };
  std::size_t const start = ohms.size() - 3 * group;
  double const first = mean(start), second = mean(start + group), third = mean(start + 2 * group);
  double const before = second - first, now = third - second;
  double square =
      0.0;  // of each reading from its group's mean: a few microohms come in steps of the meter's resolution
  for (std::size_t i = 0; i < 3 * group; ++i) {
    double const own = i < group ? first : i < 2 * group ? second : third;
    square += std::pow(ohms[start + i] - own, 2) / static_cast<double>(3 * group);
  }
  double const noise = 3.0 * std::sqrt(2.0 * square / static_cast<double>(group)) / third;
  if (std::abs(now) < std::max(std::min(noise, tail_noise_at_most), tail_noise_relative) * third) return 0.0;
  if (!(before * now > 0.0) || !(std::abs(before) > std::abs(now))) return std::nullopt;
  return now * now / std::abs(before - now) / third;
}

/// Waits until the reading has settled, or the time is up (then the evaluation sees how far it was from it).
Task<double> settle(StepContext& at, Permit const& permit, ResistanceMeter& meter, ResistanceWork const& work,
                    double offset_v) {
  Clock& clock = at.world.clock;
  auto const begin = clock.now();
  double const remaining_s = recorded_readings * between_readings.in(seconds);
  std::vector<SettlingSample> samples;
  std::vector<double> tail;
  std::optional<double> arrival, arrival_s;  ///< mean of the window then, and when
  double change = 1.0;
  int readings_of_nothing = 0;
  for (;;) {
    co_await wait_energised(at, permit, between_readings);
    auto const sample = co_await need(meter.read());
    double const elapsed = between(begin, clock.now()).in(seconds);
    // Short of its set current the source still charges the core.
    double const ohm = usable(sample) ? ohm_of(sample, offset_v) : 0.0;
    // No winding reads zero or less: an open sense lead does. It never settles; the evaluation names it.
    if (sample.in_compliance && ohm > 0.0 && std::isfinite(ohm)) {
      SettlingSample one;
      one.time_s = elapsed;
      one.resistance_ohm = ohm;
      samples.push_back(one);
      at.world.progress.reading("resistance, settling", one.resistance_ohm, "ohm");
      if (samples.size() > window) samples.erase(samples.begin());
      if (samples.size() == window) {
        change = predicted_change_relative(samples, remaining_s);
        tail.push_back(ohm);
        if (tail.size() > longest_tail) tail.erase(tail.begin());
        bool const watched = static_cast<double>(tail.size()) >= work.least_watch / between_readings;
        auto const left = watched && tail.size() >= 3 ? left_to_go(tail) : std::nullopt;
        bool const arrived = !(work.least_watch > seconds(0)) || (left && *left < settled_relative);
        double mean = 0.0;
        for (auto const& each : samples) mean += each.resistance_ohm / static_cast<double>(window);
        if (arrival && std::abs(mean / *arrival - 1.0) > settled_relative) {
          tail.clear();  // it turned there: what came before says nothing of what is still to come
          arrival.reset();
        } else if (arrived && change < settled_relative) {
          if (!arrival) {
            arrival = mean;
            arrival_s = elapsed;
          }
          bool const stood = elapsed - *arrival_s >= stands_for.in(seconds);
          if (stood || !(work.least_watch > seconds(0))) co_return change;
        }
        change = std::max(change, arrived ? 0.0 : left.value_or(1.0));
      }
    } else {
      samples.clear();
      tail.clear();
      arrival.reset();
      bool const flows = sample.current.good() && sample.in_compliance && sample.current.value.in(amperes) > 0.0;
      if (flows && !(ohm > 0.0) && ++readings_of_nothing >= nothing_at_most) {
        throw StepStopped(StopCause::cannot_measure,
                          fmt::format("winding_resistance: {:.3g} A flows, but the voltage leads read nothing that a "
                                      "winding gives: sense lead open or off its terminal. Clip it again",
                                      sample.current.value.in(amperes)));
      }
    }
    if (elapsed > work.longest_wait.in(seconds)) co_return change;
  }
}

/// The voltage channel at zero current before: what the pair before left in the core still gives volts as it goes, and
/// those are no offset. Next to nothing is taken at once; more only when it stands still. UNCERTAIN where it never
/// does.
Task<ResistanceMeter::Sample> at_zero_current(StepContext& at, Permit const& permit, ResistanceMeter& meter,
                                              Duration longest) {
  Clock& clock = at.world.clock;
  auto const begin = clock.now();
  std::vector<double> last;
  for (;;) {
    auto sample = co_await need(meter.read());
    if (!sample.volts.good()) co_return sample;
    last.push_back(sample.volts.value.in(volts));
    if (last.size() > window) last.erase(last.begin());
    bool const next_to_nothing = last.size() == 1 && std::abs(last.front()) < 5.0 * still_within_v;
    bool const still = last.size() == window && std::abs(last.back() - last.front()) < still_within_v;
    if (next_to_nothing || still) co_return sample;
    if (between(begin, clock.now()) > longest) {
      sample.volts.quality = Quality::uncertain;
      co_return sample;
    }
    co_await wait_energised(at, permit, between_readings);
  }
}

/// The voltage channel once the discharge path has let the current decay and its last trickle no longer shows: the
/// unsaturated core lets go slowly, and its volts are no offset. UNCERTAIN where the current has not decayed in time.
Task<Reading<Voltage>> offset_after(StepContext& at, Permit const& permit, ResistanceMeter& meter, Duration longest,
                                    Voltage before, Voltage measured) {
  Clock& clock = at.world.clock;
  auto const begin = clock.now();
  Current const decayed = at.plan_step.energy->direct_limit;
  Voltage const quiet = magnitude(measured) * trickle_relative;
  for (;;) {
    co_await wait_energised(at, permit, between_readings);
    auto const sample = co_await need(meter.read());
    bool const gone = sample.current.good() && magnitude(sample.current.value) < decayed;
    if (gone && sample.volts.good() && magnitude(sample.volts.value - before) < quiet) co_return sample.volts;
    if (between(begin, clock.now()) > longest) {
      auto late = sample.volts;
      if (!gone && late.quality == Quality::good) late.quality = Quality::uncertain;
      co_return late;
    }
  }
}

/// A high-voltage winding holds its current for tenths of a second while the discharge path takes its energy. Gone at
/// once means that nothing took it: the winding made its own way, at hundreds of volts across clips and contacts.
Task<void> require_discharge_path(StepContext& at, ResistanceMeter& meter, ResistancePair const& pair, Current set) {
  constexpr Duration at_once = seconds(0.3);
  constexpr double gone_share = 0.02;  // a sound path leaves more than half of it so soon
  if (pair.from.empty() || pair.from.front() != 'H') co_return;
  Clock& clock = at.world.clock;
  auto const begin = clock.now();
  co_await need(meter.current_off());
  auto const sample = co_await need(meter.read());
  if (between(begin, clock.now()) > at_once || !(magnitude(sample.current.value) < set * gone_share)) co_return;
  throw StepStopped(
      StopCause::cannot_measure,
      fmt::format(
          "winding_resistance: the current of {}-{} was gone at once instead of decaying: the discharge path is "
          "broken, the winding was cut off hard. Keep away from the terminals until the earth is closed; repair "
          "the discharge path, demagnetise the core, then measure again",
          pair.from, pair.to));
}

Task<ResistancePoint> measure_pair(StepContext& at, ResistanceWork const& work, ResistancePair const& pair) {
  ResistanceMeter& meter = in_role(at.world.roles.resistance_meter, "resistance_meter");
  Clock& clock = at.world.clock;
  StepEnergy energy = *at.plan_step.energy;
  Current const highest = meter.highest_current();
  Current const current = pair.current < highest ? pair.current : highest;
  energy.set_direct = current;

  ResistancePoint point;
  point.terminals = pair.from + "-" + pair.to;
  point.tap = work.tap;
  point.set_current = current;
  if (at.world.roles.thermometer_scanner != nullptr) {
    point.temperature = co_await read_temperatures(at);
  } else if (at.temperature != nullptr) {
    point.temperature = *at.temperature;
  }
  at.world.progress.act("Resistance " + point.terminals);
  co_await need(meter.select(pair.from, pair.to));

  Permit const permit = co_await energise(at, std::move(energy));
  auto const before = co_await at_zero_current(at, permit, meter, work.longest_decay);
  point.offset_before = before.volts;
  bool const known = before.volts.quality == Quality::good || before.volts.quality == Quality::uncertain;
  double const offset_v = known ? before.volts.value.in(volts) : 0.0;
  auto const on = clock.now();
  at.world.guard.raising();
  co_await need(meter.set_current(permit, current));
  point.predicted_change_relative = co_await settle(at, permit, meter, work, offset_v);
  point.settling = between(on, clock.now());
  at.world.guard.reached();
  for (int i = 0; i < recorded_readings; ++i) {
    auto const sample = co_await need(meter.read());
    point.volts.push_back(sample.volts);
    point.current.push_back(sample.current);
    if (usable(sample)) at.world.progress.reading("resistance", ohm_of(sample, offset_v), "ohm");
    co_await wait_energised(at, permit, between_readings);
  }
  co_await require_discharge_path(at, meter, pair, current);
  co_await need(meter.current_off());
  point.offset_after =
      co_await offset_after(at, permit, meter, work.longest_decay, volts(offset_v), point.volts.back().value);
  // Short closed, current decayed, short stays closed: only then are leads or pairs changed.
  co_await de_energise(at, false);
  co_return point;
}

}  // namespace

Task<ResistanceReadings> measure_winding_resistance(StepContext& at, ResistanceWork const& work) {
  ResistanceReadings readings;
  for (auto const& pair : work.pairs) {
    auto point = co_await measure_pair(at, work, pair);
    readings.points.push_back(std::move(point));
  }
  co_await keep_readings(at, "winding_resistance", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
