// SPDX-License-Identifier: MIT
#include "firmware_host/store/signed_head.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sodium.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>

#include "firmware_host/store/durable_file.hpp"
#include "firmware_host/store/journal_database.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

constexpr std::string_view mark = "benchward-head-1";

void start_sodium() {
  if (sodium_init() < 0) throw StoreError("journal.key", "the cryptographic library does not start");
}

std::string hex_of(unsigned char const* bytes, std::size_t size) {
  std::string text(2 * size + 1, '\0');
  sodium_bin2hex(text.data(), text.size(), bytes, size);
  text.pop_back();
  return text;
}

/// The bytes of exactly `size` written as hex; nothing else is taken.
std::optional<std::vector<unsigned char>> bytes_of(std::string_view hex, std::size_t size) {
  std::vector<unsigned char> bytes(size);
  std::size_t length = 0;
  char const* end = nullptr;
  if (hex.size() != 2 * size) return std::nullopt;
  if (sodium_hex2bin(bytes.data(), size, hex.data(), hex.size(), nullptr, &length, &end) != 0) return std::nullopt;
  if (length != size || end != hex.data() + hex.size()) return std::nullopt;
  return bytes;
}

/// What is signed. The mark keeps a signature from being taken for one over something else.
std::string message_of(std::uint64_t seq, std::string const& hash) { return fmt::format("{} {} {}", mark, seq, hash); }

std::vector<std::string_view> words_of(std::string_view text) {
  std::vector<std::string_view> words;
  std::size_t at = 0;
  while (at < text.size()) {
    auto const begin = text.find_first_not_of(" \t\r\n", at);
    if (begin == std::string_view::npos) break;
    auto const end = std::min(text.find_first_of(" \t\r\n", begin), text.size());
    words.push_back(text.substr(begin, end - begin));
    at = end;
  }
  return words;
}

}  // namespace

std::string head_line(SignedHead const& head) {
  return fmt::format("{} {} {} {} {}", mark, head.seq, head.hash, head.public_key, head.signature);
}

std::optional<SignedHead> head_of_line(std::string_view text) {
  auto const words = words_of(text);
  if (words.size() < 5 || words[0] != mark) return std::nullopt;
  SignedHead head;
  auto const [end, error] = std::from_chars(words[1].data(), words[1].data() + words[1].size(), head.seq);
  if (error != std::errc() || end != words[1].data() + words[1].size()) return std::nullopt;
  head.hash = words[2];
  head.public_key = words[3];
  // Typed from paper, the signature may stand in several pieces.
  for (std::size_t i = 4; i < words.size(); ++i) head.signature += words[i];
  if (!bytes_of(head.hash, 32) || !bytes_of(head.public_key, crypto_sign_PUBLICKEYBYTES) ||
      !bytes_of(head.signature, crypto_sign_BYTES)) {
    return std::nullopt;
  }
  return head;
}

bool signature_holds(SignedHead const& head) {
  start_sodium();
  auto const key = bytes_of(head.public_key, crypto_sign_PUBLICKEYBYTES);
  auto const signature = bytes_of(head.signature, crypto_sign_BYTES);
  if (!key || !signature) return false;
  auto const message = message_of(head.seq, head.hash);
  return crypto_sign_verify_detached(signature->data(), reinterpret_cast<unsigned char const*>(message.data()),
                                     message.size(), key->data()) == 0;
}

SigningKey::~SigningKey() {
  if (!secret_.empty()) sodium_memzero(secret_.data(), secret_.size());
}
SigningKey::SigningKey(SigningKey&&) noexcept = default;
SigningKey& SigningKey::operator=(SigningKey&&) noexcept = default;

SigningKey SigningKey::open_or_make(std::string const& folder) {
  start_sodium();
  auto const keys = folder + "/keys";
  auto const file = keys + "/journal.key";
  if (::mkdir(keys.c_str(), 0700) != 0 && errno != EEXIST) {
    throw StoreError("journal.key", fmt::format("folder {}: cannot be made: {}", keys, std::strerror(errno)));
  }
  SigningKey key;
  struct stat status {};
  if (::stat(file.c_str(), &status) == 0) {
    if ((status.st_mode & 0077) != 0) {
      throw StoreError(
          "journal.key",
          fmt::format("key {}: is open to others (mode {:o}): what it signed proves nothing any more. Find "
                      "out who had it; then `chmod 600`, or move it away for a new one to be made",
                      file, static_cast<unsigned>(status.st_mode & 0777)));
    }
    auto const text = documents::read_text_file(file);
    auto const bytes = bytes_of(text.substr(0, text.find('\n')), crypto_sign_SECRETKEYBYTES);
    if (!bytes) {
      throw StoreError("journal.key",
                       fmt::format("key {}: is no signing key. Restore it from a copy, or move it away for a new "
                                   "one to be made",
                                   file));
    }
    key.secret_ = *bytes;
    std::vector<unsigned char> public_half(crypto_sign_PUBLICKEYBYTES);
    crypto_sign_ed25519_sk_to_pk(public_half.data(), key.secret_.data());
    key.public_key_ = hex_of(public_half.data(), public_half.size());
  } else {
    std::vector<unsigned char> public_half(crypto_sign_PUBLICKEYBYTES);
    key.secret_.resize(crypto_sign_SECRETKEYBYTES);
    crypto_sign_keypair(public_half.data(), key.secret_.data());
    key.public_key_ = hex_of(public_half.data(), public_half.size());
    auto text = hex_of(key.secret_.data(), key.secret_.size()) + "\n";
    write_file_durably(file, text, 0600);
    sodium_memzero(text.data(), text.size());
  }
  auto const known = public_keys_of(folder);
  if (std::find(known.begin(), known.end(), key.public_key_) == known.end()) {
    // Older keys stay: what they signed must still be verified.
    std::string text =
        "# Public keys that signed heads of this journal, newest last. Keep a copy outside this folder.\n";
    for (auto const& one : known) text += one + "\n";
    write_file_durably(keys + "/journal.pub", text + key.public_key_ + "\n", 0644);
  }
  return key;
}

SignedHead SigningKey::sign(std::uint64_t seq, std::string const& hash) const {
  SignedHead head;
  head.seq = seq;
  head.hash = hash;
  head.public_key = public_key_;
  std::vector<unsigned char> signature(crypto_sign_BYTES);
  auto const message = message_of(seq, hash);
  crypto_sign_detached(signature.data(), nullptr, reinterpret_cast<unsigned char const*>(message.data()),
                       message.size(), secret_.data());
  head.signature = hex_of(signature.data(), signature.size());
  return head;
}

std::vector<std::string> public_keys_in(std::string_view text, std::string const& name) {
  std::vector<std::string> keys;
  int number = 0;
  while (!text.empty()) {
    auto const end = std::min(text.find('\n'), text.size());
    auto line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    ++number;
    line = line.substr(0, line.find('#'));
    auto const words = words_of(line);
    if (words.empty()) continue;
    if (words.size() != 1 || !bytes_of(words[0], crypto_sign_PUBLICKEYBYTES)) {
      throw DocumentError("journal.key", name, "",
                          fmt::format("line {}: expected a public key, 64 hexadecimal digits", number));
    }
    keys.emplace_back(words[0]);
  }
  return keys;
}

std::vector<std::string> public_keys_of(std::string const& folder) {
  auto const file = folder + "/keys/journal.pub";
  if (::access(file.c_str(), F_OK) != 0) return {};
  return public_keys_in(documents::read_text_file(file), file);
}

}  // namespace benchward
