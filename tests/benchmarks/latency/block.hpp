// SPDX-License-Identifier: MIT
#pragma once

/// A small I/O block on Modbus TCP for the latency study, in a process of its own: contacts that follow their coils in
/// milliseconds, and a gate bit that changes at an instant drawn before. It notes that instant and the arrival of the
/// first request that orders the coils off.

#include <sys/types.h>
#include <cstdint>
#include <string>

#include "drivers/bench/bench.hpp"

namespace benchward::latency {

/// Shared with the block's process.
struct Shared;

class Block {
 public:
  /// Forks. `realtime`: asks for a real-time priority above the guard's, so that the block's own lateness is no part of
  /// what is measured.
  Block(Bench const& bench, bool realtime);
  ~Block();
  Block(Block const&) = delete;
  Block& operator=(Block const&) = delete;

  std::string address() const;
  int port() const { return port_; }
  bool realtime() const;
  /// Shuts the gate; nothing is measured until `open_gate_at`.
  void begin();
  /// The gate bit changes at this instant (CLOCK_MONOTONIC).
  void open_gate_at(std::int64_t ns);
  /// From the change of the bit to the first request with the coils off, nanoseconds; -1: not yet.
  std::int64_t latency_ns() const;
  std::uint64_t requests() const;

 private:
  Shared* shared_ = nullptr;
  pid_t child_ = -1;
  int port_ = 0;
};

std::int64_t now_ns();
bool become_realtime(int above_minimum);

}  // namespace benchward::latency
