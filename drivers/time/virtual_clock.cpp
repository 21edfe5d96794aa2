// SPDX-License-Identifier: MIT
#include "drivers/time/virtual_clock.hpp"

#include <limits>
#include <map>
#include <stdexcept>
#include <utility>

#include <boost/asio/associated_cancellation_slot.hpp>
#include <boost/asio/associated_executor.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace benchward {

namespace asio = boost::asio;
using boost::system::error_code;

namespace {

/// Something that happens at an instant.
struct Event {
  Event() = default;
  Event(Event const&) = delete;
  Event& operator=(Event const&) = delete;
  virtual ~Event() = default;
  virtual void happen(error_code error) = 0;
};

using Place = std::pair<std::int64_t, std::uint64_t>;  // instant, then order of asking

}  // namespace

struct VirtualClock::Heap {
  std::int64_t now_ns = 0;
  std::int64_t start_utc_us = 0;
  std::uint64_t next = 1;
  std::uint64_t happened = 0;
  // An ordered map rather than a priority queue: cancelling takes an event out, and no handler is ever move-assigned
  // (Boost 1.81's type-erased handler recurses for ever there).
  std::map<Place, std::shared_ptr<Event>> events;
  std::map<std::uint64_t, std::int64_t> instants;  // of callbacks that can be cancelled

  Place put(std::int64_t at_ns, std::shared_ptr<Event> event) {
    Place const place{at_ns < now_ns ? now_ns : at_ns, next++};
    events.emplace(place, std::move(event));
    return place;
  }
};

namespace {

/// A coroutine that waits. The typed handler lives here, held by shared pointer.
template <class Handler>
class Waiter final : public Event {
 public:
  explicit Waiter(Handler handler) : work_(asio::get_associated_executor(handler)), handler_(std::move(handler)) {}
  void happen(error_code error) override {
    if (done_) return;
    done_ = true;
    if (auto slot = asio::get_associated_cancellation_slot(handler_); slot.is_connected()) slot.clear();
    auto executor = work_.get_executor();
    asio::post(executor, Resume{std::move(handler_), error});
    work_.reset();
  }
  auto slot() const { return asio::get_associated_cancellation_slot(handler_); }

 private:
  struct Resume {
    Handler handler;
    error_code error;
    void operator()() { std::move(handler)(error); }
  };
  asio::executor_work_guard<asio::associated_executor_t<Handler>> work_;
  Handler handler_;
  bool done_ = false;
};

struct StartWaiting {
  std::shared_ptr<VirtualClock::Heap> heap;
  std::int64_t at_ns;

  template <class Handler>
  void operator()(Handler handler) const {
    auto waiter = std::make_shared<Waiter<Handler>>(std::move(handler));
    auto const place = heap->put(at_ns, waiter);
    if (auto slot = waiter->slot(); slot.is_connected()) {
      slot.assign([heap_seen = std::weak_ptr<VirtualClock::Heap>(heap), place](asio::cancellation_type) {
        auto const there = heap_seen.lock();
        if (!there) return;
        auto const found = there->events.find(place);
        if (found == there->events.end()) return;
        auto const event = found->second;
        there->events.erase(found);
        event->happen(asio::error::operation_aborted);
      });
    }
  }
};

class Callback final : public Event {
 public:
  explicit Callback(std::function<void()> action) : action_(std::move(action)) {}
  void happen(error_code) override { action_(); }

 private:
  std::function<void()> action_;
};

struct Repeat : std::enable_shared_from_this<Repeat> {
  std::weak_ptr<VirtualClock::Heap> heap;
  VirtualClock::Id id = 0;
  std::int64_t at_ns = 0, period_ns = 0;
  std::function<void()> action;

  void arm() {
    auto const there = heap.lock();
    if (!there) return;
    auto self = shared_from_this();
    // The place of a repeating callback among those of one instant is that of its first asking.
    there->events.emplace(Place{at_ns, id}, std::make_shared<Callback>([self] { self->turn(); }));
    there->instants[id] = at_ns;
  }
  void turn() {
    at_ns += period_ns;
    arm();  // before the action, so that it may cancel itself
    action();
  }
};

}  // namespace

VirtualClock::VirtualClock(std::int64_t start_utc_us) : heap_(std::make_shared<Heap>()) {
  heap_->start_utc_us = start_utc_us;
}

VirtualClock::~VirtualClock() { drop_waiters(); }

void VirtualClock::drop_waiters() {
  while (!heap_->events.empty()) {  // a dropped coroutine's destructors may ask for new events
    auto const dropped = std::exchange(heap_->events, {});
    heap_->instants.clear();
  }
}

Stamp VirtualClock::now() const { return {heap_->now_ns, heap_->start_utc_us + heap_->now_ns / 1000}; }

Task<void> VirtualClock::wait_until(std::int64_t monotonic_ns) {
  StartWaiting start{heap_, monotonic_ns};
  auto waiting =
      asio::async_initiate<asio::use_awaitable_t<> const, void(error_code)>(std::move(start), asio::use_awaitable);
  co_await std::move(waiting);
}

VirtualClock::Id VirtualClock::call_at(std::int64_t monotonic_ns, std::function<void()> action) {
  auto const place = heap_->put(monotonic_ns, std::make_shared<Callback>(std::move(action)));
  heap_->instants[place.second] = place.first;
  return place.second;
}

VirtualClock::Id VirtualClock::call_every(std::int64_t first_ns, std::int64_t period_ns, std::function<void()> action) {
  if (period_ns <= 0) throw std::invalid_argument("a repeating callback needs a period above zero");
  auto repeat = std::make_shared<Repeat>();
  repeat->heap = heap_;
  repeat->id = heap_->next++;
  repeat->at_ns = first_ns < heap_->now_ns ? heap_->now_ns : first_ns;
  repeat->period_ns = period_ns;
  repeat->action = std::move(action);
  repeat->arm();
  return repeat->id;
}

void VirtualClock::cancel(Id id) {
  auto const found = heap_->instants.find(id);
  if (found == heap_->instants.end()) return;
  heap_->events.erase(Place{found->second, id});
  heap_->instants.erase(found);
}

bool VirtualClock::step(std::int64_t until_ns) {
  auto const first = heap_->events.begin();
  if (first == heap_->events.end() || first->first.first > until_ns) return false;
  auto const place = first->first;
  auto const event = first->second;  // stays alive while it happens
  heap_->events.erase(first);
  if (auto const known = heap_->instants.find(place.second);
      known != heap_->instants.end() && known->second == place.first) {
    heap_->instants.erase(known);
  }
  heap_->now_ns = place.first;
  ++heap_->happened;
  event->happen({});
  return true;
}

bool VirtualClock::run(asio::io_context& io, std::function<bool()> const& done) {
  for (;;) {
    io.restart();  // it stops itself whenever it runs out of work
    while (io.poll() > 0) {
      if (io.stopped()) io.restart();
    }
    if (done()) return true;
    if (!step(std::numeric_limits<std::int64_t>::max())) return false;
  }
}

void VirtualClock::run_until(std::int64_t monotonic_ns) {
  while (step(monotonic_ns)) {
  }
  if (heap_->now_ns < monotonic_ns) heap_->now_ns = monotonic_ns;
}

std::uint64_t VirtualClock::events() const { return heap_->happened; }

}  // namespace benchward
