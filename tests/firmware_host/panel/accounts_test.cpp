// SPDX-License-Identifier: MIT
#include "firmware_host/panel/server/accounts.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>

using namespace benchward::panel;

namespace {

constexpr std::int64_t second = 1'000'000'000;

struct Folder {
  Folder() {
    std::string name =
        (std::filesystem::temp_directory_path() / ("benchward-accounts-" + std::string(6, 'X'))).string();
    path = ::mkdtemp(name.data());
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string path;
};

}  // namespace

TEST_CASE("An account is found again with its password and role, and with no other password", "[panel]") {
  Folder const folder;
  auto const file = folder.path + "/accounts.json";
  {
    Accounts accounts(file);
    REQUIRE(accounts.empty());
    accounts.set("quality-1", Role::quality, "long enough");
  }
  Accounts const again(file);
  CHECK(again.check("quality-1", "long enough") == Role::quality);
  CHECK_FALSE(again.check("quality-1", "long enough "));
  CHECK_FALSE(again.check("quality-2", "long enough"));
  CHECK_FALSE(again.check("quality-1", ""));
}

TEST_CASE("An account file that others may read is refused", "[panel]") {
  Folder const folder;
  auto const file = folder.path + "/accounts.json";
  Accounts(file).set("one", Role::watcher, "long enough");
  REQUIRE(::chmod(file.c_str(), 0640) == 0);
  CHECK_THROWS_AS(Accounts(file), AccountError);
}

TEST_CASE("A name or password that is none is refused and the file stays as it was", "[panel]") {
  Folder const folder;
  Accounts accounts(folder.path + "/accounts.json");
  for (auto const* name : {"", "with space", "../up", "a/b", "12345678901234567890123456789012345678901"}) {
    CHECK_THROWS_AS(accounts.set(name, Role::watcher, "long enough"), AccountError);
  }
  CHECK_THROWS_AS(accounts.set("fine", Role::watcher, "short"), AccountError);
  CHECK(accounts.empty());
  CHECK_FALSE(std::filesystem::exists(folder.path + "/accounts.json"));
}

TEST_CASE("Five wrong passwords of a name pull the brake for a minute, for that name alone", "[panel]") {
  Sessions sessions;
  for (int i = 0; i < 5; ++i) {
    CHECK(sessions.pause_s("one", second) == 0);
    sessions.wrong("one", second);
  }
  CHECK(sessions.pause_s("one", second) > 59);
  CHECK(sessions.pause_s("other", second) == 0);
  CHECK(sessions.pause_s("one", 62 * second) == 0);
}

TEST_CASE("Twenty wrong passwords under many names pull the brake for every name", "[panel]") {
  Sessions sessions;
  for (int i = 0; i < 20; ++i) sessions.wrong("name-" + std::to_string(i), second);
  CHECK(sessions.pause_s("yet-another", second) > 59);
  CHECK(sessions.pause_s("yet-another", 62 * second) == 0);
}

TEST_CASE("A session is found by its cookie among others, until it was silent for half a day or logged out",
          "[panel]") {
  Sessions sessions;
  auto const first = sessions.admit("one", Role::operator_, second);
  auto const other = sessions.admit("one", Role::operator_, second);
  CHECK(first.token != other.token);
  CHECK(first.csrf != other.csrf);
  CHECK(first.panel != other.panel);
  auto const cookie = "theme=dark; bench_session=" + first.token + "; more=1";
  REQUIRE(sessions.find(cookie, second) != nullptr);
  CHECK(sessions.find(cookie, second)->panel == first.panel);
  CHECK(sessions.find("bench_session=" + first.token.substr(1), second) == nullptr);
  CHECK(sessions.find("xbench_session=" + first.token, second) == nullptr);
  CHECK(sessions.find("", second) == nullptr);
  constexpr std::int64_t hour = 3600 * second;
  REQUIRE(sessions.find(cookie, 11 * hour) != nullptr);  // used: prolonged
  REQUIRE(sessions.find(cookie, 22 * hour) != nullptr);
  CHECK(sessions.find("bench_session=" + other.token, 13 * hour) == nullptr);
  CHECK(sessions.find(cookie, 35 * hour) == nullptr);
  auto const third = sessions.admit("two", Role::watcher, 36 * hour);
  sessions.log_out(third.token);
  CHECK(sessions.find("bench_session=" + third.token, 36 * hour) == nullptr);
}

TEST_CASE("Where there are too many sessions the one silent longest makes room", "[panel]") {
  Sessions sessions;
  auto const silent = sessions.admit("silent", Role::watcher, second);
  auto const used = sessions.admit("used", Role::watcher, 2 * second);
  for (int i = 0; i < 198; ++i) sessions.admit("many", Role::watcher, 3 * second);
  REQUIRE(sessions.find("bench_session=" + used.token, 4 * second) != nullptr);
  sessions.admit("one more", Role::watcher, 5 * second);
  CHECK(sessions.find("bench_session=" + silent.token, 6 * second) == nullptr);
  CHECK(sessions.find("bench_session=" + used.token, 6 * second) != nullptr);
}
