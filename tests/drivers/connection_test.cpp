// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <stdexcept>

#include "drivers/roles/connection.hpp"

using namespace benchward;

TEST_CASE("terminals go by their marks, duplicated bushings by their phase", "[drivers][connection]") {
  CHECK(terminal_named("H1") == Terminal::H1);
  CHECK(terminal_named("H1B") == Terminal::H1);
  CHECK(terminal_named("tank") == Terminal::tank);
  CHECK(name_of(Terminal::X4) == "X4");
  CHECK_THROWS_WITH(terminal_named("H7"), Catch::Contains("\"H7\"") && Catch::Contains("X0"));
  CHECK_THROWS_AS(terminal_named(""), std::invalid_argument);
}

TEST_CASE("the connection code has one bit a terminal, ties and joined neutrals all of theirs",
          "[drivers][connection]") {
  CHECK(terminal_bits({"H1", "X0"}) == 0b0000010010);
  CHECK(terminal_bits({"H2+H3"}) == 0b0000001100);
  CHECK(terminal_bits({"H0X0"}) == 0b0000010001);
  CHECK(terminal_bits({}) == 0);
}

TEST_CASE("leads are the same only if nobody has to move one", "[drivers][connection]") {
  Connection a;
  a.instrument = "ac_source";
  a.feed = {{"H1", "H2"}};
  a.short_bar = {{"X1", "X3"}};
  auto b = a;
  b.name = "another test";
  b.short_bar = {{"X3", "X1"}};
  b.tap = 3;
  CHECK(same_leads(a, b));
  SECTION("swapped feed") { b.feed = {{"H2", "H1"}}; }
  SECTION("bar off") { b.short_bar.clear(); }
  SECTION("earth added") { b.earth = {"H2"}; }
  SECTION("strap off") { b.accessories = {{"X2 strap", "off"}}; }
  SECTION("another instrument") { b.instrument = "ratio_meter"; }
  if (a.feed != b.feed || a.short_bar.size() != b.short_bar.size() || a.earth != b.earth || !b.accessories.empty() ||
      a.instrument != b.instrument) {
    CHECK_FALSE(same_leads(a, b));
  }
}
