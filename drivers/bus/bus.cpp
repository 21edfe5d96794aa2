// SPDX-License-Identifier: MIT
#include "drivers/bus/bus.hpp"

#include <atomic>
#include <cstddef>
#include <optional>
#include <thread>
#include <utility>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/associated_cancellation_slot.hpp>
#include <boost/asio/associated_executor.hpp>
#include <boost/asio/deferred.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/this_coro.hpp>

#include "drivers/bus/bus_runner.hpp"

namespace benchward {

namespace asio = boost::asio;
using boost::system::error_code;

struct Bus::Runner : BusRunner {
  using BusRunner::BusRunner;
  std::string name;
};

namespace {

/// How long a caller's loop turns awake for one answer, and how often at most where a test's time stands still.
constexpr std::int64_t awake_ns = 200'000;
constexpr int most_turns = 5000, turns_a_look = 8;

/// Memory for what is posted to the waiter's loop, within the job: the worker allocates nothing.
class PostMemory {
 public:
  void* take(std::size_t size) {
    if (size > sizeof room_ || std::exchange(used_, true)) return ::operator new(size);
    return room_;
  }
  void give_back(void* place) {
    if (place == static_cast<void*>(room_)) {
      used_ = false;
    } else {
      ::operator delete(place);
    }
  }

 private:
  alignas(std::max_align_t) std::byte room_[256];
  bool used_ = false;
};

template <class T>
struct PostAllocator {
  using value_type = T;
  PostMemory* memory;
  explicit PostAllocator(PostMemory* from) : memory(from) {}
  template <class U>
  PostAllocator(PostAllocator<U> const& other) : memory(other.memory) {}
  T* allocate(std::size_t count) { return static_cast<T*>(memory->take(count * sizeof(T))); }
  void deallocate(T* place, std::size_t) { memory->give_back(place); }
  template <class U>
  bool operator==(PostAllocator<U> const& other) const {
    return memory == other.memory;
  }
};

}  // namespace

/// A job whose owner is a coroutine. Where it sleeps, its handler is posted to its own loop, whoever ends the waiting.
class BusCall::Job final : public BusJob, public std::enable_shared_from_this<BusCall::Job> {
 public:
  using BusJob::BusJob;

  /// On the owner's loop: whoever answers resumes `handler`.
  template <class Handler>
  void hold(Handler handler, BusRunner& runner) {
    static_assert(sizeof(Held<Handler>) <= sizeof held_room_);
    auto slot = asio::get_associated_cancellation_slot(handler);
    held_ = new (static_cast<void*>(held_room_)) Held<Handler>(std::move(handler));
    if (slot.is_connected()) {
      slot.assign([weak = weak_from_this(), to = &runner](asio::cancellation_type) {
        auto const job = weak.lock();
        if (!job || !job->give_up()) return;
        to->forget(job.get());
        job->resume(asio::error::operation_aborted);
      });
    }
    if (!sleep()) resume({});  // answered meanwhile
  }

 private:
  /// A handler of whatever type, in the job's own memory.
  class AnyHeld {
   public:
    AnyHeld() = default;
    AnyHeld(AnyHeld const&) = delete;
    AnyHeld& operator=(AnyHeld const&) = delete;
    virtual ~AnyHeld() = default;
    /// Ends this object's life: once it is posted, the owner may sleep again, in the same memory.
    virtual void post_and_end(error_code error, std::shared_ptr<Job> job) = 0;
  };
  template <class Handler>
  struct Resume {
    Handler handler;
    error_code error;
    std::shared_ptr<Job> job;  ///< its memory is used until this is called
    PostMemory* memory;
    using allocator_type = PostAllocator<std::byte>;
    allocator_type get_allocator() const noexcept { return allocator_type(memory); }
    void operator()() {
      // On the waiter's own thread: nobody emits a cancellation meanwhile.
      if (auto slot = asio::get_associated_cancellation_slot(handler); slot.is_connected()) slot.clear();
      std::move(handler)(error);
    }
  };
  template <class Handler>
  class Held final : public AnyHeld {
   public:
    explicit Held(Handler handler) : work_(asio::get_associated_executor(handler)), handler_(std::move(handler)) {}
    void post_and_end(error_code error, std::shared_ptr<Job> job) override {
      auto const work = std::move(work_);
      auto const executor = work.get_executor();
      auto* const memory = &job->memory_;
      Resume<Handler> resuming{std::move(handler_), error, std::move(job), memory};
      this->~Held();
      // The loop's own executor uses the memory handed in, the general one does not.
      if (auto const* loop = executor.template target<asio::io_context::executor_type>()) {
        asio::post(*loop, std::move(resuming));
      } else {
        asio::post(executor, std::move(resuming));
      }
    }

