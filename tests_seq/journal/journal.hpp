// SPDX-License-Identifier: MIT
#pragma once

/// The only thing ever written. Gives each event its number, its times and its place in the chain, serialises it once
/// and hands the bytes to the store. The first write that fails breaks the journal for good: its caller makes safe and
/// takes no more units.

#include <cstdint>
#include <string>

#include "../../drivers/time/clock.hpp"
#include "event.hpp"
#include "event_store.hpp"
#include "events.hpp"

namespace benchward {

/// Makes ids of attempts and boots. The same seed gives the same ids: virtual runs.
class IdSource {
 public:
  /// `seed_low`, `seed_high`: 128 bits, from the system's random source on a real run.
  explicit IdSource(std::uint64_t seed_low, std::uint64_t seed_high = 0) : low_(seed_low), high_(seed_high) {}
  /// 26 lower-case letters and digits.
  std::string next();

 private:
  std::uint64_t word();
  std::uint64_t low_, high_, count_ = 0;
};

class Journal {
 public:
  /// Goes on behind the store's last entry. Throws DocumentError where that one cannot be read.
  Journal(EventStore& store, Clock& clock, std::string boot);
  Journal(Journal const&) = delete;
  Journal& operator=(Journal const&) = delete;

  /// Numbers are given in the order of calls. After a failure every further call answers the same fault.
  Task<Answer<Done>> record(EventBody body, Durability durability);

  template <class Data>
  Task<Answer<Done>> record_event(Data const& data, Durability durability) {
    return record(body_of(data), durability);
  }

  bool broken() const { return broken_.has_value(); }
  std::uint64_t last_seq() const { return seq_; }
  std::string const& head() const { return head_; }
  EventStore& store() { return store_; }
  EventStore const& store() const { return store_; }

 private:
  StoredEvent next(EventBody body, Stamp at);

  EventStore& store_;
  Clock& clock_;
  std::string boot_;
  std::uint64_t seq_ = 0;
  std::string head_;
  std::int64_t newest_us_ = 0;  ///< UTC of the newest entry
  std::optional<Fault> broken_;
};

}  // namespace benchward
