// SPDX-License-Identifier: MIT
// The reader of limit sets takes any bytes: a set whose sheet for a unit can be worked out, or an error with a path.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "limits/documents/limit_set_document.hpp"

extern "C" int LLVMFuzzerTestOneInput(std::uint8_t const* data, std::size_t size) {
  std::string_view const text(reinterpret_cast<char const*>(data), size);
  try {
    auto const set = benchward::parse_limit_set(text, "fuzz");
    benchward::Unit unit;
    unit.serial = "F-1";
    unit.phases = 1;
    unit.rated_power = benchward::kilovolt_amperes(50.0);
    unit.rated_frequency = benchward::hertz(60.0);
    unit.vector_group = "Ii0";
    unit.manufactured_on = "2026-03-02";
    unit.hv.rated = benchward::volts(7200.0);
    unit.lv.rated = benchward::volts(240.0);
    (void)benchward::work_out(set, unit);
  } catch (benchward::DocumentError const&) {
  }
  return 0;
}
