// SPDX-License-Identifier: MIT
#pragma once

/// The journal's store over its database file: with a writer thread of its own (real and scaled runs; the sequencer's
/// thread never waits for a disk unless it asked for `durable`), or on the caller's thread (virtual runs, reading).

#include <memory>
#include <string>

#include "firmware_host/store/journal_database.hpp"
#include "firmware_host/store/record_catalogue.hpp"
#include "tests_seq/journal/event_store.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace boost::asio {
class io_context;
}

namespace benchward {

/// Commits at every durable entry, on the caller's thread; ordinary entries wait for the next durable one or the end.
class DirectJournalStore final : public EventStore {
 public:
  explicit DirectJournalStore(std::string const& folder,
                              JournalDatabase::Access access = JournalDatabase::Access::read_write);
  ~DirectJournalStore() override;

  Task<Answer<Done>> append(StoredEvent event, Durability durability) override;
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override;
  std::optional<StoredEvent> last() const override;
  JournalDatabase const& database() const { return database_; }
  RecordCatalogue const& catalogue() const { return catalogue_; }

 private:
  mutable JournalDatabase database_;
  mutable RecordCatalogue catalogue_;
  mutable std::vector<StoredEvent> waiting_;
  std::optional<Fault> broken_;
  void flush() const;
};

/// The whole record of a row.
std::optional<AttemptRecord> record_of(DirectJournalStore const& store, CatalogueRow const& row);

/// A thread that writes what is queued, everything that waits in one commit.
class WriterJournalStore final : public EventStore {
 public:
  WriterJournalStore(boost::asio::io_context& io, std::string const& folder);
  ~WriterJournalStore() override;  ///< writes what is queued, then ends the thread

  Task<Answer<Done>> append(StoredEvent event, Durability durability) override;
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override;
  std::optional<StoredEvent> last() const override;

 private:
  class Writer;
  class Receipt;
  Task<std::optional<Fault>> told_later(std::shared_ptr<Receipt> receipt);
  std::shared_ptr<Writer> writer_;
};

}  // namespace benchward
