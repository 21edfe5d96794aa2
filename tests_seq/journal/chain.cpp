// SPDX-License-Identifier: MIT
#include "tests_seq/journal/chain.hpp"

#include <fmt/format.h>

#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/journal/event.hpp"

namespace benchward {

ChainReport verify_chain(EventStore const& store, std::optional<ChainHead> const& anchor) {
  ChainReport report;
  report.head.hash = std::string(chain_begin);
  bool anchor_seen = !anchor || anchor->seq == 0;
  auto const bad = [&](std::string what) {
    report.first_bad = report.head.seq + 1;
    report.what = fmt::format("entry {}: {}", report.head.seq + 1, what);
    return false;
  };
  store.scan(0, [&](StoredEvent const& entry) {
    ++report.entries;
    std::uint64_t const expected = report.head.seq + 1;
    if (entry.seq != expected) {
      return bad(entry.seq > expected ? fmt::format("missing, the next one kept is {}", entry.seq)
                                      : fmt::format("out of order, number {} stands here", entry.seq));
    }
    std::string const hash = sha256_hex(entry.bytes);
    if (hash != entry.hash) return bad("its bytes are not those that were hashed: changed after it was written");
    ChainLink link;
    try {
      link = parse_chain_link(entry.bytes);
    } catch (DocumentError const& error) {
      return bad(std::string("no entry of a journal: ") + error.what());
    }
    if (link.seq != expected) return bad(fmt::format("it says that it is number {}", link.seq));
    if (link.prev != report.head.hash) {
      return bad("it does not follow the entry before it: one of the two was exchanged, or one between them is gone");
    }
    if (anchor && anchor->seq == expected) {
      if (anchor->hash != hash)
        return bad("not the entry that the known head names: written anew from here or earlier");
      anchor_seen = true;
    }
    report.head.seq = expected;
    report.head.hash = hash;
    return true;
  });
  if (!report.first_bad && !anchor_seen) {
    bad(fmt::format("missing: the known head is number {}, the end was cut off", anchor->seq));
  }
  report.unbroken = !report.first_bad;
  return report;
}

}  // namespace benchward
