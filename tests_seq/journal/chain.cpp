// SPDX-License-Identifier: MIT
#include "tests_seq/journal/chain.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/journal/event.hpp"

namespace benchward {

ChainReport verify_chain(EventStore const& store, std::optional<ChainHead> const& anchor) {
  std::vector<ChainHead> anchors;
  if (anchor) anchors.push_back(*anchor);
  return verify_chain_from(store, ChainHead(), std::move(anchors));
}

ChainReport verify_chain_from(EventStore const& store, ChainHead const& begin, std::vector<ChainHead> anchors) {
  ChainReport report;
  report.head = begin;
  if (begin.seq == 0) report.head.hash = std::string(chain_begin);
  std::sort(anchors.begin(), anchors.end(), [](ChainHead const& a, ChainHead const& b) { return a.seq < b.seq; });
  auto next_anchor =
      std::find_if(anchors.begin(), anchors.end(), [&](ChainHead const& anchor) { return anchor.seq > begin.seq; });
  auto const bad = [&](std::string what) {
    report.first_bad = report.head.seq + 1;
    report.what = fmt::format("entry {}: {}", report.head.seq + 1, what);
    return false;
  };
  store.scan(begin.seq == 0 ? 0 : begin.seq + 1, [&](StoredEvent const& entry) {
    ++report.entries;
    std::uint64_t const expected = report.head.seq + 1;
    if (entry.seq != expected) {
      return bad(entry.seq > expected ? fmt::format("missing, the next one kept is {}", entry.seq)
                                      : fmt::format("out of order, number {} stands here", entry.seq));
    }
    std::string hash = sha256_hex(entry.bytes);
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
    for (; next_anchor != anchors.end() && next_anchor->seq == expected; ++next_anchor) {
      if (next_anchor->hash != hash)
        return bad("not the entry that the known head names: written anew from here or earlier");
    }
    report.head.seq = expected;
    report.head.hash = std::move(hash);
    return true;
  });
  if (!report.first_bad && next_anchor != anchors.end()) {
    bad(fmt::format("missing: the known head is number {}, the end was cut off", anchors.back().seq));
  }
  report.unbroken = !report.first_bad;
  return report;
}

}  // namespace benchward
