// SPDX-License-Identifier: MIT
#pragma once

/// One event of the journal: serialised once to compact UTF-8 JSON; those very bytes are stored, hashed and never
/// rebuilt. An entry carries the SHA-256 of the entry before it, so that a changed, missing, added or moved entry
/// shows.

#include <cstdint>
#include <string>
#include <string_view>

#include "../../limits/documents/document_error.hpp"
#include "../../limits/reading.hpp"

namespace benchward {

/// What an event says, before it has its place in the chain. `data`: one JSON object as text.
struct EventBody {
  std::string type;     ///< "attempt started", ...
  int version = 1;      ///< of this type's data
  std::string attempt;  ///< id of the attempt that it belongs to; empty: of none
  std::string data = "{}";
};

/// An event with its place.
struct Event {
  std::string type;
  int version = 1;
  std::uint64_t seq = 0;  ///< from 1, without gaps
  std::string prev;       ///< SHA-256 (hex) of the previous entry's bytes; of the first entry: `chain_begin`
  Stamp at;
  std::string boot;  ///< id of the computer's run: monotonic times compare only within one
  std::string attempt;
  std::string data;  ///< JSON object, as text
};

/// `prev` of the first entry.
inline constexpr std::string_view chain_begin = "0000000000000000000000000000000000000000000000000000000000000000";

/// The bytes of an event. Keys in a fixed order; the same event gives the same bytes on every machine.
std::string serialise(Event const& event);

/// Reads an entry back. Throws DocumentError: `document.*` for what is no such JSON, `journal.version` for a version
/// newer than this program's, `journal.type` for a type that it does not know (a newer program wrote it).
Event parse_event(std::string_view bytes);

/// Only the two numbers that the chain needs, for an entry of any type and version, newer ones included.
struct ChainLink {
  std::uint64_t seq = 0;
  std::string prev;
};
/// Throws DocumentError where the bytes are no event at all.
ChainLink parse_chain_link(std::string_view bytes);

/// The highest version of a type's data that this program reads; 0 for an unknown type.
int known_version(std::string_view type);

}  // namespace benchward
