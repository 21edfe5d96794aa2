// SPDX-License-Identifier: MIT
#include "limits/unit/vector_group.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <complex>

#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

namespace {

double const root3 = std::sqrt(3.0);

std::string all_pairs(std::string const& notation) {
  std::string text;
  for (auto const& pair : phase_pairs(parse_vector_group(notation))) {
    text += fmt::format("{}{}:{}", text.empty() ? "" : " ", pair.feed.value_or(pair.hv), pair.lv);
    if (pair.shorted) text += fmt::format("({})", *pair.shorted);
  }
  return text;
}

std::vector<std::string> every_group() {
  std::vector<std::string> names;
  for (std::string const hv : {"D", "Y", "YN", "Z", "ZN"}) {
    for (std::string const lv : {"d", "y", "yn", "z", "zn"}) {
      for (int clock = 0; clock < 12; ++clock) names.push_back(hv + lv + std::to_string(clock));
    }
  }
  return names;
}

bool possible(std::string const& notation) {
  try {
    parse_vector_group(notation);
    return true;
  } catch (VectorGroupError const&) {
    return false;
  }
}

/// Volts of a terminal in three-phase operation, line volts 1, by the clock alone: independent of any coil.
std::complex<double> terminal(char side, char number, int clock) {
  if (number == '0') return 0.0;
  double const degrees = -120.0 * (number - '1') - (side == 'X' ? 30.0 * clock : 0.0);
  return std::polar(1.0 / root3, degrees * 3.14159265358979323846 / 180.0);
}

}  // namespace

TEST_CASE("the pairs of the usual groups are those that a test floor uses", "[limits][vector-group]") {
  // Dyn1, YNyn0, Yd1, Yd11: the connection tables that the trade uses (common practice, no source; derived by
  // hand).
  CHECK(all_pairs("Dyn1") == "H1-H3:X1-X0 H2-H1:X2-X0 H3-H2:X3-X0");
  CHECK(all_pairs("Dyn11") == "H1-H2:X1-X0 H2-H3:X2-X0 H3-H1:X3-X0");
  CHECK(all_pairs("Dyn5") == "H2-H1:X1-X0 H3-H2:X2-X0 H1-H3:X3-X0");
  CHECK(all_pairs("YNyn0") == "H1-H0:X1-X0 H2-H0:X2-X0 H3-H0:X3-X0");
  CHECK(all_pairs("YNyn6") == "H0-H1:X1-X0 H0-H2:X2-X0 H0-H3:X3-X0");
  CHECK(all_pairs("Yyn0") == "H1-H2:X1-X2 H2-H3:X2-X3 H3-H1:X3-X1");
  CHECK(all_pairs("Dd0") == "H1-H2:X1-X2 H2-H3:X2-X3 H3-H1:X3-X1");
  CHECK(all_pairs("Yd1") == "H1-H2:X1-X2(X3-X1) H2-H3:X2-X3(X1-X2) H3-H1:X3-X1(X2-X3)");
  CHECK(all_pairs("Yd11") == "H1-H2:X1-X3(X2-X3) H2-H3:X2-X1(X3-X1) H3-H1:X3-X2(X1-X2)");
  CHECK(all_pairs("YNd11") == "H1-H0:X1-X3 H2-H0:X2-X1 H3-H0:X3-X2");
  CHECK(all_pairs("Dzn0") == "H1-H2+H3:X1-X0 H2-H1+H3:X2-X0 H3-H1+H2:X3-X0");
  CHECK(all_pairs("Dzn6") == "H2+H3-H1:X1-X0 H1+H3-H2:X2-X0 H1+H2-H3:X3-X0");
  CHECK(all_pairs("Yzn5") == "H2-H1:X1-X0 H3-H2:X2-X0 H1-H3:X3-X0");
  CHECK(all_pairs("Ii0") == "H1-H2:X1-X2");
  CHECK(all_pairs("Ii6") == "H2-H1:X1-X2");
}

TEST_CASE("the factor of a pair is its ratio over the line ratio", "[limits][vector-group]") {
  struct Row {
    char const* group;
    double factor;
  };
  // Turns: sqrt(3) N/n against N/n and so on; worked out by hand from coils of N and n turns (derived).
  for (auto const& [group, factor] : {Row{"Dyn1", root3}, Row{"YNyn0", 1.0}, Row{"Yd1", 2.0 / root3}, Row{"Dzn0", 1.5},
                                      Row{"Dz0", 1.5}, Row{"Yzn11", root3}, Row{"Dd0", 1.0}, Row{"YNd1", 1.0 / root3},
                                      Row{"Yy0", 1.0}, Row{"Yyn0", 1.0}, Row{"Ii0", 1.0}, Row{"Dy1", root3 / 2.0}}) {
    INFO(group);
    for (auto const& pair : phase_pairs(parse_vector_group(group))) CHECK(pair.factor == Approx(factor).epsilon(1e-12));
  }
}

