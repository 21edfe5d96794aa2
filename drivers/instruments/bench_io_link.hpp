// SPDX-License-Identifier: MIT
#pragma once

/// The guard's own link to the bench I/O block: one read/write request (function 23) a turn, on the thread that calls.
/// Shared with nothing. Not a safety function: the hard-wired chain and the block's own watchdog are.

#include <memory>
#include <optional>

#include "../bench/bench.hpp"
#include "../fault.hpp"
#include "../time/clock.hpp"

namespace benchward {

class BenchIoLink final : public BenchLink {
 public:
  /// `link` has an address (of a ready line on a simulated bench). `clock.now()` must be callable from the calling
  /// thread. Connects at the first exchange. Throws std::invalid_argument for an address that is none.
  BenchIoLink(IoMap map, LinkDeclaration const& link, Clock const& clock);
  ~BenchIoLink() override;

  /// At connection all outputs off but watchdog, heartbeat and owner are written first, and the watchdog time read back
  /// must be the one written; without that every exchange fails. A failed exchange closes the link (no reply to it is
  /// ever taken for a later one); the next tries again, at most each 100 ms. Bounded by the map's time limit of wall
  /// time (20 ms at least). An exchange that is answered neither allocates nor takes a lock; connecting and the words
  /// of a fault do allocate: there is no link then that could energise.
  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override;

  /// Why the last exchange failed; nothing after a good one. From any thread; the guard's never waits for the caller.
  std::optional<Fault> last_fault() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace benchward