   private:
    asio::executor_work_guard<asio::any_io_executor> work_;
    Handler handler_;
  };

  void wake() override { resume({}); }
  void resume(error_code error) {
    auto const self = shared_from_this();
    std::exchange(held_, nullptr)->post_and_end(error, self);
  }

  AnyHeld* held_ = nullptr;
  alignas(std::max_align_t) std::byte held_room_[192];
  PostMemory memory_;
};

BusCall::BusCall(BusRequest request) : job_(std::make_shared<Job>(std::move(request))) {}
BusCall::BusCall(BusCall&&) noexcept = default;
BusCall& BusCall::operator=(BusCall&&) noexcept = default;
BusCall::~BusCall() = default;
BusRequest& BusCall::request() {
  // The worker may still be busy with what was given up: that job is its alone.
  if (job_->given_up()) job_ = std::make_shared<Job>(job_->request);
  return job_->request;
}
Fault const* BusCall::fault() const { return job_->fault ? &*job_->fault : nullptr; }
BusReply const& BusCall::reply() const { return job_->reply; }

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

namespace {

/// Gives a job up when its coroutine is left without an answer (cancelled, destroyed).
class Asking {
 public:
  Asking(BusRunner& runner, BusJob& job) : runner_(runner), job_(job) {
    callers_.fetch_add(1, std::memory_order_relaxed);
  }
  Asking(Asking const&) = delete;
  Asking& operator=(Asking const&) = delete;
  ~Asking() {
    callers_.fetch_sub(1, std::memory_order_relaxed);
    if (job_.give_up()) runner_.forget(&job_);
  }

  /// No other bus of this program has a caller who waits.
  static bool alone() { return callers_.load(std::memory_order_relaxed) <= 1; }

 private:
  inline static std::atomic<int> callers_{0};
  BusRunner& runner_;
  BusJob& job_;
};

}  // namespace

Task<void> Bus::ask(BusCall& call) {
  auto const executor = co_await asio::this_coro::executor;
  call.request();
  auto const job = call.job_;
  // A slow device is not waited for awake, nor one that is asked now and then: on a crowded machine, who stays awake
  // loses the core to others just when the answer comes, and who sleeps is woken before them. Nor do several wait so:
  // the first of many answers comes soon, and awake they only take the cores from the workers who fetch them.
  auto const since_answer_ns = runner_->wall()() - job->asked_ns() - job->served_ns;
  bool const quick = job->served_ns <= awake_ns && since_answer_ns <= awake_ns;
  Asking const asking(*runner_, *job);
  runner_->put(job);
  auto const asked_ns = job->asked_ns();
  // From here to the answer this bus may end; the job stays.
  if (quick) {
    for (int turn = 1; turn <= most_turns && !job->answered() && Asking::alone(); ++turn) {
      if (turn % turns_a_look == 1) {
        std::this_thread::yield();  // whoever else wants this core has it: the worker, to begin with
        if (runner_->wall()() - asked_ns > awake_ns) break;
      }
      co_await asio::post(executor, asio::deferred);
    }
  }
  if (!job->answered()) {
    auto hold = [&job, to = runner_.get()](auto handler) { job->hold(std::move(handler), *to); };
    co_await asio::async_initiate<asio::deferred_t const, void(error_code)>(std::move(hold), asio::deferred);
  }
}

Task<Answer<BusReply>> Bus::ask(BusRequest request) {
  BusCall call(std::move(request));
  co_await ask(call);
  if (auto const* fault = call.fault()) co_return *fault;
  co_return call.reply();
}

std::map<std::string, DeviceCounts> Bus::counts() const { return runner_->diary().counts(); }
std::vector<LoggedFrame> Bus::frames() const { return runner_->diary().frames(); }

}  // namespace benchward
