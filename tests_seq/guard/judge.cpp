// SPDX-License-Identifier: MIT
#include "tests_seq/guard/guard.hpp"
#include "tests_seq/guard/image.hpp"

// Conditions I01 to I36 on one image. First everything that is broken, whatever the state; then what of it counts in
// this state, as trip, as missing permissive, as lockout.

namespace benchward::guard {
namespace {

using S = GuardState;

constexpr Mask set_of(int a) { return bit(a); }
template <class... More>
constexpr Mask set_of(int a, More... more) {
  return bit(a) | set_of(more...);
}

// What a person or the area must fulfil before the gate locks; before the earth opens; before contactors close.
constexpr Mask for_lock = set_of(1, 2, 4, 5, 9, 18, 19, 20, 22, 26, 34);
// The chain holds the earth's coil too: an earth ordered open on an open chain would only look like one that sticks.
constexpr Mask for_opening = for_lock | set_of(3, 6, chain_open);
constexpr Mask for_closing = for_opening | set_of(10, 12, 13, 21, 30, 35);

// Trips by state. A permissive that is lost while nothing is energised ends the arming without a trip.
constexpr Mask while_earth_open = set_of(1, 2, 3, 22, 23, chain_open);
constexpr Mask while_closing = set_of(1, 2, 3, 6, 9, 11, 15, 16, 18, 19, 20, 21, 22, 23, 24, 26, 33, 34, chain_open);
constexpr Mask while_energised = while_closing | set_of(14, 17);
constexpr Mask cause_still_there = set_of(1, 2, 3, 19, 20, 22, 23, 24, 26);
constexpr Mask nobody = bit(0);  ///< person inside or key out (I05), kept on the unused bit until it becomes I05

constexpr Mask trips_in(S state) {
  switch (state) {
    case S::unknown:
    case S::safe_earthed:
    case S::securing:
    case S::warning:
      return 0;
    case S::armed:
      return while_earth_open | nobody;
    case S::closing:
      return while_closing | nobody;
    case S::ramp_up:
    case S::hold:
      return while_energised | nobody;
    case S::ramp_down:
      return (while_energised | nobody) & ~bit(21);  // hands may leave the control: it is going down
    case S::discharge:
      return while_earth_open | nobody;
    case S::earthing:
      return (while_earth_open | nobody) & ~bit(chain_open);
    case S::tripped:
      return cause_still_there | nobody;
    case S::lockout:
      return 0;
  }
  return ~Mask{0};
}

constexpr bool energised(S state) {
  return state == S::closing || state == S::ramp_up || state == S::hold || state == S::ramp_down;
}

// The order in which a person wants to hear of causes that stand in one image: what somebody did, what the unit did,
// what the bench did, and last what follows from the others (an open chain drops contactors).
constexpr std::uint8_t importance[] = {foreign_owner,
                                       1,
                                       2,
                                       5,
                                       3,
                                       9,
                                       21,
                                       16,
                                       15,
                                       19,
                                       20,
                                       26,
                                       4,
                                       12,
                                       8,
                                       too_many_resets,
                                       chain_open,
                                       11,
                                       14,
                                       17,
                                       13,
                                       24,
                                       18,
                                       33,
                                       34,
                                       6,
                                       22,
                                       23,
                                       10,
                                       29,
                                       30,
                                       35,
                                       36};

// What a block does by itself while nobody hears of it (its watchdog cuts), and what the first look after a gap cannot
// judge. Where the link or this program stood still, these follow from that (I23).
constexpr Mask follows_a_gap = set_of(chain_open, 11, 14, 17, 13, 24, 18, 33, 34, 6, 22, 8);

constexpr std::uint8_t first_of(Mask mask) {
  std::uint8_t first = 0;
  if ((mask & bit(23)) != 0) mask &= ~follows_a_gap;
  for (int n = static_cast<int>(sizeof importance) - 1; n >= 0; --n) {  // the most important is looked at last
    if ((mask & bit(importance[n])) != 0) first = importance[n];
  }
  return first;
}

struct Seen {
  Mirrors mirrors;
  Contactors contactors = Contactors::open;
  Earth earth = Earth::moving;
  Level level = Level::zero;
  Low low = Low::unproven;
  bool direct_done = false, store_empty = false, lost = false;
};

constexpr Contactors contactors_of(BenchInputs const& in, Watch const& w, Declaration const& bench, Mirrors const& m) {
  bool const late = w.not_open_ms > bench.drop_out_ms;
  if (late || m.other) {
    bool const cut = bench.has_breaker && !in.breaker_closed;
    return late && m.pair && !cut ? Contactors::fused : Contactors::stuck;
  }
  if (m.first) return m.second ? Contactors::both : Contactors::first;
  return m.second ? Contactors::second : Contactors::open;
}

constexpr Earth earth_of(BenchInputs const& in) {
  if (in.earth_closed) return in.earth_open ? Earth::disagree : Earth::closed;
  return in.earth_open ? Earth::open : Earth::moving;
}

// I29. Measured, with the short in place, for its time. Without a direct-current path nothing is to be proven.
constexpr bool direct_done(Watch const& w, Declaration const& bench, StepLimits const& step) {
  bool const has_direct = has_source(bench, static_cast<int>(SourcePath::resistance)) && wired(bench, 29);
  if (step.source == SourcePath::resistance) return w.direct_ms >= bench.dwell_ms;
  return step.source != SourcePath::none || !has_direct || w.direct_ms >= bench.dwell_ms;
}

// I13, I17 and how far down a stop must go before contactors may open.
constexpr Level level_of(BenchInputs const& in, Declaration const& bench, StepLimits const& step, bool decayed) {
  if (step.source == SourcePath::none) return Level::zero;
  if (step.source == SourcePath::resistance) return decayed ? Level::zero : Level::up;
  auto const v = size_of(in.output_mv);
  bool const near_zero = in.output_good && step.resolves_zero && v <= step.zero_mv;
  if (!regulated(step.source))
    return near_zero ? Level::zero : Level::lowered;  // milliamperes: may be opened at any level
  if (near_zero && (in.regulator_at_zero || !wired(bench, 13))) return Level::zero;
  bool const quarter = step.stop == StopWay::dielectric && in.output_good && v <= step.quarter_mv;
  return quarter ? Level::lowered : Level::up;
}

// I36: a channel that is good and has read a plausible voltage in this energisation, or the independent relay.
constexpr Low low_of(BenchInputs const& in, Watch const& w, Declaration const& bench, StepLimits const& step,
                     bool decayed) {
  if (in.output_good && size_of(in.output_mv) > step.low_mv) return Low::high;
  bool const relay = bench.has_relay && in.voltage_absent;
  if (step.source == SourcePath::resistance) {
    return decayed && (w.seen_current || relay) ? Low::proven : Low::unproven;
  }
  bool const channel = step.resolves_low && w.seen_voltage;
  return in.output_good && w.low_ms >= bench.low_for_ms && (channel || relay) ? Low::proven : Low::unproven;
}

constexpr bool locked(BenchInputs const& in, Declaration const& bench) {
  for (int gate = 0; gate < bench.gates && gate < max_gates; ++gate) {
    if (!in.gate_locked[gate]) return false;
  }
  return true;
}

// I06. A lamp has its time to change when red is ordered; after that one image that is wrong is enough: green that
// comes on in the last moments of the warning must not meet an earth that opens.
constexpr bool lamps_wrong(BenchInputs const& in, Watch const& w, Declaration const& bench) {
  bool const dark = !in.red_ok || (bench.has_red && !in.red_lit);
  bool const lamps = w.red_ms > bench.discrepancy_ms && (dark || (bench.has_green && in.green_lit));
  return lamps || (w.siren_ms > bench.discrepancy_ms && !in.siren_ok);
}

// I14. With the set value known and the regulator the source's own: no volts, no fall, a rise where none may be.
constexpr bool regulator_wrong(BenchInputs const& in, Watch const& w, Declaration const& bench, StepLimits const& step,
                               Machine const& m) {
  if (!regulated(step.source)) return false;
  auto const v = size_of(in.output_mv);
  auto const noise = 3 * bench.noise_mv;
  if (w.no_volts_ms > bench.regulator_ms || w.down_ms > bench.regulator_ms) return true;
  if (m.at == S::hold && w.state_ms > bench.discrepancy_ms && v - w.hold_mv > w.hold_mv / 100 + noise) return true;
  return m.at == S::ramp_down && m.stage == Stage::first && v - w.down_mv > step.set_mv / 50 + noise;
}

constexpr bool impossible(BenchInputs const& in, Watch const& w, Declaration const& bench, StepLimits const& step) {
  if (step.source == SourcePath::resistance) return !in.direct_good;
  // An effective value is not negative; noise about zero is.
  return !in.output_good || in.output_mv < -10 * bench.noise_mv || in.output_ma < -bench.highest_ma / 100 ||
         in.output_mv > bench.highest_mv || in.output_ma > bench.highest_ma || w.no_current_ms > bench.regulator_ms;
}

constexpr Mask broken(BenchInputs const& in, Watch const& w, Declaration const& bench, StepLimits const& step,
                      Machine const& m, Seen const& s) {
  Mask b = 0;
  auto const note = [&b](int condition, bool wrong) { b |= Mask{wrong} << condition; };
  bool const inside = in.person_inside || (bench.walk_in && !in.keys_home);
  bool const live = energised(m.at);
  note(1, !in.stop_a || !in.stop_b);
  note(2, !gates_closed(in, bench));
  note(3, !locked(in, bench));
  note(4, w.apart != 0);
  note(0, inside && wired(bench, 5));
  note(5, inside || (bench.walk_in &&
                     (!in.area_searched || w.search_ms > bench.search_ms || (bench.has_crane && !in.crane_clear))));
  note(6, lamps_wrong(in, w, bench));
  note(9, !in.hooks_home);
  note(10, s.mirrors.not_opened);
  note(11, w.not_closed_ms > bench.pick_up_ms);
  note(12, s.low == Low::high && s.mirrors.all_open);
  note(13, s.level != Level::zero);
  note(14, regulator_wrong(in, w, bench, step, m));
  // Half of the time allowed is for this program and its link.
  note(15, w.over_ms >= bench.over_current_ms / 2 + 1 || w.collapsed);
  note(16, step.source != SourcePath::resistance && in.output_good && in.output_mv > step.ceiling_mv);
  note(17,
       step.rise_mv_per_s > 0 && in.output_good && in.output_mv - w.rise_mv > step.set_mv / 20 + 3 * bench.noise_mv);
  note(18, w.short_wrong_ms > bench.discrepancy_ms);
  note(19, !in.ground_ok);
  note(20, !in.covers_closed);
  note(21, !in.two_hand);
  note(22, in.watchdog_ms == 0 || in.watchdog_ms > bench.watchdog_ms || w.beat_ms > bench.watchdog_ms ||
               in.owner_echo != bench.owner);
  note(23, s.lost);
  note(24, live && impossible(in, w, bench, step));
  note(26, !in.source_healthy || (bench.has_breaker && !in.breaker_closed));
  note(30, in.resistor_on);
  note(33, step.longest_ms > 0 && w.energised_ms > step.longest_ms);
  note(34, !s.mirrors.isolated);
  note(35, !s.store_empty);
  note(chain_open, bench.has_chain && !in.chain_closed);
  return b & ~(bench.absent & ~bit(0));
}

// Never by declaration absent: without these the guard proves nothing.
constexpr Mask locking(Watch const& w, Declaration const& bench, Machine const& m, Seen const& s) {
  Mask b = 0;
  auto const note = [&b](int condition, bool wrong) { b |= Mask{wrong} << condition; };
  note(4, w.apart != 0);
  note(8, w.ever && (s.earth == Earth::disagree || w.earth_wrong_ms > bench.travel_ms));
  note(11, w.not_open_ms > bench.drop_out_ms);
  note(12, w.driven_ms > bench.low_for_ms);
  // Rule 5: the fourth reset within ten minutes.
  note(too_many_resets, m.at == S::tripped && m.stage == Stage::third && w.reset_edge && w.reset_ago_ms[2] < 600000u);
  note(foreign_owner, w.foreign_ms > 0 && (w.owner_seen || w.foreign_ms > bench.watchdog_ms));
  return b;
}

constexpr Permissives permissives_of(Mask b, Watch const& w, bool lost) {
  if (lost || (b & for_lock) != 0) return Permissives::missing;
  if ((b & for_opening) != 0) return Permissives::lockable;
  // Fresh: this image is of this turn. Older ones may keep a warning running; they never close a contactor.
  return w.fresh && (b & for_closing) == 0 ? Permissives::ready : Permissives::secured;
}

constexpr Mask missing_in(Machine const& m, Mask b, Findings const& f, bool resistor_needed) {
  Mask on_the_way = 0;
  auto const note = [&on_the_way](int condition, bool wrong) { on_the_way |= Mask{wrong} << condition; };
  note(8, f.earth != Earth::closed);
  note(10, f.contactors != Contactors::open);
  note(29, !f.direct_done);
  note(30, resistor_needed && !f.resistor_on);
  note(35, !f.store_empty);
  note(36, f.low != Low::proven && m.owed != Owed::nothing);
  note(23, f.hazard == Hazard::lost);
  switch (m.at) {
    case S::unknown:
      return on_the_way;
    case S::safe_earthed:
      return 0;
    case S::securing:
      return b & (m.stage == Stage::first ? for_lock : for_opening);  // the lock comes after the people
    case S::warning:
      return (b & for_opening) | bit(7);
    case S::armed:
      return m.stage == Stage::first ? bit(8) | (b & for_opening) : b & for_closing;
    case S::closing:
    case S::ramp_up:
    case S::hold:
      return 0;
    case S::ramp_down:
      return f.level == Level::zero ? 0 : bit(13);
    case S::discharge:
      return on_the_way & ~bit(8);
    case S::earthing:
      return on_the_way;
    case S::tripped:
      return on_the_way | ((b | ((b & nobody) != 0 ? bit(5) : 0)) & cause_still_there);
    case S::lockout:
      return on_the_way;
  }
  return 0;
}

}  // namespace

Judgement judge(BenchInputs const& in, Watch const& w, Declaration const& bench, StepLimits const& step,
                Machine const& m, Orders const& orders) {
  Seen s;
  s.mirrors = mirrors_of(in, bench, step, orders.coils);
  s.contactors = contactors_of(in, w, bench, s.mirrors);
  s.earth = earth_of(in);
  s.direct_done = direct_done(w, bench, step);
  s.level = level_of(in, bench, step, s.direct_done);
  s.low = low_of(in, w, bench, step, s.direct_done);
  s.store_empty = s.mirrors.stores_empty || !wired(bench, 35);
  // I23: no answer for the stale limit, a block whose scan stands still, or this program itself too late.
  s.lost = !w.ever || w.age_ms > bench.stale_ms || w.scan_ms > bench.stale_ms || w.late_ms > bench.stale_ms;

  Judgement j;
  auto const b = broken(in, w, bench, step, m, s);
  j.trips = b & trips_in(m.at);
  if ((j.trips & nobody) != 0) j.trips = (j.trips & ~nobody) | bit(5);
  j.lockouts = locking(w, bench, m, s);
  auto& f = j.findings;
  f.hazard = j.lockouts != 0 ? Hazard::lockout : s.lost ? Hazard::lost : j.trips != 0 ? Hazard::trip : Hazard::none;
  f.permissives = permissives_of(b, w, s.lost);
  f.contactors = s.contactors;
  f.earth = s.earth;
  f.low = s.low;
  f.level = s.level;
  f.direct_done = s.direct_done;
  f.resistor_on = in.resistor_on || !wired(bench, 30);
  f.store_empty = s.store_empty;
  f.reset_edge = w.reset_edge;
  j.missing = missing_in(m, b, f, wired(bench, 30));
  if ((j.trips | j.lockouts) != 0) j.first = first_of(j.trips | j.lockouts);
  return j;
}

}  // namespace benchward::guard
