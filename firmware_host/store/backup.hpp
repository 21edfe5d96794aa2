// SPDX-License-Identifier: MIT
#pragma once

/// Copies of the journal: while the station writes, verified before they count, and back again.

#include <cstdint>
#include <string>

namespace benchward {

/// Copies journal and public keys of `records` into the new folder `to` (0750), verified there before it gets its name.
/// The private key is not copied. Throws StoreError. Answers the number of entries.
std::uint64_t back_up(std::string const& records, std::string const& to);

/// Puts a backup into `records`, which must have no journal yet. A restored station makes a key of its own; the public
/// keys of the old one stay beside it. Throws StoreError. Answers the number of entries.
std::uint64_t restore(std::string const& backup, std::string const& records);

}  // namespace benchward
