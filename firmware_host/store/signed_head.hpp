// SPDX-License-Identifier: MIT
#pragma once

/// The journal's head, signed: the number and the hash of one entry under an Ed25519 signature (RFC 8032). The chain
/// alone cannot show that its end was cut off or that all of it was written anew; a head kept outside the folder (on
/// paper, on another disk, at the plant) can. Ed25519 is deterministic: the same key and entry give the same line.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace benchward {

struct SignedHead {
  std::uint64_t seq = 0;
  std::string hash;        ///< SHA-256 of that entry, hex
  std::string public_key;  ///< of the signer, hex (32 bytes)
  std::string signature;   ///< hex (64 bytes)
};

/// One line for paper and files: "benchward-head-1 SEQ HASH KEY SIGNATURE".
std::string head_line(SignedHead const& head);
/// Nothing where the text is no such line; spaces around it are forgiven, wrapping across lines too.
std::optional<SignedHead> head_of_line(std::string_view text);

/// Whether the signature is this key's over this number and hash. Says nothing of whether the key is to be trusted.
bool signature_holds(SignedHead const& head);

/// The station's key. Made at the first start of a records folder; its file is for its owner alone.
class SigningKey {
 public:
  /// Reads `folder`/keys/journal.key, or makes it (0600) where it is missing and adds its public half to
  /// `folder`/keys/journal.pub. Throws StoreError `journal.key` where the file is readable for others, is no key, or
  /// cannot be made.
  static SigningKey open_or_make(std::string const& folder);
  ~SigningKey();
  SigningKey(SigningKey&&) noexcept;
  SigningKey& operator=(SigningKey&&) noexcept;

  SignedHead sign(std::uint64_t seq, std::string const& hash) const;
  std::string const& public_key() const { return public_key_; }  ///< hex

 private:
  SigningKey() = default;
  std::vector<unsigned char> secret_;
  std::string public_key_;
};

/// The public keys of a text, a line each, `#` begins a remark. Throws DocumentError for a line that is no key.
std::vector<std::string> public_keys_in(std::string_view text, std::string const& name);
/// Those of `folder`/keys/journal.pub; none where there is no such file.
std::vector<std::string> public_keys_of(std::string const& folder);

}  // namespace benchward
