// SPDX-License-Identifier: MIT
#include "drivers/bus/bus_core.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace benchward {
namespace {

constexpr std::size_t frames_kept = 512;
constexpr std::int64_t first_back_off_ns = 100'000'000, longest_back_off_ns = 2'000'000'000;
constexpr std::int64_t busy_pause_ns = 20'000'000;        // before a device that says "busy" is asked again
constexpr std::int64_t shortest_attempt_ns = 20'000'000;  // less is the scheduler's, not the device's

std::int64_t nanoseconds(Duration duration) { return static_cast<std::int64_t>(duration.in(seconds)*1e9); }

}  // namespace

void BusDiary::frame(std::int64_t monotonic_ns, std::string const& device, bool sent, Bytes const& bytes) {
  if (ring_.size() < frames_kept) {
    ring_.push_back({monotonic_ns, device, sent, bytes});
    return;
  }
  auto& place = ring_[oldest_];
  oldest_ = (oldest_ + 1) % frames_kept;
  place.monotonic_ns = monotonic_ns;
  place.device = device;
  place.sent = sent;
  place.bytes = bytes;
}

void BusDiary::note(std::string const& device, WireResult const& result, Stamp sent, Stamp ended, Duration round_trip) {
  std::lock_guard const lock(mutex_);
  frame(sent.monotonic_ns, device, true, result.sent);
  // What nobody answers (a broadcast, a text command without reply) has no round trip.
  bool const answered = !result.received.empty();
  if (answered) frame(ended.monotonic_ns, device, false, result.received);
  auto& counts = counts_[device];
  ++counts.asked;
  counts.stale += static_cast<std::uint64_t>(result.stale);
  switch (result.end) {
    case WireEnd::answered:
    case WireEnd::exception:
      ++(result.end == WireEnd::answered ? counts.answered : counts.exceptions);
      counts.noisy += result.noisy ? 1 : 0;
      if (!answered) break;
      counts.total += round_trip;
      if (round_trip < counts.fastest) counts.fastest = round_trip;
      if (round_trip > counts.slowest) counts.slowest = round_trip;
      break;
    case WireEnd::timeout:
      ++counts.timeouts;
      break;
    case WireEnd::noise:
      ++counts.noise;
      break;
    case WireEnd::collision:
      ++counts.collisions;
      break;
    case WireEnd::lost:
      ++counts.lost;
      break;
  }
}

std::map<std::string, DeviceCounts> BusDiary::counts() const {
  std::lock_guard const lock(mutex_);
  return counts_;
}
std::vector<LoggedFrame> BusDiary::frames() const {
  std::lock_guard const lock(mutex_);
  std::vector<LoggedFrame> in_order;
  in_order.reserve(ring_.size());
  for (std::size_t i = 0; i < ring_.size(); ++i) in_order.push_back(ring_[(oldest_ + i) % ring_.size()]);
  return in_order;
}

BusCore::BusCore(std::string link, std::unique_ptr<Wire> wire, WallTime wall, std::function<Stamp()> stamp,
                 BusDiary& diary)
    : link_(std::move(link)), wire_(std::move(wire)), wall_(std::move(wall)), stamp_(std::move(stamp)), diary_(diary) {}

Fault BusCore::fault(BusRequest const& request, char const* id, std::string what, std::string next,
                     WireResult const& result) const {
  Fault made;
  made.id = id;
  made.device = request.device;
  made.operation = request.operation;
  made.what = std::move(what);
  made.next = std::move(next);
  made.sent = spaced_hex(result.sent);
  made.received = spaced_hex(result.received);
  return made;
}

void BusCore::disconnect() {
  wire_->close();
  ++disconnections_;
  dirty_ = false;
  timeouts_in_a_row_ = 0;
}

std::optional<Fault> BusCore::open(BusRequest const& request, std::int64_t deadline_ns) {
  if (wire_->is_open()) return std::nullopt;
  auto const now = wall_();
  if (now < next_attempt_ns_) {
    return fault(request, "bus.down", fmt::format("link \"{}\" is down", link_),
                 fmt::format("tried again in {:.1f} s; check cable and power of what is on it",
                             static_cast<double>(next_attempt_ns_ - now) * 1e-9));
  }
  auto const why = wire_->open(deadline_ns);
  if (why.empty()) {
    back_off_ns_ = 0;
    dirty_ = false;
    timeouts_in_a_row_ = 0;
    return std::nullopt;
  }
  back_off_ns_ = std::min(back_off_ns_ == 0 ? first_back_off_ns : back_off_ns_ * 2, longest_back_off_ns);
  next_attempt_ns_ = wall_() + back_off_ns_;
  return fault(request, "bus.connect", fmt::format("link \"{}\": {}", link_, why), "check cable, address and power");
}

