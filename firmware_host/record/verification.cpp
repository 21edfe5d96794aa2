// SPDX-License-Identifier: MIT
#include "firmware_host/record/verification.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <limits>

#include "firmware_host/store/record_catalogue.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "tests_seq/journal/event.hpp"

namespace benchward {
namespace {

bool among(std::vector<std::string> const& keys, std::string const& key) {
  return std::find(keys.begin(), keys.end(), key) != keys.end();
}

/// Heads whose signature does not hold or whose signer is not trusted are named; the others are returned as anchors.
std::vector<ChainHead> anchors_of(std::vector<SignedHead> const& heads, std::vector<std::string> const& keys,
                                  char const* kind, Verification& verification) {
  std::vector<ChainHead> anchors;
  for (auto const& head : heads) {
    if (!signature_holds(head)) {
      verification.wrong.push_back(fmt::format("{} of entry {}: its signature does not hold", kind, head.seq));
    } else if (!among(keys, head.public_key)) {
      verification.wrong.push_back(fmt::format(
          "{} of entry {}: signed by key {}..., which is not among the trusted ones. Somebody else wrote it, or the "
          "station had another key then: give that one with --key",
          kind, head.seq, head.public_key.substr(0, 16)));
    } else {
      anchors.push_back({head.seq, head.hash});
    }
  }
  return anchors;
}

/// The entries of an extract as a store that is only read.
class ExtractStore final : public EventStore {
 public:
  std::vector<StoredEvent> events;
  Task<Answer<Done>> append(StoredEvent, Durability) override { co_return Answer<Done>(Done{}); }
  void scan(std::uint64_t from_seq, std::function<bool(StoredEvent const&)> const& each) const override {
    for (auto const& event : events) {
      if (event.seq >= from_seq && !each(event)) return;
    }
  }
  std::optional<StoredEvent> last() const override {
    return events.empty() ? std::nullopt : std::optional<StoredEvent>(events.back());
  }
};

}  // namespace

Verification verify_journal(std::string const& folder, EventStore const& store, JournalDatabase const& database,
                            VerificationWishes const& wishes) {
  Verification verification;
  auto const keys = wishes.keys.empty() ? public_keys_of(folder) : wishes.keys;
  auto anchors = anchors_of(wishes.known, keys, "known head", verification);
  ChainHead begin;
  if (wishes.from_last_head) {
    if (auto const newest = database.last_head()) {
      auto const held = anchors_of({*newest}, keys, "signed head", verification);
      bool there = false;
      store.scan(newest->seq, [&](StoredEvent const& entry) {
        there = entry.seq == newest->seq && entry.hash == newest->hash;
        return false;
      });
      if (!there) {
        verification.wrong.push_back(
            fmt::format("signed head of entry {}: that entry is gone, or another stands there", newest->seq));
      }
      if (!held.empty() && there) begin = held.front();
      verification.heads = held.size();
    }
    if (begin.seq == 0) verification.remarks.push_back("no signed head holds: everything was read");
    anchors.erase(std::remove_if(anchors.begin(), anchors.end(),
                                 [&begin](ChainHead const& anchor) { return anchor.seq <= begin.seq; }),
                  anchors.end());
  } else {
    auto held = anchors_of(database.heads(), keys, "signed head", verification);
    verification.heads = held.size();
    anchors.insert(anchors.end(), held.begin(), held.end());
  }
  verification.chain = verify_chain_from(store, begin, std::move(anchors));
  if (verification.chain.entries > 0 && verification.heads == 0) {
    verification.remarks.push_back("no signed head: a cut end or a journal written anew cannot be seen from here");
  }
  if (!wishes.from_last_head && verification.chain.unbroken) {
    if (auto difference = RecordCatalogue::difference(folder, database)) {
      verification.wrong.push_back(*std::move(difference));
    }
  }
  return verification;
}

std::optional<std::string> journal_extract(EventStore const& store, JournalDatabase const& database,
                                           std::string const& attempt, std::uint64_t first_seq,
                                           std::uint64_t last_seq) {
  auto const heads = database.heads(last_seq);
  if (heads.empty()) return std::nullopt;
  auto const& head = heads.front();
  JsonWriter json;
  json.begin_object()
      .field("what",
             "entries of a test bench's journal: SHA-256 of each line is `prev` of the next one; the head is "
             "signed (Ed25519)")
      .field("extract_version", 1)
      .field("attempt", attempt)
      .field("first_seq", first_seq)
      .field("last_seq", last_seq)
      .field("head", head_line(head))
      .end_object();
  std::string text = json.text() + "\n";
  store.scan(first_seq, [&](StoredEvent const& entry) {
    if (entry.seq > head.seq) return false;
    text += entry.bytes + "\n";
    return true;
  });
  return text;
}

Verification verify_extract(std::string const& text, std::string const& name, std::vector<std::string> const& keys) {
  Verification verification;
  auto const end = std::min(text.find('\n'), text.size());
  auto const json = documents::parse_json(text.substr(0, end), name + ", first line");
  documents::ObjectReader reader(json, name + ", first line");
  reader.text("what");
  reader.integer("extract_version", "the extract's version", 1, 1);
  reader.text("attempt");
  auto const first = static_cast<std::uint64_t>(
      reader.integer("first_seq", "an entry's number", 1, std::numeric_limits<std::int64_t>::max()));
  reader.integer("last_seq", "an entry's number", 1, std::numeric_limits<std::int64_t>::max());
  auto const head = head_of_line(reader.text("head"));
  reader.finish();
  if (!head) throw DocumentError("journal.extract", name, "/head", "expected a signed head's line");

  ExtractStore store;
  for (std::size_t at = end + 1; at < text.size();) {
    auto const stop = std::min(text.find('\n', at), text.size());
    StoredEvent event;
    event.seq = first + store.events.size();
    event.bytes = text.substr(at, stop - at);
    event.hash = sha256_hex(event.bytes);
    store.events.push_back(std::move(event));
    at = stop + 1;
  }
  if (store.events.empty()) throw DocumentError("journal.extract", name, "", "holds no entries");
  auto trusted = keys;
  if (trusted.empty()) {
    trusted.push_back(head->public_key);
    verification.remarks.push_back(
        "no key was given: the extract's own one was taken, which proves only that nothing "
        "was changed by accident");
  }
  // What stands before the extract is not here: its first entry says what it follows.
  ChainHead begin;
  begin.seq = first - 1;
  begin.hash = parse_chain_link(store.events.front().bytes).prev;
  auto anchors = anchors_of({*head}, trusted, "signed head", verification);
  verification.heads = anchors.size();
  if (head->seq >= first) {
    verification.chain = verify_chain_from(store, begin, std::move(anchors));
  }
  if (verification.chain.unbroken && verification.chain.head.seq != head->seq) {
    verification.wrong.push_back(
        fmt::format("the entries end at {}, the head names {}", verification.chain.head.seq, head->seq));
  }
  return verification;
}

}  // namespace benchward
