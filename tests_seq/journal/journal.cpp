// SPDX-License-Identifier: MIT
#include "tests_seq/journal/journal.hpp"

#include <utility>

#include "limits/documents/limit_set_document.hpp"

namespace benchward {

std::uint64_t IdSource::word() {
  // splitmix64 (public domain algorithm by its description): a counter through a mixing function.
  ++count_;
  std::uint64_t z = low_ + count_ * 0x9E3779B97F4A7C15u;
  z ^= high_ * 0xD1342543DE82EF95u;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

std::string IdSource::next() {
  static constexpr char letters[] = "0123456789abcdefghjkmnpqrstvwxyz";  // no i, l, o, u: read aloud without error
  std::string id;
  for (int half = 0; half < 2; ++half) {
    std::uint64_t bits = word();
    for (int i = 0; i < 13; ++i) {
      id += letters[bits & 31u];
      bits >>= 5;
    }
  }
  return id;
}

Journal::Journal(EventStore& store, Clock& clock, std::string boot)
    : store_(store), clock_(clock), boot_(std::move(boot)), head_(chain_begin) {
  if (auto const last = store_.last()) {
    // The chain goes on behind whatever was written last, by this version or a newer one.
    seq_ = parse_chain_link(last->bytes).seq;
    head_ = last->hash;
  }
}

Task<Answer<Done>> Journal::record(EventBody body, Durability durability) {
  if (broken_) co_return Answer<Done>(*broken_);
  Event event;
  event.type = std::move(body.type);
  event.version = body.version;
  event.seq = seq_ + 1;
  event.prev = head_;
  event.at = clock_.now();
  event.boot = boot_;
  event.attempt = std::move(body.attempt);
  event.data = std::move(body.data);
  StoredEvent stored;
  stored.seq = event.seq;
  stored.bytes = serialise(event);
  stored.hash = sha256_hex(stored.bytes);
  // Number and head move on before the first suspension: another coroutine's event stands behind this one.
  seq_ = stored.seq;
  head_ = stored.hash;
  auto kept = co_await store_.append(std::move(stored), durability);
  if (!kept && !broken_) broken_ = kept.error();
  co_return kept;
}

}  // namespace benchward
