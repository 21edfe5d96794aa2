// SPDX-License-Identifier: MIT
#pragma once

/// How a unit may be gone about on this bench: a stage whole, an interrupted attempt taken up again, or what a rework
/// opened. Worked out of the journal by the same code as the command line's.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/session/unit_run.hpp"
#include "firmware_host/store/journal_store.hpp"

namespace benchward::panel {

struct UnitWay {
  std::string key;    ///< names this way among the unit's: "whole routine", "resume 01H...", "after routine re-tapped"
  std::string kind;   ///< "whole", "resume", "after"
  std::string stage;  ///< "routine", "before_closing", "before_shipping"
  std::string words;  ///< of "resume": when and why it was interrupted; of "after": the rework
  std::string waits;  ///< why it may not be begun yet; empty: it may
  UnitOrder order;    ///< with the plan that this way goes through, the steps that stand among it
  RunPast past;
};

struct UnitWays {
  std::vector<UnitWay> all;
  std::size_t proposed = 0;  ///< the one a person would mostly want: what was interrupted, else what is not passed
  std::string why_not_for_record;  ///< empty: the bench was proven by its check object
  UnitWay const* find(std::string const& key) const;
};

/// A journal from one of its entries on: what stood before is not looked at. Writes nothing.
class LaterEntries final : public EventStore {
 public:
  LaterEntries(EventStore const& whole, std::uint64_t from_seq) : whole_(whole), from_seq_(from_seq) {}
  Task<Answer<Done>> append(StoredEvent event, Durability durability) override;
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override;
  std::optional<StoredEvent> last() const override { return whole_.last(); }

 private:
  EventStore const& whole_;
  std::uint64_t from_seq_;
};

/// Every way, at least one. `of_unit`: the journal from this unit's first attempt on; `of_bench`: from some time before
/// the last shift on, and from the newest checks of this bench on, however old. Throws DocumentError, SessionError
/// where the unit cannot be tested here at all.
UnitWays ways_of(EventStore const& of_unit, EventStore const& of_bench, Bench const& bench, Unit const& unit,
                 LimitSet const& set, Stamp now);

/// The same out of a records folder: opens it, reads only what can concern the unit. Slow where the unit is old: to be
/// called on a thread that nobody waits for. `bench_checked_at`: `RecordIndex::bench_checked_at`.
UnitWays ways_in(std::string const& records, std::optional<std::uint64_t> bench_checked_at, Bench const& bench,
                 Unit const& unit, LimitSet const& set, Stamp now);

}  // namespace benchward::panel
