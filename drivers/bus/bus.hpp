// SPDX-License-Identifier: MIT
#pragma once

/// A bus: one link, one worker thread that alone touches it, and two queues (commands before reads). Answers come back
/// on the executor of the coroutine that asked.

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "../bench/bench.hpp"
#include "../task.hpp"
#include "../time/clock.hpp"
#include "request.hpp"

namespace benchward {

class Wire;

/// A request that is asked again and again, with room for its answer: asking it in steady state allocates nothing.
class BusCall {
 public:
  explicit BusCall(BusRequest request);
  BusCall(BusCall&&) noexcept;
  BusCall& operator=(BusCall&&) noexcept;
  ~BusCall();

  /// Not while it is asked.
  BusRequest& request();
  // Of the last time it was asked:
  bool ok() const { return fault() == nullptr; }
  Fault const* fault() const;
  BusReply const& reply() const;

 private:
  friend class Bus;
  class Job;
  std::shared_ptr<Job> job_;
};

class Bus {
 public:
  /// Starts the worker; the link is opened by the first request. `clock.now()` must be callable from any thread; wall
  /// time is the clock's divided by its scale. Throws std::invalid_argument for an address that is none.
  Bus(LinkDeclaration const& link, Clock const& clock);
  /// The same over a wire made elsewhere: a test listens to it.
  Bus(std::string name, std::unique_ptr<Wire> wire, Clock const& clock);
  /// Ends what runs (within its attempt) and gives everyone who waits a fault. Destroy it before the io_context.
  ~Bus();
  Bus(Bus const&) = delete;
  Bus& operator=(Bus const&) = delete;

  std::string const& name() const;
  /// Asks and waits for the answer. Cancellation resumes at once with operation_aborted: a request that waits is taken
  /// out, one that is on the wire is finished by the worker and its answer thrown away.
  /// Faults: bus.connect, bus.down, bus.timeout, bus.noise, bus.collision, bus.lost, bus.closed, bus.request,
  /// device.refused, permit.withdrawn.
  Task<Answer<BusReply>> ask(BusRequest request);
  /// The same, the answer left in `call`, which stays where it is until this has ended and is asked once at a time.
  /// The caller's loop goes on turning, awake, for a moment (a device on a socket may answer within microseconds);
  /// then it may sleep. A call whose device was slower than that the last time does not wait awake.
  Task<void> ask(BusCall& call);

  std::map<std::string, DeviceCounts> counts() const;
  std::vector<LoggedFrame> frames() const;

 private:
  struct Runner;
  std::unique_ptr<Runner> runner_;
};

}  // namespace benchward