Fault BusCore::fault_of(BusRequest const& request, WireResult const& result) const {
  switch (result.end) {
    case WireEnd::timeout:
      return fault(request, "bus.timeout",
                   fmt::format("no answer in {:.0f} ms{}", request.attempt.in(milliseconds),
                               result.what.empty() ? "" : ": " + result.what),
                   request.command ? "read back what the device does before it is told again"
                                   : "check power, cable and unit number",
                   result);
    case WireEnd::noise:
      return fault(request, "bus.noise", result.what,
                   "check shield, termination and that no other device has this unit number", result);
    case WireEnd::collision:
      return fault(request, "bus.collision", result.what, "check that one program and one master is on this line",
                   result);
    case WireEnd::lost:
      return fault(request, "bus.lost", fmt::format("link \"{}\" was lost: {}", link_, result.what),
                   "check adapter, cable and power", result);
    case WireEnd::exception:
      return fault(request, "device.refused", words_of_exception(result.exception),
                   "check the profile against the device's manual", result);
    case WireEnd::answered:
      break;
  }
  return fault(request, "bus.timeout", result.what, "", result);
}

std::optional<Fault> BusCore::serve(BusRequest const& request, std::int64_t asked_ns, std::atomic<bool> const& poisoned,
                                    BusReply& reply) {
  auto const deadline_ns = asked_ns + nanoseconds(request.deadline);
  if (auto const why = wire_->refuse(request); !why.empty()) {
    return fault(request, "bus.request", why, "check the profile");
  }
  std::optional<Fault> failed;  // of the last attempt
  auto const too_late = [&] {
    if (failed) return *failed;
    return fault(
        request, "bus.timeout",
        fmt::format("no answer within {:.0f} ms, waiting for the bus included", request.deadline.in(milliseconds)),
        "another device on this link may be slow or silent");
  };
  int const attempts = request.command ? 1 : 1 + request.retries;
  for (int attempt = 0; attempt < attempts; ++attempt) {
    if (wall_() >= deadline_ns) return too_late();
    if (auto const down = open(request, deadline_ns)) return *down;
    if (dirty_) {
      // A reply to what was given up may still come. Where replies carry no number it must not be taken for the next.
      if (!wire_->drain(quiet_ns_, deadline_ns)) {
        if (wire_->hung_up()) disconnect();
        return too_late();
      }
      dirty_ = false;
    }
    wire_->wait_turn(request);
    if (poisoned.load(std::memory_order_acquire))
      return fault(request, "bus.cancelled", "nobody waits for this any more", "");
    if (request.energising && !(request.permit && request.permit->live.load(std::memory_order_acquire))) {
      return fault(request, "permit.withdrawn", "the guard's consent was withdrawn; nothing was sent",
                   "see the guard's first cause");
    }
    auto const asked_at = stamp_();
    auto const begin = wall_();
    auto const until = std::min(deadline_ns, begin + std::max(nanoseconds(request.attempt), shortest_attempt_ns));
    auto& result = result_;
    result.clear();
    wire_->transact(request, until, result);
    auto const stamp = stamp_();
    auto const round_trip = seconds(static_cast<double>(wall_() - begin) * 1e-9);
    diary_.note(request.device, result, asked_at, stamp, round_trip);
    if (result.end == WireEnd::answered) {
      timeouts_in_a_row_ = 0;
      reply.words = result.words;
      reply.line = result.line;
      reply.received = stamp;
      reply.round_trip = round_trip;
      return std::nullopt;
    }
    failed = fault_of(request, result);
    switch (result.end) {
      case WireEnd::lost:
        disconnect();
        return *failed;
      case WireEnd::exception: {
        timeouts_in_a_row_ = 0;
        bool const later = result.exception == 5 || result.exception == 6;
        if (!later) return *failed;
        wire_->pause_until(wall_() + busy_pause_ns);
        break;
      }
      case WireEnd::timeout:
        // One late reply is known by its number on TCP. Two in a row: the connection may be a dead one.
        ++timeouts_in_a_row_;
        if (!wire_->numbers_replies()) {
          dirty_ = true;
        } else if (timeouts_in_a_row_ >= 2) {
          disconnect();
        }
        quiet_ns_ = std::max(nanoseconds(request.attempt), shortest_attempt_ns);
        break;
      case WireEnd::noise:
      case WireEnd::collision:
        // On a socket nothing but a broken peer makes noise, and the next frame's place is unknown.
        if (wire_->numbers_replies()) {
          disconnect();
        } else {
          // Noise may hide that the answer is still to come.
          dirty_ = true;
          quiet_ns_ = result.spoilt ? shortest_attempt_ns : std::max(nanoseconds(request.attempt), shortest_attempt_ns);
        }
        break;
      case WireEnd::answered:
        break;
    }
  }
  return too_late();
}

void BusCore::idle() {
  if (wire_->is_open() && wire_->hung_up()) disconnect();
}

}  // namespace benchward
