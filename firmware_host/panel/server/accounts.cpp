// SPDX-License-Identifier: MIT
#include "firmware_host/panel/server/accounts.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sodium.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>

#include "limits/documents/json_reader.hpp"

namespace benchward::panel {
namespace {

constexpr std::array<std::pair<std::string_view, Role>, 4> role_words{{{"watcher", Role::watcher},
                                                                       {"operator", Role::operator_},
                                                                       {"quality", Role::quality},
                                                                       {"technician", Role::technician}}};

// A shift and a half: nobody types a password with gloves on in mid-shift.
constexpr std::int64_t session_ns = std::int64_t{12} * 3600 * 1'000'000'000;
constexpr std::int64_t pause_ns = std::int64_t{60} * 1'000'000'000;
constexpr int tries_a_name = 5, tries_in_all = 20;
constexpr std::size_t most_sessions = 200, most_names = 1000;

std::string hash_of(std::string const& password) {
  std::array<char, crypto_pwhash_STRBYTES> hash{};
  if (crypto_pwhash_str(hash.data(), password.c_str(), password.size(), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                        crypto_pwhash_MEMLIMIT_INTERACTIVE) != 0) {
    throw AccountError("accounts: not enough memory to hash a password");
  }
  return hash.data();
}

std::string random_hex(std::size_t bytes) {
  std::string raw(bytes, '\0');
  randombytes_buf(raw.data(), raw.size());
  std::string hex;
  for (char const c : raw) hex += fmt::format("{:02x}", static_cast<unsigned char>(c));
  return hex;
}

bool good_name(std::string const& name) {
  if (name.empty() || name.size() > 40) return false;
  for (char const c : name) {
    bool const plain =
        (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '.' || c == '-' || c == '_';
    if (!plain) return false;
  }
  return true;
}

void start_sodium() {
  if (sodium_init() < 0) throw AccountError("accounts: the cryptographic library does not start");
}

}  // namespace

std::string to_word(Role role) {
  for (auto const& [word, value] : role_words) {
    if (value == role) return std::string(word);
  }
  return "watcher";
}

std::optional<Role> role_named(std::string const& word) {
  for (auto const& [known, value] : role_words) {
    if (known == word) return value;
  }
  return std::nullopt;
}

Accounts::Accounts(std::string path) : path_(std::move(path)) {
  start_sodium();
  nobody_ = hash_of(random_hex(16));
  struct stat status {};
  if (::stat(path_.c_str(), &status) != 0) {
    if (errno == ENOENT) return;
    throw AccountError(fmt::format("accounts {}: cannot be looked at: {}", path_, std::strerror(errno)));
  }
  if ((status.st_mode & 0077) != 0) {
    throw AccountError(fmt::format("accounts {}: others may read or write it (mode {:o}). Run: chmod 600 {}", path_,
                                   static_cast<unsigned>(status.st_mode & 0777), path_));
  }
  auto const json = documents::read_json_file(path_);
  documents::ObjectReader document(json, path_);
  for (auto& entry : document.objects("accounts")) {
    auto const name = entry.text("name");
    auto const role = entry.word("role", role_words);
    auto const hash = entry.text("password_hash");
    entry.finish();
    entries_[name] = Entry{role, hash};
  }
  document.finish();
}

void Accounts::set(std::string const& name, Role role, std::string const& password) {
  if (!good_name(name)) throw AccountError("accounts: a name is 1 to 40 letters, digits, dots or dashes");
  if (password.size() < 8) throw AccountError("accounts: a password has 8 characters or more");
  if (password.size() > 1000) throw AccountError("accounts: a password has at most 1000 characters");
  entries_[name] = Entry{role, hash_of(password)};
  write();
}

void Accounts::write() const {
  documents::Json list = documents::Json::array();
  for (auto const& [name, entry] : entries_) {
    list.push_back({{"name", name}, {"role", to_word(entry.role)}, {"password_hash", entry.hash}});
  }
  documents::Json document;
  document["accounts"] = std::move(list);
  auto const text = document.dump(2) + "\n";
  auto const temporary = path_ + ".new";
  int const descriptor = ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (descriptor < 0)
    throw AccountError(fmt::format("accounts {}: cannot be written: {}", path_, std::strerror(errno)));
  bool const written =
      ::write(descriptor, text.data(), text.size()) == static_cast<ssize_t>(text.size()) && ::fsync(descriptor) == 0;
  ::close(descriptor);
  if (!written || ::rename(temporary.c_str(), path_.c_str()) != 0) {
    throw AccountError(fmt::format("accounts {}: cannot be written: {}", path_, std::strerror(errno)));
  }
}

std::optional<Role> Accounts::check(std::string const& name, std::string const& password) const {
  auto const found = entries_.find(name);
  auto const& hash = found == entries_.end() ? nobody_ : found->second.hash;
  bool const right = crypto_pwhash_str_verify(hash.c_str(), password.c_str(), password.size()) == 0;
  if (!right || found == entries_.end()) return std::nullopt;
  return found->second.role;
}

std::string random_password() {
  start_sodium();
  constexpr std::string_view letters = "abcdefghjkmnpqrstuvwxyz23456789";  // none that a person takes for another
  std::string password;
  for (int i = 0; i < 16; ++i) {
    if (i > 0 && i % 4 == 0) password += '-';
    password += letters[randombytes_uniform(static_cast<std::uint32_t>(letters.size()))];
  }
  return password;
}

int Sessions::pause_s(std::string const& name, std::int64_t now_ns) const {
  std::int64_t until = all_.until_ns;
  if (auto const found = tries_.find(name); found != tries_.end()) until = std::max(until, found->second.until_ns);
  return until > now_ns ? static_cast<int>((until - now_ns) / 1'000'000'000) + 1 : 0;
}

void Sessions::wrong(std::string const& name, std::int64_t now_ns) {
  if (tries_.size() >= most_names) tries_.clear();
  auto& of_name = tries_[name];
  if (++of_name.wrong >= tries_a_name) of_name = Tries{0, now_ns + pause_ns};
  if (++all_.wrong >= tries_in_all) all_ = Tries{0, now_ns + pause_ns};
}

Session Sessions::admit(std::string const& name, Role role, std::int64_t now_ns) {
  tries_.erase(name);
  all_.wrong = 0;
  for (auto it = sessions_.begin(); it != sessions_.end();) {
    it = it->second.until_ns < now_ns ? sessions_.erase(it) : std::next(it);
  }
  if (sessions_.size() >= most_sessions) {
    // The one that was silent longest makes room.
    sessions_.erase(std::min_element(sessions_.begin(), sessions_.end(), [](auto const& a, auto const& b) {
      return a.second.until_ns < b.second.until_ns;
    }));
  }
  Session session{random_hex(32), random_hex(16), name, role, now_ns + session_ns, ++panels_};
  sessions_[session.token] = session;
  return session;
}

Session const* Sessions::find(std::string const& cookie_header, std::int64_t now_ns) {
  std::string const key = std::string(session_cookie_name) + "=";
  std::size_t at = 0;
  while (at < cookie_header.size()) {
    auto end = cookie_header.find(';', at);
    if (end == std::string::npos) end = cookie_header.size();
    while (at < end && cookie_header[at] == ' ') ++at;
    if (cookie_header.compare(at, key.size(), key) == 0) {
      auto const found = sessions_.find(cookie_header.substr(at + key.size(), end - at - key.size()));
      if (found != sessions_.end() && found->second.until_ns > now_ns) {
        found->second.until_ns = now_ns + session_ns;
        return &found->second;
      }
    }
    at = end + 1;
  }
  return nullptr;
}

void Sessions::log_out(std::string const& token) { sessions_.erase(token); }

std::string session_cookie(std::string const& token) {
  return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict; Max-Age=43200", session_cookie_name, token);
}

std::string forgotten_cookie() {
  return fmt::format("{}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0", session_cookie_name);
}

}  // namespace benchward::panel
