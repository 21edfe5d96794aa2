// SPDX-License-Identifier: MIT
#include "firmware_host/store/journal_store.hpp"

#include <atomic>
#include <boost/asio/async_result.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <limits>
#include <mutex>
#include <thread>
#include <utility>

namespace benchward {
namespace {

namespace asio = boost::asio;

Fault write_fault(std::string const& words) {
  Fault fault;
  fault.id = "journal.write";
  fault.device = "journal";
  fault.operation = "keep an event";
  fault.what = words;
  fault.next = "Free or mend the disk before the next unit";
  return fault;
}

// A thread that sleeps is back after some 50 us, a commit takes some 200: entries come in bursts, so the writer stays
// awake for the next one, and who asked for `durable` for his answer. Both are bounded, so that a slow disk holds up
// nobody: STOP from a panel comes by the caller's thread.
constexpr auto writer_awake = std::chrono::microseconds(100);
constexpr auto caller_awake = std::chrono::microseconds(500);

template <class Condition>
void stay_awake(std::chrono::microseconds longest, Condition const& met) {
  auto const until = std::chrono::steady_clock::now() + longest;
  for (int turn = 1; !met(); ++turn) {
    if (turn % 32 == 0) std::this_thread::yield();  // whoever else wants this core has it
    if (std::chrono::steady_clock::now() > until) return;
  }
}

}  // namespace

DirectJournalStore::DirectJournalStore(std::string const& folder, JournalDatabase::Access access)
    : database_(folder, access), catalogue_(folder, database_, access) {}

DirectJournalStore::~DirectJournalStore() {
  try {
    flush();
  } catch (StoreError const&) {
    // Ordinary entries of an ending program; every durable one was committed when it was asked for.
  }
}

void DirectJournalStore::flush() const {
  database_.append(waiting_);
  catalogue_.take(waiting_);
  waiting_.clear();
}

Task<Answer<Done>> DirectJournalStore::append(StoredEvent event, Durability durability) {
  if (broken_) co_return *broken_;
  waiting_.push_back(std::move(event));
  if (durability == Durability::durable) {
    try {
      flush();
    } catch (StoreError const& error) {
      broken_ = write_fault(error.what());
    }
    if (broken_) co_return *broken_;
  }
  co_return Done{};
}

void DirectJournalStore::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  flush();
  database_.scan(from_seq, each);
}

std::optional<StoredEvent> DirectJournalStore::last() const {
  flush();
  return database_.last();
}

/// What became of one durable entry: written while its owner still waited awake, or told to it later.
class WriterJournalStore::Receipt {
 public:
  using Complete = std::function<void(std::optional<Fault>)>;

  bool written() const { return state_.load(std::memory_order_acquire) == State::written; }
  std::optional<Fault> const& fault() const { return fault_; }  ///< once written
  /// Its owner goes to sleep; false: it is written by now, and nobody will call.
  bool call_later(Complete complete) {
    complete_ = std::move(complete);
    State expected = State::waiting;
    return state_.compare_exchange_strong(expected, State::asleep, std::memory_order_acq_rel);
  }
  /// By the writer, once.
  void settle(asio::io_context& io, std::optional<Fault> const& fault) {
    fault_ = fault;
    if (state_.exchange(State::written, std::memory_order_acq_rel) != State::asleep) return;
    asio::post(io, [complete = std::move(complete_), fault] { complete(fault); });
  }

 private:
  enum class State { waiting, asleep, written };
  std::atomic<State> state_ = State::waiting;
  std::optional<Fault> fault_;
  Complete complete_;
};

class WriterJournalStore::Writer {
 public:
  Writer(asio::io_context& io, std::string const& folder)
      : io_(io),
        database_(folder, JournalDatabase::Access::read_write),
        catalogue_(folder, database_, JournalDatabase::Access::read_write) {
    database_.no_own_checkpoints();
    database_.lengthen_log();
    checkpoints_ = std::thread([this] { keep_checkpoints(); });
    thread_ = std::thread([this] { work(); });
  }

  ~Writer() {
    {
      std::lock_guard const lock(mutex_);
      ending_ = true;
    }
    wake_.notify_all();
    thread_.join();
    {
      std::lock_guard const lock(mutex_);
      ended_ = true;
    }
    rest_.notify_all();
    checkpoints_.join();
  }

  std::optional<Fault> broken() {
    std::lock_guard const lock(mutex_);
    return broken_;
  }

  asio::io_context& io() { return io_; }

  void queue(StoredEvent event, std::shared_ptr<Receipt> receipt) {
    bool asleep = false;
    {
      std::lock_guard const lock(mutex_);
      queue_.push_back({std::move(event), std::move(receipt)});
      anything_queued_.store(true, std::memory_order_release);
      asleep = asleep_;
    }
    if (asleep) wake_.notify_one();
  }

