// SPDX-License-Identifier: MIT
// Polarity by alternating voltage (IEEE C57.12.90 clause 6, extract read): adjacent bushings joined, and H1-X1 joined.
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/procedures/procedures.hpp"
#include "tests_seq/procedures/readings_text.hpp"

namespace benchward {

Task<PolarityReadings> measure_polarity(StepContext& at, PolarityWork const& work) {
  RatioMeter& meter = in_role(at.world.roles.ratio_meter, "ratio_meter");
  Voltage const highest = meter.highest_applied();
  RatioMeter::Request request;
  request.feed_from = work.feed_from;
  request.feed_to = work.feed_to;
  request.read_from = work.read_from;
  request.read_to = work.read_to;
  request.applied = work.start;

  Permit const permit = co_await energise(at, *at.plan_step.energy);
  auto first = request;
  auto const small = co_await need(meter.measure(permit, std::move(first)));
  // Across is applied volts plus or minus the low side's: a multiple of it means exchanged leads or another tie.
  if (small.applied.good() && small.read.good()) {
    double const share = std::abs(small.read.value / small.applied.value);
    if (share > 1.0 + 2.0 / work.expected_ratio + 0.1) {
      throw StepStopped(
          StopCause::wrong_unit,
          fmt::format("polarity: {:.3g} times the applied volts across {}-{}: another tie or exchanged leads; "
                      "nothing was raised",
                      share, work.read_from, work.read_to));
    }
  }
  at.world.guard.raising();
  request.applied = work.applied < highest ? work.applied : highest;
  auto const sample = co_await need(meter.measure(permit, std::move(request)));
  require_live(at, permit);
  co_await need(meter.output_off());
  co_await de_energise(at, at.plan_step.keeps_area);

  PolarityReadings readings;
  readings.join = work.join;
  readings.tied = work.tied;
  readings.read_across = work.read_from + "-" + work.read_to;
  readings.applied = sample.applied;
  readings.across = sample.read;
  co_await keep_readings(at, "polarity", readings_text(readings));
  co_return readings;
}

}  // namespace benchward
