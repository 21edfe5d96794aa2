// SPDX-License-Identifier: MIT
#include "tests_seq/guard/guard.hpp"
#include "tests_seq/guard/image.hpp"

// Time and memory. Counters that rest on the image stand still in a turn without an answer: an order that was not
// answered may not have arrived, so its feedback is not late yet; the link's own age runs on and trips (I23).

namespace benchward::guard {
namespace {

using S = GuardState;

constexpr std::uint32_t sum(std::uint32_t a, std::uint32_t b) { return a > ~0u - b ? ~0u : a + b; }
constexpr void count(std::uint32_t& timer, bool while_true, std::uint32_t elapsed) {
  timer = while_true ? sum(timer, elapsed) : 0;
}

constexpr std::int32_t moved(std::int32_t from, std::int64_t by) {
  auto const to = from + by;
  return to > INT32_MAX ? INT32_MAX : to < 0 ? 0 : static_cast<std::int32_t>(to);
}

// What a rate per second comes to in a turn, without a 64-bit division (a small controller has none). A turn above one
// second counts as one second: less rise is then allowed, and so late a turn is a trip by itself (I23).
constexpr std::int32_t in_turn(std::int32_t per_second, std::uint32_t elapsed) {
  auto const ms = static_cast<std::int32_t>(elapsed < 1000u ? elapsed : 1000u);
  return per_second / 1000 * ms + per_second % 1000 * ms / 1000;
}

// I04. Latched when the two channels disagree for too long; cleared only after both were open, then both closed.
constexpr void pair(Watch& w, int n, bool a, bool b, std::uint32_t elapsed, std::uint32_t limit) {
  auto const mark = static_cast<std::uint8_t>(1u << n);
  count(w.apart_ms[n], a != b, elapsed);
  if (w.apart_ms[n] > limit) {
    w.apart = static_cast<std::uint8_t>(w.apart | mark);
    w.apart_cleared = static_cast<std::uint8_t>(w.apart_cleared & ~mark);
  }
  if (!a && !b) w.apart_cleared = static_cast<std::uint8_t>(w.apart_cleared | mark);
  if (a && b && (w.apart_cleared & mark) != 0) w.apart = static_cast<std::uint8_t>(w.apart & ~mark);
  if (a && b) w.apart_cleared = static_cast<std::uint8_t>(w.apart_cleared & ~mark);
}

// Rule 5: the reset acts on its trailing edge, after a press of 0.1 to 3 s that began after the trip; a taped button
// never.
constexpr void reset(Watch& w, BenchInputs const& in, Machine const& m, std::uint32_t elapsed) {
  w.reset_edge = false;
  if (m.at == S::tripped && w.was != S::tripped) {
    w.reset_was_up = false;
    w.reset_ms = 0;
  }
  if (in.reset_pressed) {
    if (w.reset_was_up) w.reset_ms = sum(w.reset_ms, elapsed);
    return;
  }
  w.reset_edge = w.reset_ms >= 100 && w.reset_ms <= 3000;
  w.reset_ms = 0;
  w.reset_was_up = true;
}

constexpr void resets(Watch& w, Machine const& m, std::uint32_t elapsed) {
  for (auto& ago : w.reset_ago_ms) ago = sum(ago, elapsed);
  if (w.was == S::tripped && m.at == S::safe_earthed) {
    w.reset_ago_ms[2] = w.reset_ago_ms[1];
    w.reset_ago_ms[1] = w.reset_ago_ms[0];
    w.reset_ago_ms[0] = 0;
  }
}

constexpr void volts(Watch& w, BenchInputs const& in, Machine const& m, Orders const& orders, Mirrors const& mirrors,
                     StepLimits const& step, std::uint32_t elapsed, Declaration const& bench) {
  auto const v = size_of(in.output_mv);
  bool const high = v > step.low_mv;
  bool const energised = m.at == S::ramp_up || m.at == S::hold || m.at == S::ramp_down;
  count(w.low_ms, in.output_good && !high, elapsed);
  // I12. A charge that an insulation test leaves decays through the resistor: S9 has its bound for it.
  count(w.driven_ms,
        in.output_good && high && mirrors.all_open && orders.coils == Coils::none &&
            step.source != SourcePath::insulation,
        elapsed);
  // I36: in this energisation. What a lockout left behind counts as after a restart.
  if (m.at == S::closing || m.at == S::safe_earthed || (m.at == S::unknown && w.was == S::lockout)) {
    w.seen_voltage = w.seen_current = false;
  }
  if (energised && mirrors.first && mirrors.second) {
    if (in.output_good && v >= step.seen_mv && step.seen_mv > 0) w.seen_voltage = true;
    if (in.direct_good && step.set_ua > 0 && size_of(in.direct_ua) >= step.set_ua / 4) w.seen_current = true;
  }
  // I14: the regulator has left zero and no volts come: regulator, source or voltage channel dead.
  count(w.no_volts_ms,
        (m.at == S::ramp_up || m.at == S::hold) && regulated(step.source) && !in.regulator_at_zero &&
            v < step.set_mv / 200,
        elapsed);
  // I24: half the volts and no trace of a current. Every unit draws some; the channel is dead, and I15 with it.
  count(w.no_current_ms,
        (m.at == S::ramp_up || m.at == S::hold) && regulated(step.source) && in.output_good && v > step.set_mv / 2 &&
            size_of(in.output_ma) <= step.trip_ma / 5000,
        elapsed);
  // I14: no fall while lowered.
  if (m.at == S::ramp_down && m.stage == Stage::first && regulated(step.source)) {
    if (w.was != S::ramp_down || v <= w.down_mv - step.set_mv / 100) {
      w.down_mv = v;
      w.down_ms = 0;
    }
    count(w.down_ms, v > step.zero_mv, elapsed);
  } else {
    w.down_ms = 0;
    w.down_mv = v;
  }
  // I14: what the hold began with, its settling included.
  if (m.at != S::hold) {
    w.hold_mv = 0;
  } else if (w.state_ms <= bench.discrepancy_ms && v > w.hold_mv) {
    w.hold_mv = v;
  }
  // I17: the fastest the plan allows. The mark follows a fall at once and a rise at that rate.
  if (energised || m.at == S::closing) {
    auto const allowed = moved(w.rise_mv, in_turn(step.rise_mv_per_s, elapsed));
    w.rise_mv = v < allowed || elapsed == 0 ? v : allowed;
  } else {
    w.rise_mv = v;
  }
  // I15, flash-over: volts that halve faster than any ramp. The mark falls by the set value in a second. Volts that are
  // gone with the contactors tell of the chain, or of a block that cut while nobody looked, and nothing of the unit.
  if ((m.at == S::ramp_up || m.at == S::hold) && step.stop == StopWay::dielectric) {
    auto const fallen = moved(w.follow_mv, -in_turn(step.set_mv, elapsed));
    w.follow_mv = v > fallen ? v : fallen;
    bool const fed = mirrors.first && mirrors.second;
    if (fed && in.output_good && v < w.follow_mv / 2 && w.follow_mv > step.set_mv / 4) w.collapsed = true;
  } else {
    w.follow_mv = 0;
    w.collapsed = false;
  }
}

}  // namespace

Watch observe(Watch const& before, BenchInputs const& in, Heard heard, Machine const& m, Orders const& orders,
              std::uint16_t heartbeat, Declaration const& bench, StepLimits const& step) {
  auto w = before;
  auto const elapsed = heard.elapsed_ms;
  // An order that was not answered may not have arrived: its feedback is not late, and a lamp that is not lit warns
  // nobody (I07).
  bool const needs_answer = m.at == S::warning || m.at == S::closing ||
                            (m.at == S::ramp_down && (m.stage == Stage::second || m.stage == Stage::third));
  w.state_ms = m.at == w.was ? sum(w.state_ms, elapsed) : 0;
  if (heard.ok || !needs_answer) w.bound_ms = sum(w.bound_ms, elapsed);
  w.dwell_ms = sum(w.dwell_ms, elapsed);
  resets(w, m, elapsed);
  if (m.at == S::closing && w.was != S::closing) w.energised_ms = 0;
  if (orders.coils != Coils::none) w.energised_ms = sum(w.energised_ms, elapsed);

  w.fresh = heard.ok;
  w.late_ms = elapsed;
  w.age_ms = heard.ok ? heard.age_ms : sum(w.age_ms, elapsed);
  bool const scanned = heard.ok && (in.scan != w.last_scan || !w.ever);
  w.scan_ms = scanned ? 0 : sum(w.scan_ms, elapsed);
  w.reset_edge = false;
  if (heard.ok) {
    w.ever = true;
    w.last_scan = in.scan;
    // I22: the echo must be one of the last few beats of ours, and change.
    bool const ours = static_cast<std::uint16_t>(heartbeat - in.heartbeat_echo) <= 4;
    w.beat_ms = ours && in.heartbeat_echo != w.last_beat ? 0 : sum(w.beat_ms, elapsed);
    w.last_beat = in.heartbeat_echo;
    if (in.owner_echo == bench.owner) w.owner_seen = true;
    count(w.foreign_ms, in.owner_echo != bench.owner && in.owner_echo != 0, elapsed);

    // Nobody looked in a turn that comes too late (I23): what the image shows now counts from now, as a proof and as a
    // flaw.
    auto const seen = elapsed > bench.stale_ms || w.age_ms > bench.stale_ms ? 0u : elapsed;
    pair(w, 0, in.stop_a, in.stop_b, seen, bench.discrepancy_ms);
    for (int gate = 0; gate < bench.gates && gate < max_gates; ++gate) {
      pair(w, 1 + gate, in.gate_a[gate], in.gate_b[gate], seen, bench.discrepancy_ms);
    }
    bool const closed = gates_closed(in, bench);
    if (w.gates_were_closed && !closed) w.gate_openings = sum(w.gate_openings, 1);
    w.gates_were_closed = closed;
    w.search_ms = !in.area_searched ? 0 : closed ? w.search_ms : sum(w.search_ms, elapsed);  // I05

    auto const mirrors = mirrors_of(in, bench, step, orders.coils);
    bool const earth_follows =
        orders.earth_open ? in.earth_open && !in.earth_closed : in.earth_closed && !in.earth_open;
    count(w.earth_wrong_ms, !earth_follows, seen);
    count(w.not_open_ms, mirrors.not_opened, seen);
    count(w.not_closed_ms, mirrors.not_closed, seen);
    count(w.open_ms, mirrors.all_open, seen);
    count(w.short_wrong_ms, step.source == SourcePath::resistance && orders.consent == in.short_closed, seen);
    count(w.direct_ms, in.short_closed && in.direct_good && size_of(in.direct_ua) <= step.direct_limit_ua, seen);
    count(w.red_ms, orders.red, seen);
    count(w.siren_ms, orders.siren, seen);
    bool const over = (step.trip_ma > 0 && size_of(in.output_ma) > step.trip_ma) ||
                      (step.set_ua > 0 && size_of(in.direct_ua) - step.set_ua > step.set_ua / 10);
    count(w.over_ms, over, seen);
    volts(w, in, m, orders, mirrors, step, seen, bench);
    reset(w, in, m, seen);
  }
  w.was = m.at;
  return w;
}

}  // namespace benchward::guard