TEST_CASE("every group that windings can form is known, and no other", "[limits][vector-group]") {
  int found = 0;
  for (auto const& name : every_group()) {
    auto const hv = name[0];
    auto const lv = name[name.find_first_of("dyz")];
    int const clock = std::stoi(name.substr(name.find_first_of("0123456789")));
    // Odd clock numbers turn by 30 degrees: exactly one of the two sides is then a delta, or a zigzag against a wye.
    bool const turned = (hv == 'D') + (hv == 'Z') + (lv == 'd') + (lv == 'z') == 1;
    INFO(name);
    CHECK(possible(name) == ((clock % 2 == 1) == turned));
    found += possible(name) ? 1 : 0;
  }
  CHECK(found == 150);
}

TEST_CASE("a pair read without short or tie has the phasors of its clock number", "[limits][vector-group]") {
  // Phase relation of line phasors by IEC 60076-1: positive sequence, low voltage lags by the clock number x 30
  // degrees.
  int compared = 0;
  for (auto const& name : every_group()) {
    if (!possible(name)) continue;
    auto const group = parse_vector_group(name);
    auto const pairs = phase_pairs(group);
    REQUIRE(pairs.size() == 3);
    for (auto const& pair : pairs) {
      if (pair.shorted || pair.feed) continue;
      INFO(name << " " << pair.hv << ":" << pair.lv);
      auto const high = terminal('H', pair.hv[1], 0) - terminal('H', pair.hv[4], 0);
      auto const low = terminal('X', pair.lv[1], group.clock) - terminal('X', pair.lv[4], group.clock);
      auto const ratio = high / low;
      CHECK(ratio.real() == Approx(pair.factor).epsilon(1e-12));
      CHECK(std::abs(ratio.imag()) < 1e-12);
      ++compared;
    }
  }
  CHECK(compared > 200);
}

TEST_CASE("notations that are none are refused with what is wrong", "[limits][vector-group]") {
  auto const message = [](char const* notation) -> std::string {
    try {
      parse_vector_group(notation);
    } catch (VectorGroupError const& error) {
      return error.what();
    }
    return "";
  };
  CHECK(message("Dyn2").find("odd numbers are possible") != std::string::npos);
  CHECK(message("Yyn1").find("even numbers are possible") != std::string::npos);
  CHECK(message("dyn1").find("capital letter") != std::string::npos);
  CHECK(message("Dyn12").find("0 to 11") != std::string::npos);
  CHECK(message("Dyn").find("clock number") != std::string::npos);
  CHECK(message("DNyn1").find("neutral") != std::string::npos);
  CHECK(message("Ii3").find("0 or 6") != std::string::npos);
  CHECK(message("Iyn0").find("single-phase") != std::string::npos);
  CHECK(message("Qyn1").find("no winding connection") != std::string::npos);
  CHECK(message("").find("too short") != std::string::npos);
  CHECK(message("Dyn1x").find("clock number") != std::string::npos);
}

TEST_CASE("the phase check shows the volts that phasors say", "[limits][vector-group]") {
  // Ratio 0.3, in units of H1-H2: numbers derived by hand (three digits).
  struct Row {
    char const* group;
    char const* pair;
    double volts;
  };
  for (auto const& row : {Row{"Yyn0", "H2-X2", 0.700}, Row{"Yyn0", "H3-X3", 0.700}, Row{"Yyn0", "H2-X3", 0.889},
                          Row{"Yyn0", "H3-X2", 0.889}, Row{"Dyn1", "H2-X2", 0.755}, Row{"Dyn1", "H3-X2", 0.755},
                          Row{"Dyn1", "H3-X3", 0.755}, Row{"Dyn1", "H2-X3", 1.044}, Row{"Dyn11", "H2-X2", 0.755},
                          Row{"Dyn11", "H2-X3", 0.755}, Row{"Dyn11", "H3-X3", 0.755}, Row{"Dyn11", "H3-X2", 1.044},
                          Row{"Yyn6", "H2-X2", 1.300}, Row{"Yyn6", "H3-X3", 1.300}}) {
    auto const volts = phase_check_volts(parse_vector_group(row.group), 0.3);
    external("phase-check volts derived by hand", fmt::format("{} {}", row.group, row.pair), volts.at(row.pair),
             row.volts, 0.0005);
  }
  auto const small = phase_check_volts(parse_vector_group("Dyn1"), 0.0577);
  external("phase-check volts derived by hand", "Dyn1 0.0577 H2-X2", small.at("H2-X2"), 0.9505, 0.00005);
  external("phase-check volts derived by hand", "Dyn1 0.0577 H2-X3", small.at("H2-X3"), 1.0017, 0.00005);
}

TEST_CASE("published clock numbers of delta-wye connections agree", "[limits][vector-group]") {
  // A public test suite's table of delta-wye displacements, as quoted by others: lagging connections of
  // the terminal orders 123, 231, 312 lag by 30, 270, 150 degrees; the leading ones by 330, 210, 90.
  for (int const clock : {1, 9, 5, 11, 7, 3}) {
    auto const group = parse_vector_group(fmt::format("Dyn{}", clock));
    static double const published[12] = {0, 30, 0, 90, 0, 150, 0, 210, 0, 270, 0, 330};
    external("delta-wye displacement table (public power-system test suite)", fmt::format("Dyn{}", clock),
             group.displacement_degrees(), published[clock], 0.05);
  }
}
