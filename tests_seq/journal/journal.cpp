// SPDX-License-Identifier: MIT
#include "tests_seq/journal/journal.hpp"

#include <stdexcept>
#include <string_view>
#include <utility>

#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward {
namespace {

/// When an entry was written, whoever wrote it; 0 where it does not say.
std::int64_t written_at(std::string const& bytes) {
  constexpr std::string_view key = "\"utc\":\"";
  auto const begin = bytes.find(key);
  auto const end = begin == std::string::npos ? begin : bytes.find('"', begin + key.size());
  if (end == std::string::npos) return 0;
  try {
    return utc_from_text(bytes.substr(begin + key.size(), end - begin - key.size()));
  } catch (std::invalid_argument const&) {
    return 0;  // verification says what is wrong with it
  }
}

}  // namespace

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
    newest_us_ = written_at(last->bytes);
  }
}

StoredEvent Journal::next(EventBody body, Stamp at) {
  Event event;
  event.type = std::move(body.type);
  event.version = body.version;
  event.seq = seq_ + 1;
  event.prev = head_;
  event.at = at;
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
  newest_us_ = at.utc_us;
  return stored;
}

Task<Answer<Done>> Journal::record(EventBody body, Durability durability) {
  if (broken_) co_return Answer<Done>(*broken_);
  auto const now = clock_.now();
  if (now.utc_us < newest_us_) {
    auto noted = next(body_of(ClockSetBack{newest_us_, now.utc_us}), now);
    auto const kept = co_await store_.append(std::move(noted), Durability::ordinary);
    if (!kept && !broken_) broken_ = kept.error();
    if (broken_) co_return Answer<Done>(*broken_);
  }
  auto stored = next(std::move(body), now);
  auto kept = co_await store_.append(std::move(stored), durability);
  if (!kept && !broken_) broken_ = kept.error();
  co_return kept;
}

}  // namespace benchward
