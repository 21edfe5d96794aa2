// SPDX-License-Identifier: MIT
#pragma once

/// One contactor, or any other contact that moves some time after its coil: times in nanoseconds of simulated time.

#include <cstdint>
#include <limits>

namespace benchward::sim {

inline constexpr std::int64_t never_ns = std::numeric_limits<std::int64_t>::max();
constexpr std::int64_t to_ns(double seconds) { return static_cast<std::int64_t>(seconds * 1e9 + 0.5); }

class Contactor {
 public:
  /// A change of the coil starts the delay anew; a coil that comes back in time stops a move that has not happened.
  void set_coil(bool on, std::int64_t now_ns, std::int64_t pull_in_ns, std::int64_t drop_out_ns) {
    if (on == coil_) return;
    coil_ = on;
    due_ns_ = on == closed_ ? never_ns : now_ns + (on ? pull_in_ns : drop_out_ns);
  }
  /// Moves if it is due. True: it has moved. `held`: welded or stuck, it stays as it is.
  bool advance(std::int64_t now_ns, bool held) {
    if (due_ns_ > now_ns || held) return false;
    due_ns_ = never_ns;
    closed_ = coil_;
    return true;
  }
  std::int64_t due_ns() const { return due_ns_; }
  bool coil() const { return coil_; }
  bool closed() const { return closed_; }

 private:
  std::int64_t due_ns_ = never_ns;
  bool coil_ = false, closed_ = false;
};

}  // namespace benchward::sim
