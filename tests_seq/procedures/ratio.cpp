// SPDX-License-Identifier: MIT
// Turns ratio on every tap, and phase relation from the same pairs. Feeds the high side only.
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/plan/terminals.hpp"
#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

namespace {

RatioMeter::Request request_of(RatioPlanPoint const& point, UnitTerminals const& terminals, Voltage applied) {
  RatioMeter::Request request;
  auto const hv = ends_of(point.fed_return_tie ? *point.fed_return_tie : point.hv_pair);
  auto const lv = ends_of(point.lv_pair);
  request.feed_from = lead_of(terminals, hv.first);
  request.feed_to = lead_of(terminals, hv.second);
  request.read_from = lead_of(terminals, lv.first);
  request.read_to = lead_of(terminals, lv.second);
  request.shorted = point.shorted;
  request.applied = applied;
  return request;
}

RatioPoint point_of(RatioPlanPoint const& planned, RatioMeter::Sample const& sample) {
  RatioPoint point;
  point.tap = planned.tap;
  point.hv_pair = planned.hv_pair;
  point.lv_pair = planned.lv_pair;
  point.shorted = planned.shorted;
  point.fed_return_tie = planned.fed_return_tie;
  point.applied = sample.applied;
  point.ratio = sample.ratio;
  point.phase = sample.phase;
  point.exciting_current = sample.exciting_current;
  return point;
}

/// At 1 V or less: exchanged leads read a ratio below 1, and 80 V on the low side would be thousands on the high one.
void check_size(StepContext const& at, RatioPlanPoint const& planned, RatioMeter::Sample const& sample) {
  if (!sample.ratio.good()) return;  // an open pair: seen again, and kept, at the full volts
  double const ratio = std::abs(sample.ratio.value.value());
  double const limit = planned.expected_ratio > 2.0 ? 1.0 : planned.expected_ratio / 2.0;
  if (ratio < limit) {
    throw StepStopped(StopCause::wrong_unit,
                      fmt::format("{}: ratio {:.4g} at {:.2g} V where {:.5g} is expected: high- and low-side leads are "
                                  "exchanged; nothing was raised",
                                  at.plan_step.test, ratio, sample.applied.value.in(volts), planned.expected_ratio));
  }
}

/// The exciting current of 1 V says that the full volts would come near the step's trip: coils that oppose each other
/// in a closed delta, a shorted winding. A sound unit draws hundreds of times less.
bool would_trip(StepContext const& at, RatioMeter::Sample const& small, Voltage applied) {
  constexpr double near_trip = 0.5;
  if (!small.exciting_current.good() || !small.applied.good() || !(small.applied.value.in(volts) > 0.0)) return false;
  double const predicted =
      std::abs(small.exciting_current.value.in(amperes)) * applied.in(volts) / small.applied.value.in(volts);
  return predicted > near_trip * at.plan_step.energy->trip_current.in(amperes);
}

Task<void> measure_points(StepContext& at, RatioWork const& work, std::size_t from, std::size_t to,
                          RatioReadings& readings) {
  RatioMeter& meter = in_role(at.world.roles.ratio_meter, "ratio_meter");
  UnitTerminals const terminals(at.world.unit);
  Voltage const highest = meter.highest_applied();
  Voltage const applied = work.applied < highest ? work.applied : highest;
  Permit const permit = co_await energise(at, *at.plan_step.energy);
  for (std::size_t i = from; i < to; ++i) {
    RatioPlanPoint const& planned = work.points[i];
    at.world.progress.act(fmt::format("{} against {}", planned.hv_pair, planned.lv_pair));
    at.world.guard.raising();
    auto first = request_of(planned, terminals, work.start < applied ? work.start : applied);
    auto const small = co_await need(meter.measure(permit, std::move(first)));
    check_size(at, planned, small);
    if (would_trip(at, small, applied)) {
      if (small.ratio.good()) at.world.progress.reading("ratio", small.ratio.value.value(), "");
      readings.points.push_back(point_of(planned, small));
      continue;
    }
    auto second = request_of(planned, terminals, applied);
    auto const sample = co_await need(meter.measure(permit, std::move(second)));
    require_live(at, permit);
    if (sample.ratio.good()) at.world.progress.reading("ratio", sample.ratio.value.value(), "");
    readings.points.push_back(point_of(planned, sample));
  }
  co_await need(meter.output_off());
}

}  // namespace

Task<RatioReadings> measure_ratio(StepContext& at, RatioWork const& work) {
  RatioReadings readings;
  readings.dual_voltage_position = work.dual_voltage_position;
  for (std::size_t from = 0; from < work.points.size();) {
    std::size_t to = from;
    while (to < work.points.size() && work.points[to].tap == work.points[from].tap) ++to;
    // The first tap was set with the leads; the next ones with the unit earthed again.
    auto const tap = work.points[from].tap;
    if (tap && from > 0) co_await set_tap(at, *tap);
    co_await measure_points(at, work, from, to, readings);
    bool const last = to == work.points.size();
    co_await de_energise(at, last && at.plan_step.keeps_area);
    from = to;
  }
  co_await keep_readings(at, at.plan_step.test, readings_text(readings));
  co_return readings;
}

}  // namespace benchward
