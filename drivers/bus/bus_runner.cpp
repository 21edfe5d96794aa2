// SPDX-License-Identifier: MIT
#include "drivers/bus/bus_runner.hpp"

#include <chrono>

#include <fmt/format.h>

namespace benchward {
namespace {

// A thread that sleeps is back after 5 to 50 us; who has an answer mostly asks the next thing within a few. So the
// worker stays awake for a moment, bounded, where requests come one upon the other: a bus that is asked now and then
// costs nothing, and its worker is woken before others that want the core.
constexpr std::int64_t worker_awake_ns = 50'000;
constexpr std::int64_t one_upon_the_other_ns = 200'000;
constexpr int pauses_a_look = 4;  // then whoever else wants this core has it: often the one who asks next

void pause_a_moment() {
#if defined(__x86_64__) || defined(__i386__)
  __builtin_ia32_pause();
#endif
}

}  // namespace

void BusQueue::push(std::shared_ptr<BusJob> job) {
  auto* const behind = job.get();
  (last_ != nullptr ? last_->next_ : first_) = std::move(job);
  last_ = behind;
}

std::shared_ptr<BusJob> BusQueue::pop() {
  auto job = std::move(first_);
  if (!job) return nullptr;
  first_ = std::move(job->next_);
  if (!first_) last_ = nullptr;
  return job;
}

void BusQueue::remove(BusJob const* job) {
  BusQueue kept;
  while (auto entry = pop()) {
    if (entry.get() != job) kept.push(std::move(entry));
  }
  first_ = std::move(kept.first_);
  last_ = kept.last_;
}

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
  something_.store(true, std::memory_order_release);
  wake_.notify_all();
  worker_.join();
  throw_away_waiting("bus.closed", "the bus is being closed");
}

void BusRunner::put(std::shared_ptr<BusJob> job) {
  job->asked_ns_ = wall_();
  job->poisoned_.store(false, std::memory_order_relaxed);
  job->state_.store(BusJob::State::awake, std::memory_order_release);
  bool asleep = false;
  {
    std::lock_guard const lock(mutex_);
    (job->request.command ? commands_ : reads_).push(std::move(job));
    asleep = asleep_;
  }
  // After the lock is free: a worker that is awake takes it at once.
  something_.store(true, std::memory_order_release);
  if (asleep) wake_.notify_one();
}

void BusRunner::forget(BusJob const* job) {
  std::lock_guard const lock(mutex_);
  commands_.remove(job);
  reads_.remove(job);
}

std::shared_ptr<BusJob> BusRunner::next() { return commands_.empty() ? reads_.pop() : commands_.pop(); }

void BusRunner::throw_away_waiting(char const* id, std::string const& what) {
  BusQueue waiting;
  {
    std::lock_guard const lock(mutex_);
    while (auto job = next()) waiting.push(std::move(job));
  }
  while (auto const job = waiting.pop()) {
    Fault fault;
    fault.id = id;
    fault.device = job->request.device;
    fault.operation = job->request.operation;
    fault.what = what;
    fault.next = "ask again; nothing of it was sent";
    job->fault = std::move(fault);
    job->finish();
  }
}

std::shared_ptr<BusJob> BusRunner::take_awake() {
  auto const until_ns = wall_() + worker_awake_ns;
  for (int turn = 1;; ++turn) {
    if (something_.exchange(false, std::memory_order_acq_rel)) {
      std::lock_guard const lock(mutex_);
      if (ending_) return nullptr;
      if (auto job = next()) {
        if (!commands_.empty() || !reads_.empty()) something_.store(true, std::memory_order_relaxed);
        return job;
      }
    }
    pause_a_moment();
    if (turn % pauses_a_look != 0) continue;
    std::this_thread::yield();
    if (wall_() > until_ns) return nullptr;
  }
}

std::shared_ptr<BusJob> BusRunner::take() {
  auto const begin_ns = wall_();
  if (lively_) {
    if (auto job = take_awake()) return job;
  }
  std::unique_lock lock(mutex_);
  asleep_ = true;
  // An adapter that is pulled while nothing is asked is noticed within this time.
  wake_.wait_for(lock, std::chrono::milliseconds(250),
                 [this] { return ending_ || !commands_.empty() || !reads_.empty(); });
  asleep_ = false;
  lively_ = wall_() - begin_ns < one_upon_the_other_ns;
  return ending_ ? nullptr : next();
}

void BusRunner::work() {
  for (;;) {
    auto const job = take();
    if (!job) {
      {
        std::lock_guard const lock(mutex_);
        if (ending_) break;
      }
      core_.idle();
      continue;
    }
    auto const before = core_.disconnections();
    job->fault = core_.serve(job->request, job->asked_ns_, job->poisoned_, job->reply);
    job->served_ns = wall_() - job->asked_ns_;
    // Nothing that was asked before the link went down is sent after it is back. Before the answer goes out: what its
    // receiver asks next was asked after.
    if (core_.disconnections() != before)
      throw_away_waiting("bus.lost", fmt::format("link \"{}\" was lost before this was sent", link_));
    job->finish();
  }
  core_.close();
}

}  // namespace benchward
