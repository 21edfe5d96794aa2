// SPDX-License-Identifier: MIT
#pragma once

/// Time that jumps. One thread, one heap of events ordered by instant and then by the order in which they were asked
/// for: the same program gives the same bytes, as fast as the processor goes. Cores only: no wire, no second thread.

#include <cstdint>
#include <functional>
#include <memory>

#include "clock.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

class VirtualClock final : public Clock {
 public:
  /// now() starts at monotonic 0 and this UTC instant (microseconds since 1970-01-01T00:00:00Z).
  explicit VirtualClock(std::int64_t start_utc_us);
  /// Waiters that are left are dropped with their coroutines: destroy the clock before the io_context they run on, or
  /// call drop_waiters() first.
  ~VirtualClock() override;

  Stamp now() const override;
  double scale() const override { return 1.0; }
  Task<void> wait_until(std::int64_t monotonic_ns) override;

  /// Number of a callback, for cancel().
  using Id = std::uint64_t;
  /// Calls `action` once at the instant (at once, in its turn, if that has passed). Guard and simulator live on these.
  Id call_at(std::int64_t monotonic_ns, std::function<void()> action);
  /// Calls `action` at `first_ns` and then every `period_ns` until cancelled. Throws std::invalid_argument for a
  /// period that is not positive: time would stand still.
  Id call_every(std::int64_t first_ns, std::int64_t period_ns, std::function<void()> action);
  void cancel(Id id);

  /// Runs handlers of `io` until none is ready, then jumps to the next event; again until `done()`. False: nothing is
  /// left that could happen and `done()` still says no (somebody waits for what never comes).
  bool run(boost::asio::io_context& io, std::function<bool()> const& done);
  /// Jumps to the next event, if there is one at or before `until_ns`, and lets it happen.
  bool step(std::int64_t until_ns);
  /// Nothing else to do: time stands at `monotonic_ns` afterwards. For tests without an io_context.
  void run_until(std::int64_t monotonic_ns);

  std::uint64_t events() const;  ///< how many have happened
  void drop_waiters();

  /// What stands behind: coroutine waiters hold it weakly.
  struct Heap;

 private:
  std::shared_ptr<Heap> heap_;
};

}  // namespace benchward
