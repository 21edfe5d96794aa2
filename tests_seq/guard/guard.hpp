// SPDX-License-Identifier: MIT
#pragma once

/// The interlock guard as pure functions: `observe` keeps time and memory of the inputs, `judge` turns them into some
/// ten small findings, `advance` is the state machine. Freestanding C++20: no heap, exception, I/O or clock; the same
/// source compiles for a microcontroller. Times are milliseconds handed in, and saturate.
///
/// Not a safety function: the hard-wired chain must remove test power with this program off, hung or wrong. This code
/// requests, watches, refuses.

#include <cstdint>

#include "../../drivers/bench/bench_io.hpp"
#include "states.hpp"

namespace benchward::guard {

// ---- conditions ------------------------------------------------------------------------------------------------

/// Conditions by number: 1 to 36 are I01 to I36. The three after them have no number of their own in the list.
using Mask = std::uint64_t;
inline constexpr int too_many_resets = 37, foreign_owner = 38, chain_open = 39, condition_count = 40;
constexpr Mask bit(int condition) { return Mask{1} << condition; }

// ---- declarations: what bench and step say, worked out once by the host ------------------------------------------

/// Bench and its times. Trivially copyable; made by guard_declaration(Bench const&) in declaration.hpp.
struct Declaration {
  Mask absent = 0;  ///< conditions that the bench does not wire up, each declared with a reason
  std::uint32_t stale_ms = 1000, warning_ms = 5000, search_ms = 30000, armed_ms = 30000, discrepancy_ms = 500,
                pick_up_ms = 300, drop_out_ms = 200, travel_ms = 2000, heartbeat_ms = 200, dwell_ms = 2000,
                low_for_ms = 1000, ramp_down_ms = 15000, regulator_ms = 2000, discharge_ms = 30000,
                over_current_ms = 200;
  std::uint16_t watchdog_ms = 1000;
  std::uint16_t owner = 0;   ///< random number of this run in the heartbeat word
  std::uint8_t sources = 0;  ///< bit n: the bench has source path n
  std::uint8_t gates = 1;
  bool walk_in = false;
  bool has_relay = false, has_chain = false, has_breaker = false, has_red = false, has_green = false,
       has_crane = false;       ///< whether these signals are wired (an unwired one stays at its idle value)
  std::int32_t low_mv = 50000;  ///< LOW at the highest terminal
  std::int32_t noise_mv = 10;   ///< of the guard's voltage channel, and not below its least count
  std::int32_t highest_mv = 0, highest_ma = 0;  ///< the channel's range at the source's output: beyond it is impossible
};

/// What one step declared, in units of the source's output: each threshold "at any terminal" is already divided by the
/// largest ratio of the connection (volts are those of the highest terminal, fed or not).
struct StepLimits {
  SourcePath source = SourcePath::none;
  StopWay stop = StopWay::plain;
  bool resolves_low = false;  ///< 3 x noise is not above the LOW threshold: the channel may prove LOW (I36)
  bool resolves_zero = true;  ///< the channel resolves the zero-start threshold (I13)
  std::int32_t set_mv = 0, ceiling_mv = 0, low_mv = 50000, zero_mv = 0, quarter_mv = 0, seen_mv = 0;
  std::int32_t rise_mv_per_s = 0;  ///< 0: the plan sets no limit
  std::int32_t trip_ma = 0;
  std::int32_t set_ua = 0, direct_limit_ua = 10000;
  std::uint32_t longest_ms = 0;  ///< 0 only without a step
  std::uint16_t live_terminals = 0, earthed_terminals = 0;
};

// ---- the state machine's domain: small and finite -----------------------------------------------------------------

/// What a stage is depends on the state; see advance.cpp.
enum class Stage : std::uint8_t { first, second, third, fourth };

/// What must be proven before the area may be entered (I36, rule 13).
enum class Owed : std::uint8_t {
  nothing,  ///< no contactor closed since LOW and earth were last proven
  proof,    ///< energised since: LOW must be proven
  restart   ///< the program started: the unit may have been energised; where no channel can prove LOW, hand-applied
            ///< earth
};

struct alignas(8) Machine {  // one word: it is copied in every turn
  GuardState at = GuardState::unknown;
  Stage stage = Stage::first;
  Owed owed = Owed::restart;
  bool hold_area = false;     ///< the running stop ends ARMED again (rule 9)
  bool second_leads = false;  ///< the second contactor opens first at the next stop (I11: each proven to open alone)
  bool reset = false;         ///< TRIPPED: a proper press of the local reset has ended
  bool acknowledged = false;  ///< TRIPPED: a person has acknowledged
  bool operator==(Machine const&) const = default;
};

enum class Hazard : std::uint8_t { none, lost, trip, lockout };
enum class Permissives : std::uint8_t {
  missing,
  lockable,  ///< everything for SECURING but what follows the lock
  secured,   ///< I01 to I06, I09, I18 to I20, I34: the warning may run, the earth may open
  ready      ///< and I10, I12, I13, I22, I35: contactors may close
};
enum class Contactors : std::uint8_t {
  open,  ///< of every source, proven by both mirrors
  first,
  second,
  both,   ///< of the selected source not proven open
  stuck,  ///< ordered open, not open in time; the path has a gap still
  fused   ///< both of a pair: the path is closed and the upstream breaker not proven open
};
enum class Earth : std::uint8_t { closed, open, moving, disagree };
enum class Low : std::uint8_t { proven, unproven, high };
enum class Level : std::uint8_t { zero, lowered, up };

/// All that `advance` looks at.
struct Findings {
  Hazard hazard = Hazard::lost;
  Permissives permissives = Permissives::missing;
  Contactors contactors = Contactors::open;
  Earth earth = Earth::moving;
  Low low = Low::unproven;
  Level level = Level::zero;
  bool direct_done =
      false;  ///< I29: current decayed for its time and shorting contact closed (true without such a step)
  bool resistor_on = false;
  bool store_empty = false;  ///< I35: every source's energy store measured discharged
  bool reset_edge = false;   ///< a proper press of the local reset ended in this turn (rule 5: acts on release)
  bool operator==(Findings const&) const = default;
};

/// One wish a turn, the safest first. None of them energises by itself.
enum class Request : std::uint8_t {
  none,
  safe,
  stop,
  stop_hold,
  close,
  prepare,
  reached,
  raising,
  acknowledge,
  release
};
inline constexpr int request_count = 10;

enum class Timer : std::uint8_t { idle, running, expired };
struct Timers {
  Timer bound = Timer::idle;  ///< the state's (or stage's) own time
  Timer dwell = Timer::idle;  ///< the resistor's time
  bool operator==(Timers const&) const = default;
};

enum class Coils : std::uint8_t { none, first, second, both };

/// What the machine orders, by name; `outputs_of` turns it into the block's image.
struct Orders {
  Coils coils = Coils::none;  ///< of the selected source, never another's
  bool earth_open = false, resistor = false, lock = false, red = false, siren = false;
  bool ramp = false;     ///< ramp permitted
  bool consent = false;  ///< the permit lives
  bool breaker = false;  ///< upstream breaker tripped
  bool operator==(Orders const&) const = default;
};

struct Advanced {
  Machine machine;
  Orders orders;
  std::uint8_t cause = 0;  ///< a condition that the machine itself found broken (a bound that ran out)
  bool restart_bound = false, restart_dwell = false;
};

// ---- memory of the inputs -------------------------------------------------------------------------------------------

/// What a turn brought in.
struct Heard {
  bool ok = false;               ///< answered in this turn
  std::uint32_t age_ms = 0;      ///< of the image; of an answer that came late, the silence before it
  std::uint32_t elapsed_ms = 0;  ///< since the turn before
};

/// Time and memory. Every *_ms saturates. Trivially copyable.
struct Watch {
  std::uint32_t state_ms = 0, bound_ms = 0, dwell_ms = 0;
  std::uint32_t age_ms = 0, scan_ms = 0, beat_ms = 0, late_ms = 0;
  std::uint32_t apart_ms[1 + max_gates] = {};  ///< two channels disagree: stops, gates (I04)
  std::uint8_t apart = 0, apart_cleared = 0;   ///< bit n latched; bit n: both seen open since
  std::uint32_t search_ms = 0;                 ///< gate open after the area was searched (I05)
  std::uint32_t earth_wrong_ms = 0, not_open_ms = 0, not_closed_ms = 0, short_wrong_ms = 0;
  std::uint32_t open_ms = 0, low_ms = 0, driven_ms = 0, direct_ms = 0;
  std::uint32_t over_ms = 0, no_volts_ms = 0, no_current_ms = 0, down_ms = 0, energised_ms = 0, reset_ms = 0,
                red_ms = 0, siren_ms = 0, foreign_ms = 0;
  std::uint32_t reset_ago_ms[3] = {~0u, ~0u, ~0u};  ///< the last three accepted resets
  std::uint32_t gate_openings = 0;
  std::int32_t hold_mv = 0, down_mv = 0, follow_mv = 0, rise_mv = 0;
  std::uint16_t last_scan = 0, last_beat = 0;
  bool fresh = false, ever = false, owner_seen = false, gates_were_closed = false;
  bool seen_voltage = false, seen_current = false, collapsed = false, reset_edge = false, reset_was_up = false;
  GuardState was = GuardState::unknown;
};

struct Judgement {
  Findings findings;
  Mask trips = 0, lockouts = 0;  ///< what is broken now, of the conditions that count in this state
  Mask missing = 0;              ///< permissives that the next step of this state waits for
  std::uint8_t first = 0;        ///< of the broken ones, the one that a person should hear first
};

// ---- the functions
// ---------------------------------------------------------------------------------------------------

/// State at program start: UNKNOWN, everything off, nothing resumed (I25).
constexpr Machine at_start() { return {}; }
constexpr Orders orders_at_start() {
  Orders orders;
  orders.lock = orders.red = orders.resistor = true;
  return orders;
}

/// Timers and memory after one more image. `orders` are those that were out while the image was made.
Watch observe(Watch const& before, BenchInputs const& in, Heard heard, Machine const& machine, Orders const& orders,
              std::uint16_t heartbeat, Declaration const& bench, StepLimits const& step);

/// The conditions I01 to I36 on one image.
Judgement judge(BenchInputs const& in, Watch const& watch, Declaration const& bench, StepLimits const& step,
                Machine const& machine, Orders const& orders);

/// One step of the state machine. The only function that commands energy.
Advanced advance(Machine const& machine, Findings const& findings, Request request, Timers timers);

/// Durations of the two timers in a state, milliseconds.
std::uint32_t bound_of(Machine const& machine, Declaration const& bench, StepLimits const& step, Watch const& watch);
std::uint32_t dwell_of(Machine const& machine, Declaration const& bench, StepLimits const& step, Watch const& watch);

/// The block's output image for an order.
BenchOutputs outputs_of(Orders const& orders, Declaration const& bench, StepLimits const& step, std::uint16_t heartbeat,
                        std::uint16_t challenge);

/// Everything that changes from turn to turn.
struct Running {
  Machine machine = at_start();
  Watch watch;
  Orders orders = orders_at_start();  ///< out now
  Judgement judgement;                ///< of the last image
  std::uint8_t cause = 0;             ///< of the last advance
};

/// One whole turn: observe, judge, advance, timers.
Running turn(Running const& before, BenchInputs const& in, Heard heard, Request request, std::uint16_t heartbeat,
             Declaration const& bench, StepLimits const& step);

}  // namespace benchward::guard
