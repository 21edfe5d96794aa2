// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <limits>
#include <random>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/limit_set_document.hpp"

using namespace benchward;

TEST_CASE("a number is written as the shortest text that reads back as the same double", "[documents][writer]") {
  CHECK(json_number(0.1) == "0.1");
  CHECK(json_number(1e22) == "1e+22");
  CHECK(json_number(-0.0) == "-0.0");
  CHECK(json_number(0.0) == "0");
  CHECK(json_number(5e-324) == "5e-324");
  CHECK_THROWS(json_number(std::nan("")));
  CHECK_THROWS(json_number(std::numeric_limits<double>::infinity()));
  std::mt19937_64 random(7);
  int tried = 0;
  while (tried < 20000) {
    std::uint64_t const bits = random();
    double value = 0.0;
    std::memcpy(&value, &bits, sizeof value);
    if (!std::isfinite(value)) continue;
    ++tried;
    auto const back = documents::parse_json("[" + json_number(value) + "]", "t")[0].get<double>();
    REQUIRE(std::memcmp(&back, &value, sizeof value) == 0);
  }
}

TEST_CASE("a text is written as JSON, and bytes that are not UTF-8 become the replacement character",
          "[documents][writer]") {
  CHECK(json_string("a\"b\\c\n\x01") == "\"a\\\"b\\\\c\\n\\u0001\"");
  CHECK(json_string("\xC3\xA9") == "\"\xC3\xA9\"");
  CHECK(json_string("\xff") == "\"\xEF\xBF\xBD\"");
  // Overlong, surrogate and too large forms (RFC 3629 section 3).
  for (std::string const bad : {"\xc0\xaf", "\xed\xa0\x80", "\xf4\x90\x80\x80", "\xe2\x82"}) {
    CHECK_NOTHROW(documents::parse_json(json_string(bad), "t"));
  }
}

TEST_CASE("SHA-256 gives the published digest", "[documents][reference]") {
  // FIPS 180-4 examples (NIST): "abc" and the empty message.
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
