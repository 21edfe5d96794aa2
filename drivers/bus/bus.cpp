// SPDX-License-Identifier: MIT
#include "drivers/bus/bus.hpp"

#include <boost/asio/associated_cancellation_slot.hpp>
#include <boost/asio/associated_executor.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "drivers/bus/bus_runner.hpp"

namespace benchward {

namespace asio = boost::asio;
using boost::system::error_code;

struct Bus::Runner : BusRunner {
  using BusRunner::BusRunner;
  std::string name;
};

namespace {

using Delivered = std::shared_ptr<Answer<BusReply>>;  // an answer cannot be made from nothing, as Asio's results must

/// A coroutine that waits for a bus. Its handler is posted to its own executor, whoever finishes the job.
template <class Handler>
class Waiting final : public BusJob {
 public:
  Waiting(BusRequest asked, Handler handler)
      : BusJob(std::move(asked)), work_(asio::get_associated_executor(handler)), handler_(std::move(handler)) {}

  auto slot() const { return asio::get_associated_cancellation_slot(handler_); }
  void abort() { post(asio::error::operation_aborted, nullptr); }

 private:
  struct Resume {
    Handler handler;
    error_code error;
    Delivered answer;
    void operator()() {
      // On the waiter's own thread: nobody emits a cancellation meanwhile.
      if (auto slot = asio::get_associated_cancellation_slot(handler); slot.is_connected()) slot.clear();
      std::move(handler)(error, std::move(answer));
    }
  };
  void deliver(Answer<BusReply> answer) override { post({}, std::make_shared<Answer<BusReply>>(std::move(answer))); }
  void post(error_code error, Delivered answer) {
    auto executor = work_.get_executor();
    asio::post(executor, Resume{std::move(handler_), error, std::move(answer)});
    work_.reset();
  }

  asio::executor_work_guard<asio::associated_executor_t<Handler>> work_;
  Handler handler_;
};

struct StartAsking {
  BusRunner* runner;
  BusRequest request;

  template <class Handler>
  void operator()(Handler handler) {
    auto job = std::make_shared<Waiting<Handler>>(std::move(request), std::move(handler));
    if (auto slot = job->slot(); slot.is_connected()) {
      slot.assign([weak = std::weak_ptr(job), to = runner](asio::cancellation_type) {
        auto const waiting = weak.lock();
        if (!waiting || !waiting->cancel()) return;
        to->forget(waiting.get());
        waiting->abort();
      });
    }
    runner->put(std::move(job));
  }
};

}  // namespace

namespace {
WallTime wall_of(Clock const& clock) {
  return [&clock] { return static_cast<std::int64_t>(static_cast<double>(clock.now().monotonic_ns) / clock.scale()); };
}
}  // namespace

Bus::Bus(LinkDeclaration const& link, Clock const& clock) : Bus(link.name, make_wire(link, wall_of(clock)), clock) {}
Bus::Bus(std::string name, std::unique_ptr<Wire> wire, Clock const& clock)
    : runner_(std::make_unique<Runner>(name, std::move(wire), wall_of(clock), [&clock] { return clock.now(); })) {
  runner_->name = std::move(name);
}
Bus::~Bus() = default;

std::string const& Bus::name() const { return runner_->name; }

Task<Answer<BusReply>> Bus::ask(BusRequest request) {
  StartAsking start{runner_.get(), std::move(request)};
  auto waiting = asio::async_initiate<asio::use_awaitable_t<> const, void(error_code, Delivered)>(std::move(start),
                                                                                                  asio::use_awaitable);
  auto const answer = co_await std::move(waiting);
  co_return *answer;
}

std::map<std::string, DeviceCounts> Bus::counts() const { return runner_->diary().counts(); }
std::vector<LoggedFrame> Bus::frames() const { return runner_->diary().frames(); }

}  // namespace benchward
