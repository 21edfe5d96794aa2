// SPDX-License-Identifier: MIT
#include "tests_seq/guard/guard.hpp"

// The state machine. One function a state; `advance` is a switch without default, so a new state does not compile until
// it has its branch. Condition numbers I01 to I36 stand where they decide. Orders follow from the new state alone
// (`order`), with one exception: the upstream breaker answers a weld in the same turn.

namespace benchward::guard {
namespace {

using S = GuardState;

struct Next {
  Machine machine;
  std::uint8_t cause = 0;
  bool restart_bound = false, restart_dwell = false;
};

constexpr Next stay(Machine const& m) { return {m}; }

/// The next stage of the same state, with a new bound.
constexpr Next to_stage(Machine m, Stage stage) {
  m.stage = stage;
  return {m, 0, true, false};
}

constexpr Next enter(Machine m, S state, Stage stage = Stage::first, std::uint8_t cause = 0) {
  m.at = state;
  m.stage = stage;
  m.reset = false;
  m.acknowledged = false;
  if (state != S::ramp_down) m.hold_area = false;
  return {m, cause, true, true};
}

// Where the earth was ordered open and is proven open it is held so for the resistor's time (I30: resistor first);
// anything else is let closed, and on the way to safe nothing orders it open again.
constexpr bool earth_was_held_open(Machine const& m) {
  switch (m.at) {
    case S::unknown:
      return false;
    case S::safe_earthed:
      return false;
    case S::securing:
      return false;
    case S::warning:
      return false;
    case S::armed:
      return true;
    case S::closing:
      return true;
    case S::ramp_up:
      return true;
    case S::hold:
      return true;
    case S::ramp_down:
      return true;
    case S::discharge:
      return true;
    case S::earthing:
      return false;
    case S::tripped:
      return m.stage == Stage::first;
    case S::lockout:
      return m.stage == Stage::first;
  }
  return false;
}
constexpr Stage stage_on_the_way_to_safe(Machine const& m, Findings const& f) {
  return earth_was_held_open(m) && f.earth == Earth::open ? Stage::first : Stage::second;
}
constexpr Next to_unknown(Machine const& m) { return enter(m, S::unknown); }
constexpr Next to_tripped(Machine const& m, Findings const& f, int cause) {
  return enter(m, S::tripped, stage_on_the_way_to_safe(m, f), static_cast<std::uint8_t>(cause));
}
constexpr Next to_lockout(Machine const& m, Findings const& f, int cause) {
  return enter(m, S::lockout, stage_on_the_way_to_safe(m, f), static_cast<std::uint8_t>(cause));
}
constexpr Next to_safe_earthed(Machine m, Findings const& f) {
  if (m.owed == Owed::proof || f.low == Low::proven) m.owed = Owed::nothing;
  return enter(m, S::safe_earthed);
}

constexpr bool stopping(Request r) { return r == Request::safe || r == Request::stop || r == Request::stop_hold; }

/// I36: proven, or nothing to prove. After a restart an unproven LOW serves once the resistor had its full time.
constexpr bool low_enough(Machine const& m, Findings const& f) {
  return f.low == Low::proven || (m.owed != Owed::proof && f.low == Low::unproven);
}

/// I29, I30, I31, I36 and I10: what must hold before the earth may close on a unit that was energised.
constexpr bool discharged(Machine const& m, Findings const& f, Timers t) {
  return f.contactors == Contactors::open && f.resistor_on && f.direct_done && low_enough(m, f) &&
         t.dwell == Timer::expired;
}

/// S0. Nothing is known until the feedbacks are fresh and consistent and the earth is proven closed (I25, rule 13). The
/// outputs are those into which the block's own watchdog would fall: contactors off, earth closing, resistor on.
constexpr Next from_unknown(Machine const& m, Findings const& f, Timers t) {
  if (f.hazard == Hazard::lockout) return to_lockout(m, f, 0);
  if (f.hazard == Hazard::lost) return Next{m, 0, true, true};  // the times start when the block answers
  bool const low_served = f.low == Low::proven || (low_enough(m, f) && t.dwell == Timer::expired);
  if (f.earth == Earth::closed && f.contactors == Contactors::open && f.resistor_on && f.direct_done && low_served) {
    return f.store_empty ? to_safe_earthed(m, f) : stay(m);  // I35: access waits for it, without a bound
  }
  if (t.bound != Timer::expired) return stay(m);
  if (f.earth != Earth::closed) return to_lockout(m, f, 8);
  if (f.contactors != Contactors::open) return to_lockout(m, f, 10);
  if (!f.direct_done) return to_lockout(m, f, 29);
  return to_lockout(m, f, f.resistor_on ? 36 : 30);
}

/// S1. The only state in which the gate may be unlocked; left the moment its proof is gone (I08, I10, I35).
constexpr Next from_safe_earthed(Machine const& m, Findings const& f, Request r) {
  if (f.hazard == Hazard::lockout) return to_lockout(m, f, 0);
  if (f.hazard == Hazard::lost || f.earth != Earth::closed || f.contactors != Contactors::open || !f.store_empty) {
    return to_unknown(m);
  }
  if (r == Request::prepare) return enter(m, S::securing);
  return stay(m);
}

/// S2. First everything that a person does, then the lock (I03), then on. I05: within its time.
constexpr Next from_securing(Machine const& m, Findings const& f, Request r, Timers t) {
  if (f.hazard == Hazard::lockout) return to_lockout(m, f, 0);
  if (f.hazard == Hazard::lost || f.earth != Earth::closed || f.contactors != Contactors::open) return to_unknown(m);
  if (stopping(r)) return to_safe_earthed(m, f);
  if (t.bound == Timer::expired) {
    auto back = to_safe_earthed(m, f);
    back.cause = 5;
    return back;
  }
  auto staged = m;
  if (m.stage == Stage::first) {
    if (f.permissives >= Permissives::lockable) staged.stage = Stage::second;
    return stay(staged);
  }
  if (f.permissives >= Permissives::secured) return enter(m, S::warning);
  if (f.permissives == Permissives::missing) staged.stage = Stage::first;
  return stay(staged);
}

/// S3. I07: red and sound for their time with the earth still closed; anything that changes ends it.
constexpr Next from_warning(Machine const& m, Findings const& f, Request r, Timers t) {
  if (f.hazard == Hazard::lockout) return to_lockout(m, f, 0);
  if (f.hazard == Hazard::lost || f.earth != Earth::closed || f.contactors != Contactors::open) return to_unknown(m);
  if (stopping(r) || f.permissives < Permissives::secured || f.hazard != Hazard::none) return to_safe_earthed(m, f);
  if (t.bound == Timer::expired) return enter(m, S::armed);
  return stay(m);
}

/// Trips that count wherever the earth may be open. Returns the state itself where there is none.
constexpr bool falls(Findings const& f) { return f.hazard != Hazard::none; }
constexpr Next fall(Machine const& m, Findings const& f) {
  if (f.hazard == Hazard::lockout) return to_lockout(m, f, 0);
  return to_tripped(m, f, f.hazard == Hazard::lost ? 23 : 0);
}

/// S4. Stages: the earth opens (I08); ready for START; waiting for a new declaration on an unbroken area (rule 9).
constexpr Next from_armed(Machine const& m, Findings const& f, Request r, Timers t) {
  if (falls(f)) return fall(m, f);
  if (f.contactors != Contactors::open) return to_tripped(m, f, 11);
  if (stopping(r) || f.permissives < Permissives::secured) return enter(m, S::discharge);
  if (m.stage == Stage::first) {
    if (f.earth == Earth::open) return to_stage(m, Stage::second);
    if (t.bound == Timer::expired) return to_lockout(m, f, 8);
    return stay(m);
  }
  if (f.earth != Earth::open) return to_tripped(m, f, 8);
  if (t.bound == Timer::expired) return enter(m, S::discharge);  // nobody pressed START
  if (m.stage == Stage::third) return r == Request::prepare ? to_stage(m, Stage::second) : stay(m);
  // The one way to energy: every permissive fresh in this very turn (rule 1), nothing but START.
  if (r == Request::close && f.permissives == Permissives::ready) {
    auto closing = enter(m, S::closing);
    closing.machine.owed = Owed::proof;
    return closing;
  }
  return stay(m);
}

/// S5. First contactor, then the second, each within its pick-up time (I11), from zero (I13).
constexpr Next from_closing(Machine const& m, Findings const& f, Request r, Timers t) {
  if (falls(f)) return fall(m, f);
  if (f.earth != Earth::open) return to_tripped(m, f, 8);
  if (stopping(r)) return enter(m, S::ramp_down, Stage::third);  // at zero still: open both, never close one more
  if (t.bound == Timer::expired) return to_tripped(m, f, 11);
  if (m.stage == Stage::first) {
    if (f.contactors == Contactors::open) return stay(m);
    if (f.contactors != Contactors::first) return to_tripped(m, f, 11);
    return f.permissives == Permissives::ready ? to_stage(m, Stage::second) : stay(m);
  }
  if (f.contactors == Contactors::first) return stay(m);
  if (f.contactors != Contactors::both) return to_tripped(m, f, 11);
  return f.level == Level::zero ? enter(m, S::ramp_up) : to_tripped(m, f, 13);
}

/// S6, S7. Energised: a contactor that opens or an earth that closes by itself is a trip.
constexpr Next from_energised(Machine const& m, Findings const& f, Request r) {
  if (falls(f)) return fall(m, f);
  if (f.earth != Earth::open) return to_tripped(m, f, 8);
  if (f.contactors != Contactors::both) return to_tripped(m, f, 11);
  if (stopping(r)) {
    auto stop = enter(m, S::ramp_down);
    stop.machine.hold_area = r == Request::stop_hold;
    return stop;
  }
  if (m.at == S::ramp_up && r == Request::reached) return enter(m, S::hold);
  if (m.at == S::hold && r == Request::raising) return enter(m, S::ramp_up);
  return stay(m);
}

/// S8, stop category 1. Stages: lowering (I17: past the bound category 0); one contactor opens, proven alone, then the
/// other (I11); all open; unbroken area: waiting for LOW.
constexpr Next from_ramp_down(Machine const& before, Findings const& f, Request r, Timers t) {
  if (falls(f)) return fall(before, f);
  if (f.earth != Earth::open) return to_tripped(before, f, 8);
  auto m = before;
  if (r == Request::safe || r == Request::stop) m.hold_area = false;
  if (m.stage == Stage::first) {
    if (f.contactors != Contactors::both) return to_tripped(m, f, 11);
    if (f.level == Level::zero || (f.level == Level::lowered && !m.hold_area)) return to_stage(m, Stage::second);
    return t.bound == Timer::expired ? to_tripped(m, f, 17) : stay(m);
  }
  if (f.contactors == Contactors::stuck || f.contactors == Contactors::fused) return to_lockout(m, f, 11);
  if (m.stage == Stage::second) {
    auto const left = m.second_leads ? Contactors::first : Contactors::second;
    if (f.contactors == left || f.contactors == Contactors::open) return to_stage(m, Stage::third);
    return t.bound == Timer::expired ? to_lockout(m, f, 11) : stay(m);
  }
  if (m.stage == Stage::third) {
    if (f.contactors != Contactors::open) return t.bound == Timer::expired ? to_lockout(m, f, 11) : stay(m);
    m.second_leads = !m.second_leads;
    return m.hold_area ? to_stage(m, Stage::fourth) : enter(m, S::discharge);
  }
  if (f.contactors != Contactors::open) return to_lockout(m, f, 11);
  if (!m.hold_area || t.bound == Timer::expired || f.permissives == Permissives::missing) return enter(m, S::discharge);
  if (f.level == Level::zero && f.low == Low::proven && f.permissives >= Permissives::secured) {
    return enter(m, S::armed, Stage::third);
  }
  return stay(m);
}

/// S9. Resistor, dwell, LOW proven (I29 to I31, I36); not in time: LOCKOUT.
constexpr Next from_discharge(Machine const& m, Findings const& f, Timers t) {
  if (falls(f)) return fall(m, f);
  if (f.contactors != Contactors::open) return to_tripped(m, f, 11);
  if (discharged(m, f, t)) return enter(m, S::earthing);
  if (t.bound == Timer::expired) return to_lockout(m, f, !f.direct_done ? 29 : !f.resistor_on ? 30 : 36);
  return stay(m);
}

/// S10. The earth closes and is proven (I08); access waits for the sources' stores (I35), earthing does not.
constexpr Next from_earthing(Machine const& m, Findings const& f, Timers t) {
  if (falls(f)) return fall(m, f);
  if (f.contactors != Contactors::open) return to_tripped(m, f, 11);
  if (f.earth == Earth::closed) {
    if (low_enough(m, f)) return f.store_empty ? to_safe_earthed(m, f) : stay(m);
    return t.bound == Timer::expired ? to_lockout(m, f, 36) : stay(m);
  }
  return t.bound == Timer::expired ? to_lockout(m, f, 8) : stay(m);
}

/// ST, latched. Makes safe by itself, whatever anybody presses: contactors off, resistor, earth. Cause gone, reset
/// released and acknowledgement are needed only to leave, and lead to S1 alone.
constexpr Next from_tripped(Machine const& before, Findings const& f, Request r, Timers t) {
  if (f.hazard == Hazard::lockout) return to_lockout(before, f, 0);
  auto m = before;
  if (m.stage == Stage::first) {
    if (f.earth != Earth::open || discharged(m, f, t)) return to_stage(m, Stage::second);
    if (t.bound == Timer::expired) return to_lockout(m, f, !f.direct_done ? 29 : !f.resistor_on ? 30 : 36);
    return stay(m);
  }
  bool const earthed = f.earth == Earth::closed && f.contactors == Contactors::open && low_enough(m, f) &&
                       f.direct_done && f.hazard != Hazard::lost;
  if (m.stage == Stage::second) {
    if (earthed) return to_stage(m, Stage::third);
    if (t.bound == Timer::expired) {
      int const cause = f.earth != Earth::closed ? 8 : f.contactors != Contactors::open ? 11 : !f.direct_done ? 29 : 36;
      return to_lockout(m, f, cause);
    }
    return stay(m);
  }
  if (!earthed) return to_stage(m, Stage::second);
  if (f.hazard != Hazard::none) {  // the cause is there (again): what was pressed before does not count
    m.reset = m.acknowledged = false;
    return stay(m);
  }
  if (f.reset_edge) m.reset = true;
  if (r == Request::acknowledge) m.acknowledged = true;
  if (m.reset && m.acknowledged && f.store_empty) return to_safe_earthed(m, f);
  return stay(m);
}

/// SX, latched: unknown or unsafe. Resistor, then earth, also where LOW cannot be proven; not onto a source that a weld
/// still connects (the breaker is tripped for that). Left by the supervisor's path alone, to S0, cause repaired.
constexpr Next from_lockout(Machine const& m, Findings const& f, Request r, Timers t) {
  if (m.stage == Stage::first) {
    bool const connected = f.contactors == Contactors::fused && f.low != Low::proven;
    if (f.earth != Earth::open || discharged(m, f, t)) return to_stage(m, Stage::second);
    if (t.bound == Timer::expired && !connected) return to_stage(m, Stage::second);
    return stay(m);
  }
  if (r == Request::release && f.hazard != Hazard::lockout && f.hazard != Hazard::lost) {
    auto released = enter(m, S::unknown);
    released.machine.owed = Owed::restart;
    return released;
  }
  return stay(m);
}

constexpr Next next(Machine const& m, Findings const& f, Request r, Timers t) {
  switch (m.at) {
    case S::unknown:
      return from_unknown(m, f, t);
    case S::safe_earthed:
      return from_safe_earthed(m, f, r);
    case S::securing:
      return from_securing(m, f, r, t);
    case S::warning:
      return from_warning(m, f, r, t);
    case S::armed:
      return from_armed(m, f, r, t);
    case S::closing:
      return from_closing(m, f, r, t);
    case S::ramp_up:
    case S::hold:
      return from_energised(m, f, r);
    case S::ramp_down:
      return from_ramp_down(m, f, r, t);
    case S::discharge:
      return from_discharge(m, f, t);
    case S::earthing:
      return from_earthing(m, f, t);
    case S::tripped:
      return from_tripped(m, f, r, t);
    case S::lockout:
      return from_lockout(m, f, r, t);
  }
  return to_lockout(m, f, 25);  // a byte that is no state: memory is not to be trusted
}

constexpr Coils coils_of(Machine const& m) {
  switch (m.at) {
    case S::closing:
      return m.stage == Stage::first ? Coils::first : Coils::both;
    case S::ramp_up:
      return Coils::both;
    case S::hold:
      return Coils::both;
    case S::ramp_down:
      if (m.stage == Stage::first) return Coils::both;
      if (m.stage == Stage::second) return m.second_leads ? Coils::first : Coils::second;
      return Coils::none;
    case S::unknown:
    case S::safe_earthed:
    case S::securing:
    case S::warning:
    case S::armed:
    case S::discharge:
    case S::earthing:
    case S::tripped:
    case S::lockout:
      return Coils::none;
  }
  return Coils::none;
}

constexpr void order(Orders& o, Machine const& m, Findings const& f) {
  o.coils = coils_of(m);
  switch (m.at) {
    case S::unknown:
      o.lock = o.red = o.resistor = true;
      return;
    case S::tripped:
      o.lock = o.red = o.resistor = true;
      o.earth_open = m.stage == Stage::first;
      return;
    case S::safe_earthed:
      return;
    case S::securing:
      o.lock = o.red = m.stage == Stage::second;
      return;
    case S::warning:
      o.lock = o.red = o.siren = true;
      return;
    case S::armed:
    case S::closing:
    case S::ramp_down:
      o.lock = o.red = o.earth_open = true;
      return;
    case S::ramp_up:
    case S::hold:
      o.lock = o.red = o.earth_open = true;
      o.ramp = o.consent = true;
      return;
    case S::discharge:
      o.lock = o.red = o.earth_open = o.resistor = true;
      return;
    case S::earthing:
      o.lock = o.red = o.resistor = true;
      return;
    case S::lockout:
      o.lock = o.red = o.siren = o.resistor = true;
      o.earth_open = m.stage == Stage::first;
      // I11, I12: a weld, or voltage with contactors that read open, leaves the unit energised: cut upstream.
      o.breaker = f.contactors == Contactors::stuck || f.contactors == Contactors::fused ||
                  (f.contactors == Contactors::open && f.low == Low::high && f.hazard == Hazard::lockout);
      return;
  }
  o.lock = o.red = o.siren = o.resistor = true;
}

}  // namespace

Advanced advance(Machine const& machine, Findings const& findings, Request request, Timers timers) {
  auto const n = next(machine, findings, request, timers);
  Advanced after;
  after.machine = n.machine;
  after.cause = n.cause;
  after.restart_bound = n.restart_bound;
  after.restart_dwell = n.restart_dwell;
  order(after.orders, after.machine, findings);
  return after;
}

}  // namespace benchward::guard
