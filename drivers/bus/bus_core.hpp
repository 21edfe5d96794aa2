// SPDX-License-Identifier: MIT
#pragma once

/// What a bus does with one request: opens the wire if need be, drains what a failure left, keeps the deadline, looks
/// at the permit, repeats reads and never commands, counts. No thread, no queue: the runner (bus.hpp) owns those.

#include <atomic>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "wire.hpp"

namespace benchward {

/// Counts and the last frames, readable from any thread.
class BusDiary {
 public:
  /// One request as it ended: its frames into the ring, its end into the counts.
  void note(std::string const& device, WireResult const& result, Stamp sent, Stamp ended, Duration round_trip);
  std::map<std::string, DeviceCounts> counts() const;
  std::vector<LoggedFrame> frames() const;  ///< oldest first, at most 512

 private:
  void frame(std::int64_t monotonic_ns, std::string const& device, bool sent, Bytes const& bytes);

  mutable std::mutex mutex_;
  std::map<std::string, DeviceCounts> counts_;
  std::vector<LoggedFrame> ring_;  ///< its places are used again, room of their bytes included
  std::size_t oldest_ = 0;
};

class BusCore {
 public:
  /// `stamp`: the clock's now(); must be callable from the worker's thread.
  BusCore(std::string link, std::unique_ptr<Wire> wire, WallTime wall, std::function<Stamp()> stamp, BusDiary& diary);

  /// Serves one request. `asked_ns`: wall time of asking, from which the deadline counts. `poisoned`: set when nobody
  /// wants the answer any more; a request that has not been sent is then not sent.
  /// The answer stands in `reply`, whose room is used again; or the fault that came instead.
  std::optional<Fault> serve(BusRequest const& request, std::int64_t asked_ns, std::atomic<bool> const& poisoned,
                             BusReply& reply);
  /// Between requests: notices an adapter that was pulled or a connection closed by the other end.
  void idle();
  /// Counts disconnections: the runner throws away what waits when it changes.
  std::uint64_t disconnections() const { return disconnections_; }
  void close() noexcept { wire_->close(); }

 private:
  Fault fault(BusRequest const& request, char const* id, std::string what, std::string next,
              WireResult const& result = {}) const;
  std::optional<Fault> open(BusRequest const& request, std::int64_t deadline_ns);
  void disconnect();
  Fault fault_of(BusRequest const& request, WireResult const& result) const;

  std::string link_;
  std::unique_ptr<Wire> wire_;
  WallTime wall_;
  std::function<Stamp()> stamp_;
  BusDiary& diary_;
  WireResult result_;
  bool dirty_ = false;         ///< a reply may still come for something given up
  std::int64_t quiet_ns_ = 0;  ///< how long it must stay quiet then
  int timeouts_in_a_row_ = 0;
  std::int64_t next_attempt_ns_ = 0, back_off_ns_ = 0;
  std::uint64_t disconnections_ = 0;
};

}  // namespace benchward
