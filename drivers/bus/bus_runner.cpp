// SPDX-License-Identifier: MIT
#include "drivers/bus/bus_runner.hpp"

#include <algorithm>
#include <chrono>
#include <optional>

#include <fmt/format.h>

namespace benchward {

BusRunner::BusRunner(std::string link, std::unique_ptr<Wire> wire, WallTime wall, std::function<Stamp()> stamp)
    : link_(std::move(link)),
      wall_(std::move(wall)),
      core_(link_, std::move(wire), wall_, std::move(stamp), diary_),
      worker_([this] { work(); }) {}

BusRunner::~BusRunner() {
  {
    std::lock_guard const lock(mutex_);
    ending_ = true;
  }
  wake_.notify_all();
  worker_.join();
  throw_away_waiting("bus.closed", "the bus is being closed");
}

void BusRunner::put(std::shared_ptr<BusJob> job) {
  job->asked_ns = wall_();
  {
    std::lock_guard const lock(mutex_);
    (job->request.command ? commands_ : reads_).push_back(std::move(job));
  }
  wake_.notify_one();
}

void BusRunner::forget(BusJob const* job) {
  std::lock_guard const lock(mutex_);
  for (auto* queue : {&commands_, &reads_}) {
    queue->erase(std::remove_if(queue->begin(), queue->end(), [&](auto const& entry) { return entry.get() == job; }),
                 queue->end());
  }
}

std::shared_ptr<BusJob> BusRunner::next() {
  auto& queue = commands_.empty() ? reads_ : commands_;
  if (queue.empty()) return nullptr;
  auto job = queue.front();
  queue.pop_front();
  return job;
}

void BusRunner::throw_away_waiting(char const* id, std::string const& what) {
  std::deque<std::shared_ptr<BusJob>> waiting;
  {
    std::lock_guard const lock(mutex_);
    waiting.swap(commands_);
    waiting.insert(waiting.end(), reads_.begin(), reads_.end());
    reads_.clear();
  }
  for (auto const& job : waiting) {
    Fault fault;
    fault.id = id;
    fault.device = job->request.device;
    fault.operation = job->request.operation;
    fault.what = what;
    fault.next = "ask again; nothing of it was sent";
    job->answer(std::move(fault));
  }
}

void BusRunner::work() {
  for (;;) {
    std::shared_ptr<BusJob> job;
    {
      std::unique_lock lock(mutex_);
      // An adapter that is pulled while nothing is asked is noticed within this time.
      wake_.wait_for(lock, std::chrono::milliseconds(250),
                     [this] { return ending_ || !commands_.empty() || !reads_.empty(); });
      if (ending_) break;
      job = next();
    }
    auto const before = core_.disconnections();
    std::optional<Answer<BusReply>> answer;
    if (job) {
      answer.emplace(core_.serve(job->request, job->asked_ns, job->poisoned));
    } else {
      core_.idle();
    }
    // Nothing that was asked before the link went down is sent after it is back. Before the answer goes out: what its
    // receiver asks next was asked after.
    if (core_.disconnections() != before)
      throw_away_waiting("bus.lost", fmt::format("link \"{}\" was lost before this was sent", link_));
    if (answer) job->answer(std::move(*answer));
  }
  core_.close();
}

}  // namespace benchward
