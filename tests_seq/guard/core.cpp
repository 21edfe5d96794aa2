// SPDX-License-Identifier: MIT
#include "tests_seq/guard/core.hpp"

namespace benchward {

using guard::Mask;
using guard::Request;
using S = GuardState;

namespace {

constexpr std::uint32_t mark(Request request) { return 1u << static_cast<int>(request); }

/// A step may be declared in S1 and on an unbroken area that waits for the next one.
bool takes_declaration(guard::Machine const& m) {
  return m.at == S::safe_earthed || (m.at == S::armed && m.stage == guard::Stage::third);
}

/// A turn that comes too late finds a block that may have cut by itself meanwhile: what was ordered before is not sent
/// again, or it would energise a second time before the image is judged (I22, I23). The earth is left as it is while
/// the block's watchdog cannot have run out; after that it is let closed, as the block does.
guard::Orders without_energy(guard::Orders orders, std::int64_t silent_ms, guard::Declaration const& bench) {
  orders.coils = guard::Coils::none;
  orders.ramp = orders.consent = false;
  orders.resistor = orders.resistor || orders.earth_open;
  if (silent_ms + bench.heartbeat_ms >= bench.watchdog_ms) orders.earth_open = false;
  return orders;
}

bool down(S state) { return state == S::tripped || state == S::lockout; }
bool stops(Request request) {
  return request == Request::safe || request == Request::stop || request == Request::stop_hold;
}

GuardSilence silence_of(guard::Watch const& watch) { return {watch.late_ms, watch.age_ms, watch.scan_ms}; }

}  // namespace

GuardCore::GuardCore(guard::Declaration const& bench, BenchLink& link, std::uint16_t challenge)
    : bench_(bench), link_(link), challenge_(challenge) {
  published_.publish(last_);
}

std::uint64_t GuardCore::post(Request request) noexcept {
  pending_.fetch_or(mark(request), std::memory_order_acq_rel);
  return posted_.fetch_add(1, std::memory_order_acq_rel) + 1;
}

std::uint64_t GuardCore::post_prepare(guard::StepLimits const& step) noexcept {
  step_slot_.publish(step);
  return post(Request::prepare);
}

std::uint64_t GuardCore::post_close(PermitLink* link) noexcept {
  permit_slot_.store(link, std::memory_order_release);
  return post(Request::close);
}

void GuardCore::choose(std::uint64_t& handled, Request& request) noexcept {
  auto const posted = posted_.load(std::memory_order_acquire);
  waiting_ |= pending_.exchange(0, std::memory_order_acq_rel);
  request = Request::none;
  for (int n = 1; n < guard::request_count; ++n) {  // the safest first
    auto const candidate = static_cast<Request>(n);
    if ((waiting_ & mark(candidate)) == 0) continue;
    request = candidate;
    waiting_ &= ~mark(candidate);
    break;
  }
  // A stop ends everything that was wished before it.
  if (stops(request)) waiting_ = 0;
  // The holder gave the permit back, or was unwound: the step's own stop (rule 10).
  bool const watched = running_.machine.at == S::closing || running_.orders.consent;
  if (watched && permit_ != nullptr && permit_->returned.load(std::memory_order_acquire) && !stops(request)) {
    request = Request::stop;
    waiting_ = 0;
  }
  if (waiting_ == 0) handled = posted;
}

void GuardCore::remember(std::int64_t now_ns, BenchInputs const& in) noexcept {
  constexpr std::int64_t apart_ns = 1'000'000'000 / static_cast<std::int64_t>(images);
  if (history_count_ > 0 && now_ns - last_image_ns_ < apart_ns) return;
  last_image_ns_ = now_ns;
  history_[history_next_] = {now_ns, in};
  history_next_ = (history_next_ + 1) % images;
  if (history_count_ < images) ++history_count_;
}

void GuardCore::turn(Stamp now) noexcept {
  auto const now_ms = now.monotonic_ns / 1'000'000;
  auto const passed = began_ ? now_ms - last_ms_ : 0;
  last_ms_ = now_ms;
  if (!began_ || now_ms - beat_ms_ >= bench_.heartbeat_ms) {
    ++heartbeat_;
    beat_ms_ = now_ms;
  }
  began_ = true;

  std::uint64_t handled = last_.handled;
  Request request = Request::none;
  choose(handled, request);
  if (request == Request::prepare && takes_declaration(running_.machine)) {
    step_ = step_slot_.read();
    last_.trip = {};
    last_.refused = 0;
    last_.refused_cause = 0;
  }
  if (request == Request::close) permit_ = permit_slot_.load(std::memory_order_acquire);

  if (passed > bench_.stale_ms) running_.orders = without_energy(running_.orders, passed, bench_);
  auto const answer =
      link_.exchange(guard::outputs_of(running_.orders, bench_, step_, heartbeat_, challenge_), now.monotonic_ns);
  if (answer.ok) inputs_ = answer.inputs;
  auto const saturated = [](std::int64_t ms) {
    return ms < 0 ? 0u : ms > 0x7fffffff ? 0x7fffffffu : static_cast<std::uint32_t>(ms);
  };
  // A turn that came late and an answer that came late are one silence to the block, though each alone is none (I23).
  auto const silent_ms = passed + answer.took_ns / 1'000'000;
  bool const answered_late = answer.ok && silent_ms > bench_.stale_ms && passed <= bench_.stale_ms;
  auto const age_ms = answered_late ? silent_ms : answer.age_ns / 1'000'000;
  guard::Heard const heard{answer.ok, saturated(age_ms), saturated(passed)};
  remember(now.monotonic_ns, inputs_);
  // A key that is in counts from the turn that sees it, and a silent block holds what it said last.
  if (inputs_.bypass_key) bypassed_ms_ += passed > 1 ? static_cast<std::uint64_t>(passed) : 1;

  auto const before = running_.machine;
  auto const sent = running_.orders;
  running_ = guard::turn(running_, inputs_, heard, request, heartbeat_, bench_, step_);
  // What takes energy off does not wait for the next turn: it is sent at once. Its answer is not judged; the next turn
  // brings its own. Where the link just failed a second request would only wait for the same time limit again.
  if (answer.ok && sent.coils != guard::Coils::none && running_.orders.coils == guard::Coils::none) {
    static_cast<void>(
        link_.exchange(guard::outputs_of(running_.orders, bench_, step_, heartbeat_, challenge_), now.monotonic_ns));
  }
  // Consent follows the order in the same turn: a bus worker that looks now sees it.
  if (permit_ != nullptr) permit_->live.store(running_.orders.consent, std::memory_order_release);

  record(now, before, request);
  publish(now, handled);
}

void GuardCore::tell(GuardEventKind kind, Stamp now, S from, std::uint8_t condition, Mask conditions) noexcept {
  GuardEvent event;
  event.stamp = now;
  event.kind = kind;
  event.from = from;
  event.state = running_.machine.at;
  event.condition = condition;
  event.conditions = conditions;
  event.inputs = inputs_;
  event.outputs = guard::outputs_of(running_.orders, bench_, step_, heartbeat_, challenge_);
  auto const key_ms = bypassed_ms_ - key_since_ms_;
  event.bypass_ms = key_ms > 0xffffffffu ? 0xffffffffu : static_cast<std::uint32_t>(key_ms);
  event.silence = silence_of(running_.watch);
  events_.put(event);
}

void GuardCore::record(Stamp now, guard::Machine const& before, Request request) noexcept {
  auto const& judged = running_.judgement;
  auto const at = running_.machine.at;
  Mask const broken = judged.trips | judged.lockouts;
  auto const cause = judged.first != 0 ? judged.first : running_.cause;
  auto& trip = last_.trip;

  bool const fell = down(at) && !down(before.at);
  if (fell) {
    trip = {};
    trip.happened = true;
    trip.first = cause;
    trip.in_state = before.at;
    trip.at = now;
    trip.output_mv = inputs_.output_mv;
    trip.output_ma = inputs_.output_ma;
    trip.silence = silence_of(running_.watch);
    tell(GuardEventKind::trip, now, before.at, cause, broken);
    if (!frozen_full_.load(std::memory_order_acquire)) {
      frozen_count_ = history_count_;
      for (std::size_t n = 0; n < history_count_; ++n) {
        frozen_[n] = history_[(history_next_ + images - history_count_ + n) % images];
      }
      frozen_full_.store(true, std::memory_order_release);
    }
  }
  if (at != before.at) {
    tell(GuardEventKind::state, now, before.at, cause, broken);
    if (before.at == S::tripped && at == S::safe_earthed) tell(GuardEventKind::reset, now, before.at, trip.first, 0);
    bool const gave_up = (at == S::safe_earthed && (before.at == S::securing || before.at == S::warning)) ||
                         (at == S::discharge && before.at == S::armed);
    if (gave_up && !stops(request)) {
      // The warning that was running is not what was missing.
      last_.refused = judged.missing & ~guard::bit(7);
      last_.refused_cause = running_.cause;
      tell(GuardEventKind::refused, now, before.at, running_.cause, last_.refused);
    }
  }
  if (down(at)) {
    Mask news = broken;
    if (running_.cause != 0) news |= guard::bit(running_.cause);
    for (int number = 1; number < guard::condition_count && news != 0; ++number) {
      if ((news & guard::bit(number)) == 0 || number == trip.first) continue;
      bool known = false;
      for (std::size_t n = 0; n < trip.later_count; ++n) known = known || trip.later[n] == number;
      if (known || trip.later_count == trip.later.size()) continue;
      trip.later[trip.later_count++] = static_cast<std::uint8_t>(number);
      if (!fell) tell(GuardEventKind::later, now, before.at, static_cast<std::uint8_t>(number), broken);
    }
  }
  bool const lost = judged.findings.hazard == guard::Hazard::lost;
  if (lost != was_lost_) {
    tell(lost ? GuardEventKind::link_lost : GuardEventKind::link_back, now, before.at, 23, broken);
    was_lost_ = lost;
  }
  if (inputs_.bypass_key != had_key_) {
    if (inputs_.bypass_key) key_since_ms_ = bypassed_ms_;
    tell(GuardEventKind::bypass_key, now, before.at, 0, 0);
    had_key_ = inputs_.bypass_key;
  }
}

void GuardCore::publish(Stamp now, std::uint64_t handled) noexcept {
  auto& s = last_;
  auto const& judged = running_.judgement;
  auto const broken = judged.trips | judged.lockouts;
  bool const changed =
      !(s.machine == running_.machine) || s.missing != judged.missing || s.broken != broken || s.handled != handled;
  s.machine = running_.machine;
  s.findings = judged.findings;
  s.orders = running_.orders;
  s.missing = judged.missing;
  s.broken = broken;
  s.output_mv = inputs_.output_mv;
  s.output_ma = inputs_.output_ma;
  s.direct_ua = inputs_.direct_ua;
  s.output_good = inputs_.output_good;
  s.direct_good = inputs_.direct_good;
  s.fresh = running_.watch.fresh;
  s.bypass_key = inputs_.bypass_key;
  s.bypassed_ms = bypassed_ms_;
  s.simulated = running_.watch.ever && inputs_.challenge_answer == simulated_answer(challenge_);
  s.seed_high = inputs_.seed_high;
  s.seed_low = inputs_.seed_low;
  s.gate_openings = running_.watch.gate_openings;
  s.energised_ms = running_.watch.energised_ms;
  auto const& w = running_.watch;
  auto const bound = guard::bound_of(running_.machine, bench_, step_, w);
  bool const measuring = running_.machine.at == S::ramp_up || running_.machine.at == S::hold;
  auto const whole = measuring ? step_.longest_ms : bound;
  auto const spent = measuring ? w.energised_ms : w.bound_ms;
  s.left_ms = whole > spent ? whole - spent : 0;
  ++s.turns;
  s.overruns = overruns_;
  s.handled = handled;
  s.changes += changed ? 1 : 0;
  s.silence = silence_of(w);
  s.at = now;
  published_.publish(s);
}

std::vector<GuardImage> GuardCore::take_frozen() {
  if (!frozen_full_.load(std::memory_order_acquire)) return {};
  std::vector<GuardImage> taken(frozen_.begin(), frozen_.begin() + static_cast<std::ptrdiff_t>(frozen_count_));
  frozen_full_.store(false, std::memory_order_release);
  return taken;
}

}  // namespace benchward
