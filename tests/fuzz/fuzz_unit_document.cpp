// SPDX-License-Identifier: MIT
// The reader of unit documents takes any bytes: a unit, or a DocumentError; and what it takes it writes back the same.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "limits/documents/unit_document.hpp"

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  std::string_view const text(reinterpret_cast<char const*>(data), size);
  try {
    auto const unit = benchward::parse_unit(text, "fuzz");
    auto const written = benchward::write_unit(unit);
    if (benchward::write_unit(benchward::parse_unit(written, "fuzz")) != written) std::abort();
  } catch (benchward::DocumentError const&) {
  }
  return 0;
}
