// SPDX-License-Identifier: MIT
#pragma once

/// One physical link as the bus core sees it: opened, asked one thing at a time, drained, closed. Used by the bus's own
/// worker thread alone; every call is bounded by a deadline of wall time.

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "../bench/bench.hpp"
#include "byte_stream.hpp"
#include "request.hpp"

namespace benchward {

enum class WireEnd {
  answered,
  timeout,    ///< nothing whole came in time
  noise,      ///< something came that is no answer
  collision,  ///< the echo differed from what was sent
  exception,  ///< the device itself refuses
  lost        ///< the link is gone
};

/// What came of one request. A bus keeps one and uses its room again: a read in steady state allocates nothing.
struct WireResult {
  WireEnd end = WireEnd::timeout;
  std::string what;
  int exception = 0;
  std::vector<std::uint16_t> words;
  std::string line;
  Bytes sent, received;
  bool spoilt = false;  ///< noise: the answer came whole and is wrong; nothing of it is still to come
  bool noisy = false;   ///< noise was skipped before the answer
  int stale = 0;        ///< replies to something earlier that were thrown away

  /// As new, its room kept.
  void clear() {
    end = WireEnd::timeout;
    what.clear();
    exception = 0;
    words.clear();
    line.clear();
    sent.clear();
    received.clear();
    spoilt = noisy = false;
    stale = 0;
  }
  void ended(WireEnd how, std::string why) {
    end = how;
    what = std::move(why);
  }
};

class Wire {
 public:
  Wire() = default;
  Wire(Wire const&) = delete;
  Wire& operator=(Wire const&) = delete;
  virtual ~Wire() = default;

  virtual bool is_open() const = 0;
  /// Empty if it is open now; else why not, for people.
  virtual std::string open(std::int64_t deadline_ns) = 0;
  virtual void close() noexcept = 0;
  /// Lets the silence pass that has to stand before this request: what is looked at afterwards (a permit) is fresh.
  virtual void wait_turn(BusRequest const& request) = 0;
  /// Sends and waits for the answer; `into` is new, as after clear().
  virtual void transact(BusRequest const& request, std::int64_t deadline_ns, WireResult& into) = 0;
  /// Throws away what comes until the line has been quiet for `quiet_ns`, or the deadline. False: still not quiet.
  virtual bool drain(std::int64_t quiet_ns, std::int64_t deadline_ns) = 0;
  /// Whether the other end has gone, looked at while idle.
  virtual bool hung_up() = 0;
  /// Replies carry a number of their own, so that a late one is known as such (Modbus TCP): no draining needed.
  virtual bool numbers_replies() const = 0;
  /// Lets wall time pass.
  virtual void pause_until(std::int64_t wall_ns) = 0;
  /// Why a request cannot be sent at all; empty: it can.
  virtual std::string refuse(BusRequest const& request) const = 0;
};

/// The wire of a link declaration with an address. Throws std::invalid_argument for an address that is none.
std::unique_ptr<Wire> make_wire(LinkDeclaration const& link, WallTime wall);

}  // namespace benchward
