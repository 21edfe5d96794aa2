// SPDX-License-Identifier: MIT
// `calc` takes any topic and any bytes: an answer that is JSON again, or a DocumentError. First byte: the topic.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "limits/documents/calc/calc.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  if (size == 0) return 0;
  static auto const topics = benchward::calc_topics();
  auto const& topic = topics[data[0] % topics.size()];
  std::string_view const text(reinterpret_cast<char const*>(data) + 1, size - 1);
  std::string answer;
  try {
    answer = benchward::calculate(topic.name, text);
  } catch (benchward::DocumentError const&) {
    return 0;
  }
  (void)benchward::documents::parse_json(answer, "answer");  // an answer that is no JSON ends the run
  return 0;
}
