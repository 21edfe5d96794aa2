// SPDX-License-Identifier: MIT
#include "tests_seq/guard/core_desk.hpp"

#include <utility>

#include <fmt/format.h>
#include <boost/asio/cancellation_state.hpp>
#include <boost/asio/this_coro.hpp>

#include "tests_seq/guard/declaration.hpp"
#include "tests_seq/guard/words.hpp"

namespace benchward {

namespace asio = boost::asio;
using guard::Request;
using guard::Stage;
using S = GuardState;

namespace {

TripRecord record_of(GuardTrip const& trip) {
  TripRecord record;
  record.happened = trip.happened;
  if (!trip.happened) return record;
  record.first = condition(trip.first);
  record.detail = words_of_silence(trip.first, trip.silence);
  for (std::size_t n = 0; n < trip.later_count; ++n) record.later.push_back(condition(trip.later[n]));
  record.in_state = trip.in_state;
  record.at = trip.at;
  record.output = millivolts(trip.output_mv);
  record.current = milliamperes(trip.output_ma);
  return record;
}

bool area_held(GuardSnapshot const& s) { return s.machine.at == S::armed && s.machine.stage == Stage::third; }
bool ready_to_close(GuardSnapshot const& s) { return s.machine.at == S::armed && s.machine.stage == Stage::second; }
bool made_safe(GuardSnapshot const& s) {
  return s.machine.at == S::safe_earthed || (s.machine.at == S::tripped && s.machine.stage == Stage::third);
}
/// The guard has come to rest: nothing more happens without a person.
bool at_rest(GuardSnapshot const& s) { return made_safe(s) || s.machine.at == S::lockout; }

std::string listed(std::vector<Condition> const& conditions) {
  std::string text;
  for (auto const& entry : conditions) {
    if (!text.empty()) text += "; ";
    text += fmt::format("I{:02d} {}", entry.number, entry.words);
  }
  return text;
}

}  // namespace

Task<Result_<Done, Refusal>> GuardDesk::release_lockout(std::string, std::string) {
  Refusal refusal;
  refusal.id = "guard.lockout";
  refusal.words = "this desk cannot release a lockout";
  co_return refusal;
}

CoreDesk::CoreDesk(GuardCore& core, Clock& clock, Duration period) : core_(core), clock_(clock), period_(period) {}

GuardStatus CoreDesk::status() const {
  auto const s = core_.snapshot();
  GuardStatus status;
  status.state = s.machine.at;
  status.area = area_of(s.machine);
  status.missing = nearest_first(s.missing);
  if (s.machine.at == S::tripped && s.machine.stage == Stage::third) {
    if (!s.machine.reset) status.missing.push_back({25, "Press and release the local reset"});
    if (!s.machine.acknowledged) status.missing.push_back({25, "Acknowledge the trip"});
  }
  if (s.machine.at == S::lockout) status.missing.push_back({25, "Isolate, earth by hand, supervisor releases"});
  bool const proven_closed = s.findings.earth == guard::Earth::closed &&
                             s.findings.contactors == guard::Contactors::open &&
                             s.findings.hazard != guard::Hazard::lost && s.findings.hazard != guard::Hazard::lockout;
  status.low_not_proven = s.machine.at == S::safe_earthed && s.machine.owed != guard::Owed::nothing;
  status.earth_proven = proven_closed && made_safe(s) && !status.low_not_proven;
  status.trip = record_of(s.trip);
  status.output = millivolts(s.output_mv);
  status.current = milliamperes(s.output_ma);
  status.direct = milliamperes(s.direct_ua * 1e-3);
  status.left = milliseconds(s.left_ms);
  status.turns = s.turns;
  status.overruns = s.overruns;
  status.simulated = s.simulated;
  status.link_lost = s.findings.hazard == guard::Hazard::lost;
  status.gate_openings = s.gate_openings;
  status.events_lost = core_.events_lost();
  status.bypass_key = s.bypass_key;
  status.bypassed = milliseconds(static_cast<double>(s.bypassed_ms));
  return status;
}

Task<void> CoreDesk::changed(Duration at_most) {
  auto const before = core_.snapshot().changes;
  auto const until = clock_.now().monotonic_ns + static_cast<std::int64_t>(at_most.in(seconds)*1e9);
  while (core_.snapshot().changes == before && clock_.now().monotonic_ns < until) co_await clock_.wait(period_);
}

Task<void> CoreDesk::handled(std::uint64_t ticket) {
  while (core_.snapshot().handled < ticket) co_await clock_.wait(period_);
}

Duration CoreDesk::longest_way_down() const {
  auto const& d = core_.declaration();
  // The insulation test's discharge is four times the time applied (I31).
  double const ms = 2.0 * d.ramp_down_ms + 3.0 * d.discharge_ms + 4.0 * d.travel_ms + 10.0 * d.stale_ms +
                    8.0 * core_.snapshot().energised_ms;
  return milliseconds(ms);
}

Refusal CoreDesk::refusal(std::string id, std::string words) const {
  Refusal answer;
  answer.id = std::move(id);
  answer.words = std::move(words);
  answer.trip = record_of(core_.snapshot().trip);
  return answer;
}

Refusal CoreDesk::refused_by(GuardSnapshot const& seen) const {
  if (seen.machine.at == S::lockout) {
    return refusal("guard.lockout", fmt::format("locked out by I{:02d}: {}. A supervisor must release it",
                                                seen.trip.first, words_of_guard_condition(seen.trip.first)));
  }
  if (seen.trip.happened) {
    return refusal("guard.tripped",
                   fmt::format("tripped by I{:02d}: {}", seen.trip.first, words_of_guard_condition(seen.trip.first)));
  }
  if (seen.findings.hazard == guard::Hazard::lost) {
    return refusal("guard.refused", "the bench I/O block does not answer: " + words_of_silence(23, seen.silence));
  }
  if (seen.refused != 0) return refusal("guard.refused", "missing: " + listed(nearest_first(seen.refused)));
  if (seen.refused_cause != 0) return refusal("guard.refused", "missing: " + listed({condition(seen.refused_cause)}));
  return refusal("guard.refused", fmt::format("not possible now: {}", words_of(seen.machine.at)));
}

Task<Result_<Done, Refusal>> CoreDesk::prepare(StepEnergy step) {
  auto limits = step_limits(step, core_.declaration());
  if (!limits.ok()) co_return refusal("guard.refused", limits.error());
  // A start of the program, or a stop that still runs, ends by itself.
  auto const until = clock_.now().monotonic_ns + static_cast<std::int64_t>(longest_way_down().in(seconds)*1e9);
  auto seen = core_.snapshot();
  while ((seen.machine.at == S::unknown || seen.machine.at == S::ramp_down || seen.machine.at == S::discharge ||
          seen.machine.at == S::earthing) &&
         clock_.now().monotonic_ns < until) {
    co_await clock_.wait(period_);
    seen = core_.snapshot();
  }
  if (seen.machine.at != S::safe_earthed && !area_held(seen)) co_return refused_by(seen);
  may_hold_area_ = step.source != SourcePath::resistance && step.source != SourcePath::insulation;
  co_await handled(core_.post_prepare(limits.value()));
  for (;;) {
    seen = core_.snapshot();
    if (ready_to_close(seen)) co_return Done{};
    bool const on_the_way = seen.machine.at == S::securing || seen.machine.at == S::warning ||
                            (seen.machine.at == S::armed && seen.machine.stage == Stage::first);
    if (!on_the_way) co_return refused_by(seen);
    co_await clock_.wait(period_);
  }
}

Task<Result_<Permit, Refusal>> CoreDesk::close() {
  auto seen = core_.snapshot();
  if (!ready_to_close(seen)) co_return refused_by(seen);
  auto link = std::make_shared<PermitLink>();
  links_[next_link_++ % links_.size()] = link;
  // Made before START is pressed: if this coroutine is unwound meanwhile, its destructor asks for the stop.
  auto permit = GuardPermitIssuer::issue(link);
  while (ready_to_close(seen)) {  // pressed again until every permissive is there, or the arming runs out
    co_await handled(core_.post_close(link.get()));
    seen = core_.snapshot();
    if (ready_to_close(seen)) {
      co_await clock_.wait(period_);
      seen = core_.snapshot();
    }
  }
  while (seen.machine.at == S::closing) {
    co_await clock_.wait(period_);
    seen = core_.snapshot();
  }
  // `ramp permitted` is a wire to the source: it is there once the exchange that carries it has been made. A source
  // that is set before refuses, rightly.
  auto const carried = seen.turns + 2;
  while (seen.machine.at == S::ramp_up && seen.turns < carried) {
    co_await clock_.wait(period_);
    seen = core_.snapshot();
  }
  if (seen.machine.at == S::ramp_up && permit.live()) co_return std::move(permit);
  co_return refused_by(seen);
}

void CoreDesk::reached() { core_.post(Request::reached); }
void CoreDesk::raising() { core_.post(Request::raising); }

Task<Result_<Done, Refusal>> CoreDesk::stop(bool hold_area) {
  auto const until = clock_.now().monotonic_ns + static_cast<std::int64_t>(longest_way_down().in(seconds)*1e9);
  co_await handled(core_.post(hold_area && may_hold_area_ ? Request::stop_hold : Request::stop));
  for (;;) {
    auto const seen = core_.snapshot();
    if (seen.machine.at == S::safe_earthed || (hold_area && area_held(seen))) co_return Done{};
    if (at_rest(seen)) co_return refused_by(seen);
    if (clock_.now().monotonic_ns >= until) {
      co_return refusal("guard.not-earthed",
                        fmt::format("not earthed within its time: {}. Missing: {}", words_of(seen.machine.at),
                                    listed(nearest_first(seen.missing))));
    }
    co_await clock_.wait(period_);
  }
}

Task<Result_<Done, Refusal>> CoreDesk::acknowledge(std::string person) {
  auto seen = core_.snapshot();
  if (seen.machine.at == S::safe_earthed) co_return Done{};
  if (seen.machine.at != S::tripped) co_return refused_by(seen);
  if (person.empty()) co_return refusal("guard.refused", "a trip is acknowledged by a person with a name");
  bool counted = false;
  while (seen.machine.at == S::tripped) {
    bool const open = seen.machine.stage == Stage::third && seen.findings.hazard == guard::Hazard::none;
    if (counted && !seen.machine.acknowledged) {  // the cause came back: somebody must look again
      co_return refusal("guard.tripped", "the cause came back: " + listed(nearest_first(seen.missing)));
    }
    if (open && !counted) {
      co_await handled(core_.post(Request::acknowledge));
      seen = core_.snapshot();
      counted = seen.machine.acknowledged;
      if (counted || seen.machine.at != S::tripped) continue;
    }
    co_await clock_.wait(period_);
    seen = core_.snapshot();
  }
  if (seen.machine.at == S::lockout) co_return refused_by(seen);
  co_return Done{};
}

Task<Result_<Done, Refusal>> CoreDesk::release_lockout(std::string supervisor, std::string reason) {
  auto seen = core_.snapshot();
  if (seen.machine.at != S::lockout) co_return refusal("guard.refused", "there is no lockout to release");
  if (supervisor.empty() || reason.empty()) {
    co_return refusal("guard.lockout", "a lockout is released by a supervisor with a name and a reason");
  }
  co_await handled(core_.post(Request::release));
  seen = core_.snapshot();
  if (seen.machine.at == S::lockout) {
    co_return refusal("guard.lockout", seen.broken != 0
                                           ? "the cause is still there: " + listed(nearest_first(seen.broken))
                                           : "the bench is not earthed yet or does not answer");
  }
  while (seen.machine.at == S::unknown) {
    co_await clock_.wait(period_);
    seen = core_.snapshot();
  }
  if (seen.machine.at == S::lockout) co_return refused_by(seen);
  co_return Done{};
}

Task<void> CoreDesk::make_safe(std::string) {
  // A cancellation that comes from now on must not end the shutdown.
  co_await asio::this_coro::reset_cancellation_state(asio::disable_cancellation());
  co_await asio::this_coro::throw_if_cancelled(false);
  auto const until = clock_.now().monotonic_ns + static_cast<std::int64_t>(longest_way_down().in(seconds)*1e9);
  auto const ticket = core_.post(Request::safe);
  for (;;) {
    auto const seen = core_.snapshot();
    if (seen.handled >= ticket && at_rest(seen)) co_return;
    if (clock_.now().monotonic_ns >= until) co_return;
    co_await clock_.wait(period_);
  }
}

}  // namespace benchward
