// SPDX-License-Identifier: MIT
#include "sim/bench/supplies.hpp"

#include <algorithm>
#include <cmath>

#include "sim/bench/contactor.hpp"

namespace benchward::sim {
namespace {

double seconds_between(std::int64_t from_ns, std::int64_t to_ns) { return static_cast<double>(to_ns - from_ns) * 1e-9; }

}  // namespace

bool AlternatingSupply::healthy() const { return supply_present_ && !tripped_ && !faults_.on("supply-not-healthy"); }

double AlternatingSupply::limit_a() const {
  double const set = order_.limit_a > 0.0 ? std::min(order_.limit_a, build_.rated_a) : build_.rated_a;
  return set * faults_.value_or("source-trips-early", 100.0) / 100.0;
}

void AlternatingSupply::start_move(double target, double seconds, std::int64_t now_ns) {
  from_v_ = moved_v(now_ns);
  target_v_ = target;
  double const range = range_v_ > 0.0 ? range_v_ : build_.ranges_v.back();
  double const fastest = std::abs(target - from_v_) / range * build_.fastest_ramp_s;
  move_begins_ns_ = now_ns;
  move_ends_ns_ = now_ns + to_ns(std::max(seconds, fastest));
}

bool AlternatingSupply::set(SupplyOrder const& order, std::int64_t now_ns) {
  if (tripped_ && order.volts <= 0.0) tripped_ = false;  // an order of zero resets the relay
  if (!(order.volts >= 0.0) || order.volts > build_.ranges_v.back() || !(order.hertz > 0.0)) return false;
  if (order.volts > 0.0 && (!permitted_ || tripped_)) return false;
  bool const standing = moved_v(now_ns) > 0.0;
  auto const fits = std::find_if(build_.ranges_v.begin(), build_.ranges_v.end(),
                                 [&](double range) { return order.volts * 1.05 <= range; });
  double const range = fits == build_.ranges_v.end() ? build_.ranges_v.back() : *fits;
  if (standing) {
    // Frequency and phases change at zero only; the range is a matter of the electronics and changes under way.
    if (order.hertz != order_.hertz || order.phases != order_.phases) return false;
    if (order.volts > range_v_) range_v_ = range;
  } else if (order.volts > 0.0) {
    range_v_ = range;
  }
  order_ = order;
  start_move(order.volts, order.ramp_s, now_ns);
  return true;
}

void AlternatingSupply::to_zero(double ramp_s, std::int64_t now_ns) {
  double const turning = build_.rotating ? faults_.value_or("shaft-still-turning", 0.0) : 0.0;
  tripped_ = false;
  start_move(0.0, std::max(ramp_s, turning), now_ns);
  order_.volts = 0.0;
}

void AlternatingSupply::permit(bool permitted, std::int64_t now_ns) {
  if (permitted == permitted_) return;
  permitted_ = permitted;
  if (!permitted && target_v_ > 0.0) to_zero(build_.stop_s, now_ns);
}

double AlternatingSupply::moved_v(std::int64_t now_ns) const {
  if (now_ns >= move_ends_ns_) return target_v_;
  double const share = seconds_between(move_begins_ns_, now_ns) / seconds_between(move_begins_ns_, move_ends_ns_);
  return from_v_ + (target_v_ - from_v_) * share;
}

double AlternatingSupply::regulator_v(std::int64_t now_ns) const {
  if (tripped_ || !supply_present_) return 0.0;
  double value = moved_v(now_ns);
  if (target_v_ > from_v_ && faults_.on("regulator-sticks")) {
    value = std::min(value, std::max(from_v_, target_v_ * faults_.value_or("regulator-sticks", 0.0) / 100.0));
  }
  if (build_.rotating && target_v_ > 0.0 && now_ns > move_ends_ns_) {
    double const since = seconds_between(move_ends_ns_, now_ns);
    value += faults_.value_or("regulator-runs-on", 0.0) / 100.0 * range_v_ * since;
    if (order_.hertz > 1.3 * build_.rated_hz) {
      value *= 1.0 + faults_.value_or("self-excitation", 0.0) / 100.0 * since;
    }
    value = std::min(value, 1.2 * range_v_);
  }
  if (build_.rotating && value <= 0.0) {
    value =
        faults_.value_or("regulator-not-at-zero", 0.0) / 100.0 * (range_v_ > 0.0 ? range_v_ : build_.ranges_v.front());
  }
  return value;
}

double AlternatingSupply::frequency_hz(std::int64_t) const {
  return order_.hertz + (build_.rotating ? faults_.value_or("wrong-frequency", 0.0) : 0.0);
}

bool AlternatingSupply::at_zero(std::int64_t now_ns) const { return tripped_ || moved_v(now_ns) <= 0.0; }
bool AlternatingSupply::moving(std::int64_t now_ns) const {
  if (now_ns < move_ends_ns_) return true;
  return target_v_ > 0.0 && (faults_.on("regulator-runs-on") || faults_.on("self-excitation"));
}
bool AlternatingSupply::at_set(std::int64_t now_ns) const {
  return !tripped_ && now_ns >= move_ends_ns_ + to_ns(build_.settle_s) && !faults_.on("regulator-sticks");
}

void AlternatingSupply::watch_current(double amperes, std::int64_t now_ns) {
  if (!(amperes > limit_a())) {
    over_since_ns_ = -1;
    return;
  }
  if (over_since_ns_ < 0) over_since_ns_ = now_ns;
  if (now_ns - over_since_ns_ < to_ns(build_.relay_s)) return;
  tripped_ = true;
  over_since_ns_ = -1;
  from_v_ = target_v_ = order_.volts = 0.0;
  move_begins_ns_ = move_ends_ns_ = now_ns;
}

std::int64_t AlternatingSupply::next_event_ns(std::int64_t now_ns) const {
  std::int64_t next = never_ns;
  if (now_ns < move_ends_ns_) next = move_ends_ns_;
  if (over_since_ns_ >= 0) next = std::min(next, over_since_ns_ + to_ns(build_.relay_s));
  return next > now_ns ? next : now_ns + 1;
}

bool DirectSupply::set(double amperes) {
  if (!(amperes >= 0.0) || (amperes > 0.0 && !permitted_)) return false;
  amperes_ = amperes;
  return true;
}

}  // namespace benchward::sim
