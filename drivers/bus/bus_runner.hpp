// SPDX-License-Identifier: MIT
#pragma once

/// The worker thread of a bus and its queues. No Asio: who waits is behind BusJob.

#include <atomic>
#include <condition_variable>
#include <deque>
#include <memory>
#include <mutex>
#include <thread>

#include "bus_core.hpp"

namespace benchward {

/// A request with somebody who waits for its answer. Finished exactly once, by the worker or by whoever cancels.
class BusJob {
 public:
  explicit BusJob(BusRequest asked) : request(std::move(asked)) {}
  BusJob(BusJob const&) = delete;
  BusJob& operator=(BusJob const&) = delete;
  virtual ~BusJob() = default;

  BusRequest const request;
  std::int64_t asked_ns = 0;
  std::atomic<bool> poisoned{false};

  /// From the worker: delivers unless somebody was faster.
  void answer(Answer<BusReply> answer) {
    if (!taken_.exchange(true)) deliver(std::move(answer));
  }
  /// From the waiter: true if the answer had not been delivered; it will not be.
  bool cancel() {
    poisoned.store(true, std::memory_order_release);
    return !taken_.exchange(true);
  }

 protected:
  virtual void deliver(Answer<BusReply> answer) = 0;

 private:
  std::atomic<bool> taken_{false};
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

 private:
  void work();
  std::shared_ptr<BusJob> next();
  void throw_away_waiting(char const* id, std::string const& what);

  std::string link_;
  WallTime wall_;
  BusDiary diary_;
  BusCore core_;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<std::shared_ptr<BusJob>> commands_, reads_;
  bool ending_ = false;
  std::thread worker_;  ///< last: it uses everything above
};

}  // namespace benchward
