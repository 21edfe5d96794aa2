// SPDX-License-Identifier: MIT
#include "limits/correct/dielectric.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>

#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

namespace {

InducedTest ieee(double test_hz) {
  return induced_test({StandardFamily::ieee, 240.0, 60.0, test_hz, InducedCase::twice_rated, {}, {}});
}
InducedTest iec(double test_hz) {
  return induced_test({StandardFamily::iec, 400.0, 50.0, test_hz, InducedCase::twice_rated, {}, {}});
}

}  // namespace

TEST_CASE("the induced test lasts 7200 cycles by IEEE and 120 rated cycles by IEC", "[limits][dielectric]") {
  char const* const memory = "7200 cycles (IEEE C57.12.90, from memory)";
  for (auto const& [hz, s] : {std::pair{120.0, 60.0}, {180.0, 40.0}, {240.0, 30.0}, {360.0, 20.0}, {400.0, 18.0}}) {
    external(memory, fmt::format("{} Hz", hz), ieee(hz).duration_s, s, 1e-9);
  }
  char const* const maker = "120 s x rated over test frequency (page of a transformer maker; 15 s from memory)";
  for (auto const& [hz, s] :
       {std::pair{100.0, 60.0}, {120.0, 50.0}, {150.0, 40.0}, {200.0, 30.0}, {400.0, 15.0}, {500.0, 15.0}}) {
    external(maker, fmt::format("{} Hz", hz), iec(hz).duration_s, s, 1e-9);
  }
  CHECK(ieee(240.0).test_v == Approx(480.0));
  CHECK(ieee(240.0).lowest_test_hz == Approx(120.0));
  CHECK_THROWS_AS(ieee(119.0), InputError);
  CHECK_NOTHROW(ieee(120.0 * (1.0 - 1e-10)));
}

TEST_CASE("a one-bushing unit gets 1000 V + 3.46 times its winding, under the ceiling of its insulation",
          "[limits][dielectric]") {
  struct Row {
    double winding_v;
    std::optional<double> ceiling_v;
    double level_kv, allowed, lowest_hz, fed_v;
  };
  // Rule and ceilings: IEEE C57.12.38-2014, extract read; the numbers derived by hand (three digits).
  for (auto const& row :
       {Row{7200.0, {}, 25.912, 0.0005, 216.0, 864.0}, Row{2400.0, {}, 9.304, 0.0005, 233.0, 930.0},
        Row{14400.0, 40000.0, 40.0, 0.0005, 167.0, 667.0}, Row{7970.0, {}, 28.6, 0.05, 215.0, 861.0}}) {
    auto const test = induced_test(
        {StandardFamily::ieee, 240.0, 60.0, 400.0, InducedCase::line_to_ground, row.winding_v, row.ceiling_v});
    std::string const of = fmt::format("{} V", row.winding_v);
    char const* const source = "line-to-ground induced level (IEEE C57.12.38-2014 extract)";
    external(source, of + " level", test.test_v * row.winding_v / 240.0 / 1000.0, row.level_kv, row.allowed);
    external(source, of + " frequency", test.lowest_test_hz, row.lowest_hz, 0.6);
    external(source, of + " fed volts", test.test_v, row.fed_v, 0.7);
  }
  CHECK_THROWS_AS(induced_test({StandardFamily::iec, 240.0, 50.0, 400.0, InducedCase::line_to_ground, 7200.0, {}}),
                  InputError);
  CHECK_THROWS_AS(induced_test({StandardFamily::ieee, 240.0, 60.0, 400.0, InducedCase::line_to_ground, {}, {}}),
                  InputError);
}

TEST_CASE("the capacitive current of a winding is what hand calculation gives", "[limits][dielectric]") {
  char const* const source = "capacitive current, 5 nF at 60 Hz (derived by hand)";
  external(source, "34 kV, mA", capacitive_current(kilovolts(34.0), hertz(60.0), nanofarads(5.0)).in(milliamperes),
           64.0, 0.5);
  external(source, "50 kV, mA", capacitive_current(kilovolts(50.0), hertz(60.0), nanofarads(5.0)).in(milliamperes),
           94.0, 0.5);
}
