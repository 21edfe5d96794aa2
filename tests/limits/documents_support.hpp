// SPDX-License-Identifier: MIT
#pragma once

#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "limits/documents/document_error.hpp"

namespace benchward::test {

inline std::string source_file(std::string const& path) {
  std::ifstream in(std::string(BENCHWARD_SOURCE_DIR) + "/" + path, std::ios::binary);
  REQUIRE(in.good());
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// `text` with the first `from` replaced; the test is wrong if it is not there.
inline std::string with(std::string text, std::string const& from, std::string const& to) {
  auto const at = text.find(from);
  INFO("looking for " << from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

/// The error that a call throws; the test fails where it throws none.
template <class Call>
DocumentError document_error(Call call) {
  try {
    call();
  } catch (DocumentError const& error) {
    return error;
  }
  FAIL("nothing was refused");
  throw std::logic_error("not reached");
}

/// Lines of a CSV file of tests/reference/data, the header left out; commas inside quotes belong to the field.
inline std::vector<std::vector<std::string>> csv_rows(std::string const& name) {
  std::istringstream in(source_file("tests/reference/data/" + name));
  std::vector<std::vector<std::string>> rows;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    std::vector<std::string> fields(1);
    bool quoted = false;
    for (char const c : line) {
      if (c == '"') {
        quoted = !quoted;
      } else if (c == ',' && !quoted) {
        fields.emplace_back();
      } else if (c != '\r') {
        fields.back() += c;
      }
    }
    rows.push_back(fields);
  }
  return rows;
}

}  // namespace benchward::test
