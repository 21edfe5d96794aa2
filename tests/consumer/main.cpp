// SPDX-License-Identifier: MIT
// What a developer at another plant writes first: read a unit document, ask what it is, and work out its limits.
#include <benchward/drivers/permit.hpp>
#include <benchward/drivers/roles/connection.hpp>
#include <benchward/limits/documents/unit_document.hpp>
#include <benchward/limits/quantity.hpp>
#include <cstdio>
#include <exception>

int main(int argc, char** argv) {
  if (argc != 2) {
    std::puts("usage: consumer UNIT.json");
    return 2;
  }
  try {
    auto const unit = benchward::read_unit(argv[1]);
    auto const bits = benchward::terminal_bits({"H1", "X1"});
    std::printf("%s: %.1f kVA, %.2f A on the high side, terminals %u\n", unit.serial.c_str(),
                unit.rated_power.in(benchward::kilovolt_amperes),
                unit.rated_line_current(unit.hv).in(benchward::amperes), static_cast<unsigned>(bits));
  } catch (std::exception const& error) {
    std::puts(error.what());
    return 2;
  }
  return 0;
}
