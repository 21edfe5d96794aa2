// SPDX-License-Identifier: MIT
#pragma once

/// Is the journal what was written? The chain, every signed head, heads that somebody kept outside, and what is
/// derived.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "firmware_host/store/journal_database.hpp"
#include "tests_seq/journal/chain.hpp"

namespace benchward {

struct VerificationWishes {
  std::vector<std::string> keys;  ///< public keys to be trusted, hex; empty: those of the folder itself
  std::vector<SignedHead> known;  ///< heads kept outside: must be in the journal
  bool from_last_head = false;    ///< only what stands behind the newest head, which must hold
};

struct Verification {
  ChainReport chain;
  std::size_t heads = 0;             ///< signed heads that hold and agree
  std::vector<std::string> wrong;    ///< everything else that is wrong, in words
  std::vector<std::string> remarks;  ///< what could not be shown
  bool whole() const { return chain.unbroken && wrong.empty(); }
};

/// Reads all of it. `folder`: where keys and derived files lie.
Verification verify_journal(std::string const& folder, EventStore const& store, JournalDatabase const& database,
                            VerificationWishes const& wishes);

/// An extract as reports carry it: a line of JSON that names attempt, head and key, then the entries themselves, a line
/// each. `keys` as above; without, the extract's own key is taken and said to be unproven.
Verification verify_extract(std::string const& text, std::string const& name, std::vector<std::string> const& keys);

/// That extract: the entries from the attempt's first to the first signed head behind its end. Nothing where no head
/// stands behind it.
std::optional<std::string> journal_extract(EventStore const& store, JournalDatabase const& database,
                                           std::string const& attempt, std::uint64_t first_seq, std::uint64_t last_seq);

}  // namespace benchward
