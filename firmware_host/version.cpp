// SPDX-License-Identifier: MIT
#include "firmware_host/version.hpp"

#include <fmt/core.h>
#include <modbus.h>
#include <openssl/crypto.h>
#include <sodium.h>
#include <sqlite3.h>

#include <boost/version.hpp>
#include <nlohmann/json.hpp>

#include "version_data.hpp"

namespace benchward {

Version const& program_version() {
  static Version const version{BENCHWARD_VERSION, BENCHWARD_COMMIT, BENCHWARD_BUILD_ID};
  return version;
}

std::string version_line(std::string const& program) {
  auto const& v = program_version();
  return fmt::format("{} {} (commit {}, {})", program, v.version, v.commit, v.build_id);
}

std::string version_json(std::string const& program) {
  auto const& v = program_version();
  nlohmann::ordered_json out;
  out["program"] = program;
  out["version"] = v.version;
  out["commit"] = v.commit;
  out["build_id"] = v.build_id;
  out["document_versions"] = {{"unit", 1}, {"bench", 1}, {"limit_set", 1}, {"profile", 1}};
  out["event_version"] = 1;
  out["libraries"] = {
      {"boost", fmt::format("{}.{}.{}", BOOST_VERSION / 100000, BOOST_VERSION / 100 % 1000, BOOST_VERSION % 100)},
      {"nlohmann_json",
       fmt::format("{}.{}.{}", NLOHMANN_JSON_VERSION_MAJOR, NLOHMANN_JSON_VERSION_MINOR, NLOHMANN_JSON_VERSION_PATCH)},
      {"fmt", fmt::format("{}.{}.{}", FMT_VERSION / 10000, FMT_VERSION / 100 % 100, FMT_VERSION % 100)},
      {"libmodbus", fmt::format("{}.{}.{}", libmodbus_version_major, libmodbus_version_minor, libmodbus_version_micro)},
      {"sqlite", sqlite3_libversion()},
      {"libsodium", sodium_version_string()},
      {"openssl", OpenSSL_version(OPENSSL_VERSION_STRING)}};
  return out.dump();
}

}  // namespace benchward
