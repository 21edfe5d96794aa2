// SPDX-License-Identifier: MIT
#include "judge_subjects.hpp"

namespace benchward::guard::proof {
namespace {

using S = GuardState;

std::vector<JudgeCheck> list() {
  auto checks = condition_checks();
  for (auto const& subject : {reading_checks(), wiring_checks(), time_checks()}) {
    checks.insert(checks.end(), subject.begin(), subject.end());
  }
  return checks;
}

}  // namespace

Orders orders_in(S state) {
  Orders o;
  if (state == S::ramp_up || state == S::hold) o.coils = Coils::both;
  o.earth_open = state >= S::armed && state <= S::discharge;
  o.lock = o.red = state != S::safe_earthed;
  return o;
}

Declaration full_bench() {
  Declaration d;
  d.owner = 1234;
  d.sources = 0b111110;
  d.gates = 2;
  d.walk_in = true;
  d.has_relay = d.has_chain = d.has_breaker = d.has_red = d.has_green = true;
  d.highest_mv = 60'000'000;
  d.highest_ma = 100'000;
  return d;
}

StepLimits full_step(SourcePath source) {
  StepLimits s;
  s.source = source;
  s.resolves_low = true;
  s.set_mv = 1'000'000;
  s.ceiling_mv = 1'100'000;
  s.low_mv = 1'666;
  s.zero_mv = 20'000;
  s.quarter_mv = 250'000;
  s.seen_mv = 1'666;
  s.trip_ma = 10'000;
  s.longest_ms = 60'000;
  if (source == SourcePath::resistance) {
    s.stop = StopWay::direct_current;
    s.set_ua = 1'000'000;
    s.direct_limit_ua = 10'000;
    s.set_mv = s.trip_ma = 0;
  }
  return s;
}

BenchInputs healthy_image(GuardState state, Declaration const& bench, StepLimits const& step) {
  BenchInputs in;
  in.stop_a = in.stop_b = true;
  for (int gate = 0; gate < 2; ++gate) in.gate_a[gate] = in.gate_b[gate] = in.gate_locked[gate] = true;
  in.chain_closed = in.red_ok = in.siren_ok = true;
  bool const earth_open = state >= S::armed && state <= S::discharge;
  in.earth_open = earth_open;
  in.earth_closed = !earth_open;
  in.red_lit = state != S::safe_earthed;
  in.regulator_at_zero = in.source_healthy = in.voltage_absent = in.short_closed = true;
  in.hooks_home = in.keys_home = in.covers_closed = in.area_searched = true;
  in.two_hand = in.ground_ok = in.breaker_closed = in.crane_clear = true;
  for (auto& source : in.source)
    source.first_open = source.second_open = source.isolated = source.store_discharged = true;
  if (state == S::ramp_up || state == S::hold) {
    auto& source = in.source[static_cast<std::size_t>(step.source)];
    source.first_open = source.second_open = false;
  }
  in.output_good = in.direct_good = true;
  in.watchdog_ms = bench.watchdog_ms;
  in.owner_echo = bench.owner;
  return in;
}

std::vector<JudgeCheck> const& judge_checks() {
  static auto const checks = list();
  return checks;
}

}  // namespace benchward::guard::proof
