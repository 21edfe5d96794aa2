// SPDX-License-Identifier: MIT
#include "firmware_host/store/journal_store.hpp"

#include <boost/asio/async_result.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
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

class WriterJournalStore::Writer {
 public:
  using Complete = std::function<void(std::optional<Fault>)>;

  Writer(asio::io_context& io, std::string const& folder)
      : io_(io),
        database_(folder, JournalDatabase::Access::read_write),
        catalogue_(folder, database_, JournalDatabase::Access::read_write) {
    database_.no_own_checkpoints();
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

  void queue(StoredEvent event, Complete complete) {
    {
      std::lock_guard const lock(mutex_);
      queue_.push_back({std::move(event), std::move(complete)});
    }
    wake_.notify_one();
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
    Complete complete;
  };

  void work() {
    std::unique_lock lock(mutex_);
    for (;;) {
      wake_.wait(lock, [this] { return ending_ || !queue_.empty(); });
      if (queue_.empty()) return;
      std::deque<Item> batch;
      batch.swap(queue_);
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
      for (auto& item : batch) {
        if (item.complete) asio::post(io_, [complete = std::move(item.complete), fault] { complete(fault); });
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
  bool ending_ = false, writing_ = false, written_ = false, ended_ = false;
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
  auto const writer = writer_;
  auto initiate = [writer, &event](auto handler) {
    // std::function must be copyable, a coroutine's handler is not: it stands behind a shared pointer.
    auto const shared = std::make_shared<decltype(handler)>(std::move(handler));
    writer->queue(std::move(event), [shared](std::optional<Fault> fault) { std::move (*shared)(std::move(fault)); });
  };
  auto const fault = co_await asio::async_initiate<asio::use_awaitable_t<> const, void(std::optional<Fault>)>(
      initiate, asio::use_awaitable);
  if (fault) co_return *fault;
  co_return Done{};
}

void WriterJournalStore::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  writer_->at_rest([&](JournalDatabase const& database) { database.scan(from_seq, each); });
}

std::optional<StoredEvent> WriterJournalStore::last() const {
  std::optional<StoredEvent> found;
  writer_->at_rest([&](JournalDatabase const& database) { found = database.last(); });
  return found;
}

}  // namespace benchward
