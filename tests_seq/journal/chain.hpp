// SPDX-License-Identifier: MIT
#pragma once

/// Verification of the journal's chain: every entry's hash over its own bytes, its number, and the hash that it holds
/// of the entry before it. The chain alone cannot show a cut tail: for that the newest known head is handed in.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "event_store.hpp"

namespace benchward {

/// The newest entry as somebody outside knows it (a signed head, the plant's copy, a printed report).
struct ChainHead {
  std::uint64_t seq = 0;
  std::string hash;
};

struct ChainReport {
  bool unbroken = false;
  std::uint64_t entries = 0;               ///< that were read
  std::optional<std::uint64_t> first_bad;  ///< number that the first bad entry ought to have
  std::string what;                        ///< in words, when it is broken
  ChainHead head;                          ///< of the unbroken part
};

/// An empty journal is unbroken with 0 entries. `anchor`: the journal must contain this entry.
ChainReport verify_chain(EventStore const& store, std::optional<ChainHead> const& anchor = std::nullopt);

/// Every one of `anchors` must be contained. `begin`: an entry that is known already (a head that somebody signed):
/// only what stands behind it is read; `seq` 0 = from the beginning.
ChainReport verify_chain_from(EventStore const& store, ChainHead const& begin, std::vector<ChainHead> anchors);

}  // namespace benchward
