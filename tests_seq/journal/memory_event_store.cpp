// SPDX-License-Identifier: MIT
#include <utility>

#include "tests_seq/journal/event_store.hpp"

namespace benchward {

Task<Answer<Done>> MemoryEventStore::append(StoredEvent event, Durability) {
  if (failure) co_return Answer<Done>(*failure);
  events.push_back(std::move(event));
  Done done;
  co_return Answer<Done>(done);
}

void MemoryEventStore::scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const {
  for (auto const& event : events) {
    if (event.seq < from_seq) continue;
    if (!each(event)) return;
  }
}

std::optional<StoredEvent> MemoryEventStore::last() const {
  if (events.empty()) return std::nullopt;
  return events.back();
}

}  // namespace benchward
