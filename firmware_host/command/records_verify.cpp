// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>

#include "firmware_host/command/records_verbs.hpp"
#include "firmware_host/record/verification.hpp"
#include "firmware_host/say.hpp"
#include "firmware_host/store/durable_file.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {
namespace {

std::vector<std::string> keys_asked_for(RecordsOptions const& options) {
  if (options.key.empty()) return {};
  auto keys = public_keys_in(documents::read_text_file(options.key), options.key);
  if (keys.empty()) throw DocumentError("journal.key", options.key, "", "holds no public key");
  return keys;
}

/// A head's line by itself, or a file with one or more of them among other lines.
std::vector<SignedHead> heads_asked_for(std::string const& asked) {
  if (asked.empty()) return {};
  if (auto const head = head_of_line(asked)) return {*head};
  std::vector<SignedHead> heads;
  if (::access(asked.c_str(), F_OK) == 0) {
    auto const text = documents::read_text_file(asked);
    for (std::size_t at = 0; at < text.size();) {
      auto const end = std::min(text.find('\n', at), text.size());
      if (auto const head = head_of_line(text.substr(at, end - at))) heads.push_back(*head);
      at = end + 1;
    }
  }
  if (heads.empty()) {
    throw DocumentError("journal.head", "--head", "",
                        "expected a head's line (\"benchward-head-1 NUMBER HASH KEY SIGNATURE\") or a file with such "
                        "lines, got \"" +
                            asked.substr(0, 80) + "\"");
  }
  return heads;
}

ExitCode say_verification(Verification const& verification, bool as_json, std::string const& what) {
  auto const& chain = verification.chain;
  if (as_json) {
    JsonWriter json;
    json.begin_object().field("unbroken", verification.whole()).field("entries", chain.entries);
    json.field("first_bad", chain.first_bad).field("what", chain.what);
    json.field("head_seq", chain.head.seq).field("head_hash", chain.head.hash);
    json.field("signed_heads", verification.heads).field("wrong", verification.wrong);
    json.field("remarks", verification.remarks).end_object();
    say_out(json.text());
  } else {
    if (!chain.unbroken) {
      say_out(fmt::format("{} BROKEN at entry {}: {} ({} entries read)", what, chain.first_bad.value_or(0), chain.what,
                          chain.entries));
    }
    for (auto const& words : verification.wrong) say_out(fmt::format("{} NOT AS WRITTEN: {}", what, words));
    if (verification.whole()) {
      say_out(fmt::format("{} verified: {} entries, the chain is whole, {} signed heads hold{}", what, chain.entries,
                          verification.heads,
                          chain.entries == 0
                              ? std::string()
                              : ", newest entry " + std::to_string(chain.head.seq) + " " + chain.head.hash));
    }
    for (auto const& words : verification.remarks) say_out("remark: " + words);
  }
  return verification.whole() ? ExitCode::done : ExitCode::rejected;
}

}  // namespace

ExitCode records_verify(DirectJournalStore const& store, RecordsOptions const& options) {
  VerificationWishes wishes;
  wishes.keys = keys_asked_for(options);
  wishes.known = heads_asked_for(options.head);
  wishes.from_last_head = options.from_last_head;
  return say_verification(verify_journal(options.records, store, store.database(), wishes), options.json, "journal");
}

ExitCode records_verify_extract(RecordsOptions const& options) {
  auto const text = read_bytes(options.extract);
  return say_verification(verify_extract(text, options.extract, keys_asked_for(options)), options.json, "extract");
}

ExitCode records_head(DirectJournalStore const& store, RecordsOptions const& options) {
  auto const head = store.database().last_head();
  if (!head) {
    say_err(
        fmt::format("records head: no head of {} is signed yet; one is at the end of every attempt", options.records));
    return ExitCode::bad_input;
  }
  say_out(head_line(*head));
  return ExitCode::done;
}

}  // namespace benchward
