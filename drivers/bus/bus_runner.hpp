// SPDX-License-Identifier: MIT
#pragma once

/// The worker thread of a bus and its queues. No Asio: who waits is behind BusJob.

#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>

#include "bus_core.hpp"

namespace benchward {

/// A request with somebody who waits for its answer, used again for the next one. Finished exactly once each time it is
/// asked, by the worker or by whoever gives it up.
class BusJob {
 public:
  explicit BusJob(BusRequest asked) : request(std::move(asked)) {}
  BusJob(BusJob const&) = delete;
  BusJob& operator=(BusJob const&) = delete;
  virtual ~BusJob() = default;

  BusRequest request;  ///< its owner's to change, never while it is asked

  // The owner's once answered() says so; the worker's before.
  BusReply reply;
  std::optional<Fault> fault;
  std::int64_t served_ns = 0;  ///< wall time from asking to the answer, waiting for the bus included

  std::int64_t asked_ns() const { return asked_ns_; }
  /// Whether a worker may still touch it: then it is not asked again.
  bool given_up() const { return state_.load(std::memory_order_acquire) == State::given_up; }
  bool answered() const { return state_.load(std::memory_order_acquire) == State::answered; }

  /// From the owner: true if it is told by wake(); false: the answer is there.
  bool sleep() {
    auto expected = State::awake;
    return state_.compare_exchange_strong(expected, State::asleep, std::memory_order_acq_rel);
  }
  /// From the owner: true if it had not been answered; it will not be, and nobody is woken.
  bool give_up() {
    poisoned_.store(true, std::memory_order_release);
    auto state = state_.load(std::memory_order_acquire);
    while (state == State::awake || state == State::asleep) {
      if (state_.compare_exchange_weak(state, State::given_up, std::memory_order_acq_rel)) return true;
    }
    return false;
  }

 protected:
  /// From the worker's thread: the owner sleeps and the answer is there.
  virtual void wake() = 0;

 private:
  friend class BusRunner;
  friend class BusQueue;
  enum class State { idle, awake, asleep, answered, given_up };

  void finish() {
    if (state_.exchange(State::answered, std::memory_order_acq_rel) == State::asleep) wake();
  }

  std::atomic<State> state_{State::idle};
  std::atomic<bool> poisoned_{false};
  std::int64_t asked_ns_ = 0;
  std::shared_ptr<BusJob> next_;  ///< behind it in its queue
};

/// First in, first out; a job is its own link, so that nothing is allocated.
class BusQueue {
 public:
  bool empty() const { return !first_; }
  void push(std::shared_ptr<BusJob> job);
  std::shared_ptr<BusJob> pop();  ///< nothing: it is empty
  void remove(BusJob const* job);

 private:
  std::shared_ptr<BusJob> first_;
  BusJob* last_ = nullptr;
};

class BusRunner {
 public:
  BusRunner(std::string link, std::unique_ptr<Wire> wire, WallTime wall, std::function<Stamp()> stamp);
  ~BusRunner();
  BusRunner(BusRunner const&) = delete;
  BusRunner& operator=(BusRunner const&) = delete;

  void put(std::shared_ptr<BusJob> job);
  void forget(BusJob const* job);
  BusDiary const& diary() const { return diary_; }
  WallTime const& wall() const { return wall_; }

 private:
  void work();
  std::shared_ptr<BusJob> take();
  std::shared_ptr<BusJob> take_awake();
  std::shared_ptr<BusJob> next();
  void throw_away_waiting(char const* id, std::string const& what);

  std::string link_;
  WallTime wall_;
  BusDiary diary_;
  BusCore core_;
  std::mutex mutex_;
  std::condition_variable wake_;
  BusQueue commands_, reads_;
  bool ending_ = false, asleep_ = false;
  bool lively_ = false;                 ///< the worker's own: requests come one upon the other
  std::atomic<bool> something_{false};  ///< asked, or ending: looked at by the worker while it is awake
  std::thread worker_;                  ///< last: it uses everything above
};

}  // namespace benchward
