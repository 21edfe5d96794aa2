// SPDX-License-Identifier: MIT
#include "explorer.hpp"

#include <tuple>
#include <utility>

// What every single step of the guard must keep, said once more and otherwise than advance.cpp says it.

namespace benchward::guard::proof {
namespace {

using S = GuardState;

/// The coils that are out while a machine stands: this file's own table.
constexpr Coils coils_out(Machine const& m) {
  if (m.at == S::closing) return m.stage == Stage::first ? Coils::first : Coils::both;
  if (m.at == S::ramp_up || m.at == S::hold) return Coils::both;
  if (m.at == S::ramp_down && m.stage == Stage::first) return Coils::both;
  if (m.at == S::ramp_down && m.stage == Stage::second) return m.second_leads ? Coils::first : Coils::second;
  return Coils::none;
}
constexpr unsigned bits(Coils coils) { return static_cast<unsigned>(coils); }  // none 0, first 1, second 2, both 3
constexpr unsigned newly(Step const& s) { return bits(s.after.orders.coils) & ~bits(coils_out(s.before)); }
constexpr bool in(S state, S first, S last) { return state >= first && state <= last; }
constexpr bool earth_held(Machine const& m) {
  return in(m.at, S::armed, S::discharge) || ((m.at == S::tripped || m.at == S::lockout) && m.stage == Stage::first);
}
constexpr bool energised_from(S state) { return in(state, S::closing, S::ramp_down); }
constexpr bool stop_request(Request r) { return r == Request::safe || r == Request::stop || r == Request::stop_hold; }
constexpr bool area_may_open(Step const& s) {
  return s.in.earth == Earth::closed && s.in.contactors == Contactors::open;
}
constexpr bool low_served(Step const& s) {
  return s.in.low == Low::proven || (s.before.owed != Owed::proof && s.in.low == Low::unproven);
}

constexpr bool later_stop_stage(Machine const& before, Machine const& after) {
  return after.at != before.at || after.stage > before.stage;
}

template <class Holds>
struct Named {
  char const* name;
  Holds holds;
};
template <class Holds>
constexpr Named<Holds> named(char const* name, Holds holds) {
  return {name, holds};
}

// A tuple of closures, not a table of pointers: half a thousand million steps are checked, so the checks are inlined.
constexpr auto properties = std::make_tuple(
    named("no contactor is ordered closed unless every permissive is fresh and true in this turn",
          [](Step const& s) { return newly(s) == 0 || s.in.permissives == Permissives::ready; }),
    named("the first contactor closes only from ARMED by START, the second only in CLOSING",
          [](Step const& s) {
            if (newly(s) == 0) return true;
            if (newly(s) == 1) {
              return s.before.at == S::armed && s.before.stage == Stage::second && s.request == Request::close;
            }
            return newly(s) == 2 && s.before.at == S::closing && s.in.contactors == Contactors::first;
          }),
    named("any hazard takes all contactors off in the same turn",
          [](Step const& s) { return s.in.hazard == Hazard::none || s.after.orders.coils == Coils::none; }),
    named("a contactor is held only with the earth switch proven open in this turn",
          [](Step const& s) { return s.after.orders.coils == Coils::none || s.in.earth == Earth::open; }),
    named("earth and supply are never both ordered closed",
          [](Step const& s) { return s.after.orders.coils == Coils::none || s.after.orders.earth_open; }),
    named("the earth opens only after the warning ran its time, with the area secured and contactors open",
          [](Step const& s) {
            if (earth_held(s.before) || !s.after.orders.earth_open) return true;
            return s.before.at == S::warning && s.timers.bound == Timer::expired &&
                   s.in.permissives >= Permissives::secured && area_may_open(s) && s.in.hazard == Hazard::none &&
                   !stop_request(s.request);
          }),
    named("an earth ordered closed is never ordered open again on the way to safe",
          [](Step const& s) {
            bool const safe_way = s.after.machine.at == S::tripped || s.after.machine.at == S::lockout ||
                                  s.after.machine.at == S::discharge || s.after.machine.at == S::earthing ||
                                  s.after.machine.at == S::unknown;
            return !safe_way || !s.after.orders.earth_open || earth_held(s.before);
          }),
    named("the source may ramp only with both contactors proven closed and no hazard",
          [](Step const& s) {
            return !s.after.orders.ramp || (s.in.contactors == Contactors::both && s.in.hazard == Hazard::none &&
                                            s.after.orders.coils == Coils::both);
          }),
    named("the permit lives only in RAMP_UP and HOLD, and dies in the turn that leaves them",
          [](Step const& s) {
            bool const there = s.after.machine.at == S::ramp_up || s.after.machine.at == S::hold;
            return s.after.orders.consent == there;
          }),
    named("RAMP_UP begins at zero",
          [](Step const& s) {
            return s.after.machine.at != S::ramp_up || s.before.at != S::closing || s.in.level == Level::zero;
          }),
    named("the gate lock is released only with earth proven closed and contactors proven open in this turn",
          [](Step const& s) { return s.after.orders.lock || area_may_open(s) || s.before.at == S::securing; }),
    named("the red lamp goes off only with earth proven closed and contactors proven open",
          [](Step const& s) { return s.after.orders.red || area_may_open(s); }),
    named("with the gate unlocked nothing but rest is ordered",
          [](Step const& s) {
            auto const& o = s.after.orders;
            return o.lock ||
                   (o.coils == Coils::none && !o.earth_open && !o.ramp && !o.consent && !o.siren && !o.breaker);
          }),
    named("SAFE_EARTHED is entered only with earth closed, contactors open and stores measured empty",
          [](Step const& s) {
            bool const entered = s.after.machine.at == S::safe_earthed && in(s.before.at, S::armed, S::lockout);
            bool const started = s.after.machine.at == S::safe_earthed && s.before.at == S::unknown;
            return !(entered || started) || (area_may_open(s) && s.in.store_empty);
          }),
    named("after energising, SAFE_EARTHED needs LOW proven by a channel seen to work",
          [](Step const& s) {
            return s.after.machine.at != S::safe_earthed || s.before.owed != Owed::proof || s.in.low == Low::proven;
          }),
    named("SAFE_EARTHED without proof is shown as such: the debt of a restart is kept",
          [](Step const& s) {
            if (s.after.machine.at != S::safe_earthed || s.before.at == S::safe_earthed) return true;
            if (s.before.owed != Owed::restart) return true;
            return s.after.machine.owed == (s.in.low == Low::proven ? Owed::nothing : Owed::restart);
          }),
    named("closing a contactor owes a proof of LOW",
          [](Step const& s) { return s.after.orders.coils == Coils::none || s.after.machine.owed == Owed::proof; }),
    named("TRIPPED is left only for SAFE_EARTHED or LOCKOUT",
          [](Step const& s) {
            auto const to = s.after.machine.at;
            return s.before.at != S::tripped || to == S::tripped || to == S::safe_earthed || to == S::lockout;
          }),
    named("TRIPPED is left for SAFE_EARTHED only with cause gone, reset released and acknowledgement",
          [](Step const& s) {
            if (s.before.at != S::tripped || s.after.machine.at != S::safe_earthed) return true;
            return s.in.hazard == Hazard::none && (s.before.reset || s.in.reset_edge) &&
                   (s.before.acknowledged || s.request == Request::acknowledge) && area_may_open(s) && low_served(s);
          }),
    named("a reset or an acknowledgement does not outlive a cause that comes back",
          [](Step const& s) {
            if (s.before.at != S::tripped || s.in.hazard == Hazard::none) return true;
            return !(s.after.machine.at == S::tripped && s.before.stage == Stage::third &&
                     s.after.machine.stage == Stage::third && (s.after.machine.reset || s.after.machine.acknowledged));
          }),
    named("nothing that is pressed in TRIPPED or LOCKOUT energises",
          [](Step const& s) {
            if (s.before.at != S::tripped && s.before.at != S::lockout) return true;
            auto const& o = s.after.orders;
            return o.coils == Coils::none && !o.ramp && !o.consent;
          }),
    named("LOCKOUT is left only for UNKNOWN, by the supervisor, earthed, with the cause gone",
          [](Step const& s) {
            if (s.before.at != S::lockout || s.after.machine.at == S::lockout) return true;
            return s.after.machine.at == S::unknown && s.request == Request::release &&
                   s.before.stage == Stage::second && (s.in.hazard == Hazard::none || s.in.hazard == Hazard::trip) &&
                   s.after.machine.owed == Owed::restart;
          }),
    named("a lockout condition locks out from every state in the same turn",
          [](Step const& s) { return s.in.hazard != Hazard::lockout || s.after.machine.at == S::lockout; }),
    named("a trip condition trips from every state in which the earth may be open",
          [](Step const& s) {
            return s.in.hazard != Hazard::trip || !in(s.before.at, S::armed, S::earthing) ||
                   s.after.machine.at == S::tripped;
          }),
    named("a lost link trips where the earth may be open and is unknown elsewhere",
          [](Step const& s) {
            if (s.in.hazard != Hazard::lost) return true;
            if (in(s.before.at, S::armed, S::earthing)) return s.after.machine.at == S::tripped;
            return !in(s.before.at, S::unknown, S::warning) || s.after.machine.at == S::unknown;
          }),
    named("a stop never orders a contactor, and lowers the source at once",
          [](Step const& s) {
            return !stop_request(s.request) || (newly(s) == 0 && !s.after.orders.ramp && !s.after.orders.consent);
          }),
    named("a stop out of an energised state is the step's own, or a trip; never a jump past it",
          [](Step const& s) {
            if (!stop_request(s.request) || !in(s.before.at, S::closing, S::hold)) return true;
            auto const to = s.after.machine.at;
            return to == S::ramp_down || to == S::tripped || to == S::lockout;
          }),
    named("ramp-down past its bound is category 0",
          [](Step const& s) {
            if (s.before.at != S::ramp_down || s.before.stage != Stage::first || s.timers.bound != Timer::expired)
              return true;
            return s.after.machine.at != S::ramp_down || s.after.machine.stage != Stage::first;
          }),
    named("a normal stop opens contactors only at zero, or at a quarter where the area is not held",
          [](Step const& s) {
            if (s.before.at != S::ramp_down || s.before.stage != Stage::first || s.after.machine.at != S::ramp_down ||
                s.after.machine.stage == Stage::first) {
              return true;
            }
            return s.in.level == Level::zero || (s.in.level == Level::lowered && !s.after.machine.hold_area);
          }),
    named("a contactor that does not open in time locks out",
          [](Step const& s) {
            bool const opening =
                s.before.at == S::ramp_down && (s.before.stage == Stage::second || s.before.stage == Stage::third);
            bool const welded = s.in.contactors == Contactors::stuck || s.in.contactors == Contactors::fused;
            if (!opening || !welded || s.in.hazard != Hazard::none || s.in.earth != Earth::open) return true;
            return s.after.machine.at == S::lockout;
          }),
    named("each normal stop opens the other contactor first",
          [](Step const& s) {
            bool const left = s.before.at == S::ramp_down && s.before.stage == Stage::third &&
                              (s.after.machine.at == S::discharge || s.after.machine.stage == Stage::fourth) &&
                              s.after.machine.at != S::tripped && s.after.machine.at != S::lockout;
            return !left || s.after.machine.second_leads != s.before.second_leads;
          }),
    named("an energised state without both contactors proven closed trips",
          [](Step const& s) {
            if ((s.before.at != S::ramp_up && s.before.at != S::hold) || s.in.contactors == Contactors::both)
              return true;
            return s.after.machine.at == S::tripped || s.after.machine.at == S::lockout;
          }),
    named("the earth closes after energising only through the resistor with LOW and current proven, or by itself, or "
          "in LOCKOUT",
          [](Step const& s) {
            if (!earth_held(s.before) || s.after.orders.earth_open || s.before.owed != Owed::proof) return true;
            if (s.in.earth != Earth::open || s.after.machine.at == S::lockout) return true;
            return s.in.resistor_on && s.in.direct_done && s.in.low == Low::proven &&
                   s.timers.dwell == Timer::expired && s.in.contactors == Contactors::open;
          }),
    named("LOCKOUT does not close the earth onto a source that a weld still connects",
          [](Step const& s) {
            if (s.before.at != S::lockout || s.before.stage != Stage::first || s.in.earth != Earth::open) return true;
            bool const connected = s.in.contactors == Contactors::fused && s.in.low != Low::proven;
            return !connected || s.after.orders.earth_open;
          }),
    named("the discharge resistor is on in every state between energised and safe",
          [](Step const& s) {
            auto const at = s.after.machine.at;
            bool const between =
                at == S::discharge || at == S::earthing || at == S::tripped || at == S::lockout || at == S::unknown;
            return s.after.orders.resistor == between;
          }),
    named("the upstream breaker is tripped only in LOCKOUT, and there for every weld",
          [](Step const& s) {
            bool const welded = s.in.contactors == Contactors::stuck || s.in.contactors == Contactors::fused;
            if (s.after.machine.at != S::lockout) return !s.after.orders.breaker;
            return s.after.orders.breaker || !welded;
          }),
    named("red and siren warn throughout WARNING and LOCKOUT",
          [](Step const& s) {
            bool const loud = s.after.machine.at == S::warning || s.after.machine.at == S::lockout;
            return s.after.orders.siren == loud && (!loud || s.after.orders.red);
          }),
    named("an unbroken area ends ARMED without a declaration, only with zero, LOW proven and contactors open",
          [](Step const& s) {
            bool const held = s.after.machine.at == S::armed && s.after.machine.stage == Stage::third &&
                              !(s.before.at == S::armed && s.before.stage == Stage::third);
            return !held || (s.before.at == S::ramp_down && s.before.hold_area && s.in.level == Level::zero &&
                             s.in.low == Low::proven && s.in.contactors == Contactors::open);
          }),
    named("a held area cannot be energised before it has a new declaration",
          [](Step const& s) {
            return !(s.before.at == S::armed && s.before.stage == Stage::third) || s.after.machine.at != S::closing;
          }),
    named("program start never resumes: UNKNOWN leads to SAFE_EARTHED or LOCKOUT alone",
          [](Step const& s) {
            auto const to = s.after.machine.at;
            return s.before.at != S::unknown || to == S::unknown || to == S::safe_earthed || to == S::lockout;
          }),
    named("changing anything at the area during the warning ends it",
          [](Step const& s) {
            return s.before.at != S::warning || s.in.permissives >= Permissives::secured ||
                   s.after.machine.at != S::armed;
          }),
    named("START on an arming whose time is over does nothing",
          [](Step const& s) {
            return s.before.at != S::armed || s.timers.bound != Timer::expired || s.after.machine.at != S::closing;
          }),
    named("every change of state restarts its time",
          [](Step const& s) { return s.after.machine.at == s.before.at || s.after.restart_bound; }),
    named("while stopping, each new time belongs to a later stage", [](Step const& s) {
      if (!energised_from(s.before.at) || s.after.orders.coils == Coils::none || !s.after.restart_bound) return true;
      return s.before.at != S::ramp_down || later_stop_stage(s.before, s.after.machine);
    }));

template <std::size_t... N>
std::uint64_t fallen(Step const& step, std::index_sequence<N...>) {
  std::uint64_t mask = 0;
  ((mask |= std::get<N>(properties).holds(step) ? 0 : std::uint64_t{1} << N), ...);
  return mask;
}
template <std::size_t... N>
std::vector<std::string> names(std::index_sequence<N...>) {
  return {std::get<N>(properties).name...};
}
constexpr std::size_t count = std::tuple_size_v<decltype(properties)>;
static_assert(count <= 64);

}  // namespace

std::vector<std::string> const& step_properties() {
  static auto const list = names(std::make_index_sequence<count>());
  return list;
}

std::uint64_t fallen_properties(Step const& step) { return fallen(step, std::make_index_sequence<count>()); }

}  // namespace benchward::guard::proof
