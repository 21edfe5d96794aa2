// SPDX-License-Identifier: MIT
#pragma once

/// Where the journal's entries are kept. The station's store is a database with a writer thread; the one in memory
/// serves tests and virtual runs that keep no record.

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "../../drivers/fault.hpp"
#include "../../drivers/task.hpp"

namespace benchward {

/// Whether the caller waits until the entry survives a power cut, or only until it is in order behind the others.
enum class Durability { ordinary, durable };

struct StoredEvent {
  std::uint64_t seq = 0;
  std::string bytes;  ///< as hashed
  std::string hash;   ///< SHA-256 of `bytes`, hex
};

/// Append-only. An implementation puts the entry behind all earlier ones before `append` first suspends, so that the
/// order of calls is the order of entries.
class EventStore {
 public:
  EventStore() = default;
  EventStore(EventStore const&) = delete;
  EventStore& operator=(EventStore const&) = delete;
  virtual ~EventStore() = default;

  /// Answers when the entry is kept as asked: `durable` = on the disk, with everything before it.
  virtual Task<Answer<Done>> append(StoredEvent event, Durability durability) = 0;
  /// Calls `each` for every entry from `from_seq` on, in order, until it answers false. What lies in the store is
  /// handed on as it is, wrong or not. `each` must not ask the store again: it may be locked while it is scanned.
  virtual void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const = 0;
  virtual std::optional<StoredEvent> last() const = 0;
};

class MemoryEventStore final : public EventStore {
 public:
  Task<Answer<Done>> append(StoredEvent event, Durability durability) override;
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override;
  std::optional<StoredEvent> last() const override;

  /// Public so that a test can tamper with it.
  std::vector<StoredEvent> events;
  /// Set by a test: the next append answers this fault.
  std::optional<Fault> failure;
};

}  // namespace benchward
