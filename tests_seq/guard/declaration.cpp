// SPDX-License-Identifier: MIT
#include "tests_seq/guard/declaration.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"

namespace benchward {
namespace {

using guard::Declaration;
using guard::StepLimits;

std::uint32_t whole_ms(Bench const& bench, char const* name, Duration time) {
  double const ms = std::ceil(time.in(milliseconds)-1e-9);
  if (!(ms >= 1.0) || ms > 3.6e6) {
    throw DocumentError("guard.time", bench.file, std::string("/guard/") + name,
                        fmt::format("expected a time from 1 ms to 1 h, got {} s", time.in(seconds)));
  }
  return static_cast<std::uint32_t>(ms);
}

/// Rounded down for what trips above, so that rounding never lets more through.
std::int32_t whole(double value) { return static_cast<std::int32_t>(std::clamp(std::floor(value), 0.0, 2.0e9)); }

// Without these the guard proves nothing: earth, contactors, voltage, current, its own link and watchdog, its times.
constexpr int needed[] = {4, 8, 10, 11, 12, 15, 16, 22, 23, 24, 25, 33};

bool wires(Bench const& bench, char const* signal) { return bench.io.inputs.count(signal) != 0; }

}  // namespace

guard::Declaration guard_declaration(Bench const& bench, std::uint16_t owner) {
  Declaration d;
  for (auto const& entry : bench.absent) {
    if (std::find(std::begin(needed), std::end(needed), entry.number) != std::end(needed)) {
      throw DocumentError(
          "guard.condition-needed", bench.file, "/absent",
          fmt::format("I{:02d} cannot be absent: the guard can prove nothing without it", entry.number));
    }
    if (entry.number >= 1 && entry.number <= 36) d.absent |= guard::bit(entry.number);
  }
  auto const& g = bench.guard;
  d.stale_ms = whole_ms(bench, "stale_s", g.stale);
  d.warning_ms = whole_ms(bench, "warning_s", g.warning);
  d.search_ms = whole_ms(bench, "search_window_s", g.search_window);
  d.armed_ms = whole_ms(bench, "armed_s", g.armed);
  d.discrepancy_ms = whole_ms(bench, "discrepancy_s", g.discrepancy);
  d.pick_up_ms = whole_ms(bench, "pick_up_s", g.pick_up);
  d.drop_out_ms = whole_ms(bench, "drop_out_s", g.drop_out);
  d.travel_ms = whole_ms(bench, "earth_travel_s", g.earth_travel);
  d.heartbeat_ms = whole_ms(bench, "heartbeat_s", g.heartbeat);
  d.watchdog_ms = static_cast<std::uint16_t>(std::min<std::uint32_t>(whole_ms(bench, "watchdog_s", g.watchdog), 65535));
  // I22, I23: the guard trips before the block's own watchdog can have cut, so that no order of before the silence
  // outlives it. The block hears a new value once a beat, a beat comes up to a turn late, the silence is seen a turn
  // late, and the next answer may come just before that.
  auto const beat_ms = d.heartbeat_ms + 3 * whole_ms(bench, "period_s", g.period);
  if (d.watchdog_ms > beat_ms) d.stale_ms = std::min(d.stale_ms, d.watchdog_ms - beat_ms);
  d.dwell_ms = whole_ms(bench, "low_dwell_s", g.low_dwell);
  d.low_for_ms = whole_ms(bench, "low_for_s", g.low_for);
  d.ramp_down_ms = whole_ms(bench, "ramp_down_s", g.ramp_down);
  d.regulator_ms = whole_ms(bench, "regulator_s", g.regulator);
  d.discharge_ms = whole_ms(bench, "discharge_s", g.discharge);
  d.over_current_ms = whole_ms(bench, "over_current_s", g.over_current);
  d.low_mv = whole(g.low_v * 1000.0);
  d.owner = owner;
  for (auto const& source : bench.sources) {
    auto const path = static_cast<int>(source.path);
    if (path > 0 && path < max_sources) d.sources = static_cast<std::uint8_t>(d.sources | (1 << path));
  }
  d.gates = static_cast<std::uint8_t>(std::clamp(bench.gates, 0, max_gates));
  d.walk_in = bench.walk_in;
  d.has_relay = wires(bench, "voltage_absent");
  d.has_chain = wires(bench, "chain_closed");
  d.has_breaker = wires(bench, "breaker_closed");
  d.has_red = wires(bench, "red_lit");
  d.has_green = wires(bench, "green_lit");
  d.has_crane = wires(bench, "crane_clear");
  d.noise_mv = whole(std::ceil(1000.0 * std::max(bench.io.output_noise_v, bench.io.output_least_count_v)));
  auto const& e = bench.envelope;
  // A short circuit may read far above the envelope's current: that is I15's; three times it is no reading any more.
  d.highest_mv = whole(1.25e3 * std::max({e.source.in(volts), e.dielectric.in(volts), e.terminal.in(volts)}));
  d.highest_ma = whole(3.0e3 * std::max(e.source_current.in(amperes), e.dielectric_current.in(amperes)));
  if (d.highest_ma == 0) d.highest_ma = std::numeric_limits<std::int32_t>::max();
  if (d.highest_mv == 0) d.highest_mv = std::numeric_limits<std::int32_t>::max();
  return d;
}

Result_<guard::StepLimits, std::string> step_limits(StepEnergy const& step, guard::Declaration const& bench) {
  auto const bad = [&step](std::string const& why) { return fmt::format("step {}: {}", step.test, why); };
  auto const path = static_cast<int>(step.source);
  if (path <= 0 || path >= max_sources) return bad("no source path is declared");
  if ((bench.sources >> path & 1) == 0) return bad("this bench has no such source path");
  bool const direct = step.source == SourcePath::resistance;
  if (direct != (step.stop == StopWay::direct_current)) {
    return bad("a direct-current source is stopped by short and decay, and nothing else is");
  }
  double const ratio = step.highest_ratio;
  if (!std::isfinite(ratio) || ratio < 1.0)
    return bad(fmt::format("highest ratio {} is not a number from 1 up", ratio));
  if (!(step.longest.in(seconds) > 0.0) || step.longest.in(hours) > 24.0) {
    return bad("the longest time energised must be above zero and below a day");
  }
  StepLimits s;
  s.source = step.source;
  s.stop = step.stop;
  s.longest_ms = static_cast<std::uint32_t>(std::ceil(step.longest.in(milliseconds)));
  s.live_terminals = step.live_terminals;
  s.earthed_terminals = step.earthed_terminals;
  s.low_mv = whole(bench.low_mv / ratio);
  s.resolves_low = 3 * bench.noise_mv <= s.low_mv;
  if (direct) {
    double const set = step.set_direct.in(milliamperes), limit = step.direct_limit.in(milliamperes);
    if (!(set > 0.0) || set > 1e6) return bad("the direct current must be above zero");
    if (bench.absent & guard::bit(29)) return bad("this bench cannot prove that a direct current has decayed (I29)");
    if (!(limit > 0.0)) return bad("the current below which the winding counts as discharged must be above zero");
    s.set_ua = whole(1e3 * set);
    // I29: 1 % of the current, 10 mA, and what the step says (5 % of the winding's exciting current).
    s.direct_limit_ua = std::max(whole(1e3 * std::min({0.01 * set, 10.0, limit})), 1);
    return s;
  }
  double const set = step.set.in(millivolts), ceiling = step.ceiling.in(millivolts);
  if (!(set > 0.0) || set > 1e9) return bad("the voltage must be above zero");
  if (!(ceiling >= set) || ceiling > 1.5e9) return bad("the ceiling must not be below the voltage");
  bool const regulated = step.source == SourcePath::ac_source || step.source == SourcePath::dielectric;
  double const trip = step.trip_current.in(milliamperes);
  if (regulated && (!(trip > 0.0) || trip > 2e9)) return bad("the over-current limit must be above zero (I15)");
  double const rise = step.rise_per_second.in(millivolts);
  if (!(rise >= 0.0)) return bad("the rate of rise must not be negative");
  s.set_mv = whole(set);
  s.ceiling_mv = whole(ceiling);
  s.zero_mv = whole(0.02 * set);     // I13
  s.quarter_mv = whole(0.25 * set);  // I17
  s.resolves_zero = 3 * bench.noise_mv <= s.zero_mv;
  // I36: well above the noise, and where the connection allows above LOW itself.
  s.seen_mv = std::max({10 * bench.noise_mv, std::min(s.low_mv, s.quarter_mv), 1});
  s.rise_mv_per_s = rise > 0.0 ? std::max(whole(rise), 1) : 0;
  s.trip_ma = whole(trip);
  return s;
}

}  // namespace benchward