  /// For readers: waits until what is queued is written, then calls with the database at rest.
  template <class Read>
  void at_rest(Read const& read) {
    std::unique_lock lock(mutex_);
    idle_.wait(lock, [this] { return (queue_.empty() && !writing_) || broken_; });
    read(database_);
  }

 private:
  struct Item {
    StoredEvent event;
    std::shared_ptr<Receipt> receipt;  // none: nobody waits
  };

  void work() {
    std::unique_lock lock(mutex_);
    for (;;) {
      if (queue_.empty() && !ending_) {
        lock.unlock();
        stay_awake(writer_awake, [this] { return anything_queued_.load(std::memory_order_acquire); });
        lock.lock();
      }
      asleep_ = true;
      wake_.wait(lock, [this] { return ending_ || !queue_.empty(); });
      asleep_ = false;
      if (queue_.empty()) return;
      std::deque<Item> batch;
      batch.swap(queue_);
      anything_queued_.store(false, std::memory_order_release);
      auto fault = broken_;
      writing_ = true;
      lock.unlock();
      std::vector<StoredEvent> events;
      if (!fault) {
        events.reserve(batch.size());
        for (auto& item : batch) events.push_back(std::move(item.event));
        try {
          database_.append(events);
        } catch (StoreError const& error) {
          fault = write_fault(error.what());
        }
      }
      for (auto const& item : batch) {
        if (item.receipt) item.receipt->settle(io_, fault);
      }
      // Behind the answers: what is derived holds nobody up.
      if (!fault) catalogue_.take(events);
      lock.lock();
      written_ = true;
      writing_ = false;
      if (fault) broken_ = fault;
      idle_.notify_all();
    }
  }

  /// A commit that also has to copy the log into the file takes thirty times as long as the others: this thread does
  /// the copying, on a connection of its own, while the writer goes on.
  void keep_checkpoints() {
    JournalDatabase::checkpoint_by(database_.file(), [this] {
      std::unique_lock lock(mutex_);
      for (;;) {
        rest_.wait_for(lock, std::chrono::milliseconds(400), [this] { return ended_; });
        if (ended_) return false;
        if (written_) break;
      }
      written_ = false;
      return true;
    });
  }

  asio::io_context& io_;
  JournalDatabase database_;
  RecordCatalogue catalogue_;
  std::mutex mutex_;
  std::condition_variable wake_, idle_, rest_;
  std::deque<Item> queue_;
  std::optional<Fault> broken_;
  std::atomic<bool> anything_queued_ = false;
  bool ending_ = false, writing_ = false, written_ = false, ended_ = false, asleep_ = false;
  std::thread checkpoints_, thread_;  // last: start when everything above stands
};

WriterJournalStore::WriterJournalStore(asio::io_context& io, std::string const& folder)
    : writer_(std::make_shared<Writer>(io, folder)) {}

WriterJournalStore::~WriterJournalStore() = default;

Task<Answer<Done>> WriterJournalStore::append(StoredEvent event, Durability durability) {
  auto broken = writer_->broken();
  if (broken) co_return *broken;
  if (durability == Durability::ordinary) {
    writer_->queue(std::move(event), nullptr);
    co_return Done{};
  }
  auto const receipt = std::make_shared<Receipt>();
  writer_->queue(std::move(event), receipt);
  stay_awake(caller_awake, [&receipt] { return receipt->written(); });
  auto fault = receipt->written() ? receipt->fault() : co_await told_later(receipt);
  if (fault) co_return *std::move(fault);
  co_return Done{};
}

Task<std::optional<Fault>> WriterJournalStore::told_later(std::shared_ptr<Receipt> receipt) {
  auto initiate = [this, &receipt](auto handler) {
    // std::function must be copyable, a coroutine's handler is not: it stands behind a shared pointer.
    auto const shared = std::make_shared<decltype(handler)>(std::move(handler));
    auto const tell = [shared](std::optional<Fault> fault) { std::move (*shared)(std::move(fault)); };
    if (receipt->call_later(tell)) return;
    asio::post(writer_->io(), [tell, receipt] { tell(receipt->fault()); });
  };
  co_return co_await asio::async_initiate<asio::use_awaitable_t<> const, void(std::optional<Fault>)>(
      initiate, asio::use_awaitable);
}

void WriterJournalStore::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  writer_->at_rest([&](JournalDatabase const& database) { database.scan(from_seq, each); });
}

std::optional<StoredEvent> WriterJournalStore::last() const {
  std::optional<StoredEvent> found;
  writer_->at_rest([&](JournalDatabase const& database) { found = database.last(); });
  return found;
}

std::optional<AttemptRecord> record_of(DirectJournalStore const& store, CatalogueRow const& row) {
  auto const last = row.last_seq != 0 ? row.last_seq : std::numeric_limits<std::uint64_t>::max();
  return read_attempt(store, row.attempt, row.first_seq, last);
}

}  // namespace benchward
