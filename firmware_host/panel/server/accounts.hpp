// SPDX-License-Identifier: MIT
#pragma once

/// Who may use the panel: names, roles and password hashes (Argon2id by libsodium) in one file of mode 0600, refused if
/// wider. Sessions live in memory only: a restarted station asks everybody to log in again.

#include <cstdint>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

namespace benchward::panel {

/// May do what the ones before it may, and more: watch; run units; sign holds and lockouts; read instruments' insides.
enum class Role { watcher, operator_, quality, technician };

std::string to_word(Role role);
std::optional<Role> role_named(std::string const& word);

class AccountError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

class Accounts {
 public:
  /// Reads the file; an absent one is an empty list. Throws AccountError for a file that others may read or write, or
  /// that is no account file.
  explicit Accounts(std::string path);

  bool empty() const { return entries_.empty(); }
  /// Adds or replaces and writes the file. A name is 1 to 40 letters, digits, dots, dashes; a password has 8 characters
  /// or more. Throws AccountError.
  void set(std::string const& name, Role role, std::string const& password);
  /// The role if name and password are right. Takes the same time for an unknown name.
  std::optional<Role> check(std::string const& name, std::string const& password) const;

 private:
  struct Entry {
    Role role;
    std::string hash;
  };
  void write() const;
  std::string path_;
  std::map<std::string, Entry> entries_;
  std::string nobody_;  ///< a hash that nothing matches: for the time it takes
};

/// A password that was never typed before, for the first start: 4 groups of letters and digits.
std::string random_password();

struct Session {
  std::string token;  ///< 256 random bits, hex: the cookie's value
  std::string csrf;   ///< sent by the panel with every act
  std::string name;
  Role role = Role::watcher;
  std::int64_t until_ns = 0;
  int panel = 0;  ///< number of the panel that logged in: public, unlike the token
};

/// Sessions and the brake on guessing: after 5 wrong passwords of a name or 20 in all, a minute's pause.
class Sessions {
 public:
  /// Name and password were right (`Accounts::check`, which takes a tenth of a second: off the program's thread).
  Session admit(std::string const& name, Role role, std::int64_t now_ns);
  /// They were not.
  void wrong(std::string const& name, std::int64_t now_ns);
  /// The session of a Cookie header, if it is alive; prolongs it.
  Session const* find(std::string const& cookie_header, std::int64_t now_ns);
  void log_out(std::string const& token);
  /// Seconds until the next try of that name is looked at; 0: at once.
  int pause_s(std::string const& name, std::int64_t now_ns) const;

 private:
  struct Tries {
    int wrong = 0;
    std::int64_t until_ns = 0;
  };
  std::map<std::string, Session> sessions_;
  std::map<std::string, Tries> tries_;
  Tries all_;
  int panels_ = 0;
};

/// The session cookie's text for Set-Cookie.
std::string session_cookie(std::string const& token);
/// The text that makes a browser forget it.
std::string forgotten_cookie();
inline constexpr char const* session_cookie_name = "bench_session";

}  // namespace benchward::panel
