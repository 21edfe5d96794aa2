// SPDX-License-Identifier: MIT
// Every row of the regulations' tables, against tests/reference/data (sources in each row).
#include <catch2/catch.hpp>
#include <charconv>
#include <string>

#include "documents_support.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {
double number(std::string const& text) {
  double value = 0.0;
  auto const end = std::from_chars(text.data(), text.data() + text.size(), value).ptr;
  REQUIRE(end == text.data() + text.size());
  return value;
}
RegulationTable const& table(LimitSet const& set, std::string const& name) {
  auto const* found = set.table(name);
  REQUIRE(found);
  return *found;
}
/// The last day before an ISO date that is the first of a month or later in it; enough for the tables' dates.
std::string day_before(std::string const& date) {
  if (date == "2016-01-01") return "2015-12-31";
  if (date == "2029-04-23") return "2029-04-22";
  if (date.empty()) return "2999-12-31";
  FAIL("no day before " << date);
  return "";
}
Unit demo3() {
  return read_unit(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/three-phase-pad-500kva-dyn1.json");
}
}  // namespace

TEST_CASE("every row of the US efficiency tables is answered on its first and last day", "[limits][reference]") {
  // 10 CFR 431.196(b), liquid-immersed: tests/reference/data/us_10cfr431_196_liquid_immersed.csv
  auto const set = builtin_limit_set(StandardFamily::ieee);
  int rows = 0;
  for (auto const& row : csv_rows("us_10cfr431_196_liquid_immersed.csv")) {
    INFO(row[0] << " " << row[1] << " " << row[2] << " " << row[5]);
    for (auto const& day : {row[2], day_before(row[3])}) {
      for (bool const submersible : {false, true}) {
        if (row[5] != "all_liquid_immersed" && submersible != (row[5] == "submersible")) continue;
        auto const found = look_up(table(set, "us-efficiency-liquid"), static_cast<int>(number(row[0])), number(row[1]),
                                   day, submersible);
        REQUIRE(found.value);
        CHECK(*found.value == number(row[4]));
        ++rows;
      }
    }
  }
  CHECK(rows == 54 * 4 + 56 * 2);  // 110 rows; before 2029 each stands for both categories
}

TEST_CASE("between two rows of a US table the straight line counts, beyond them nothing", "[limits][reference]") {
  // 10 CFR 431.196: linear interpolation between the kVA ratings immediately above and below.
  auto const set = builtin_limit_set(StandardFamily::ieee);
  auto const& us = table(set, "us-efficiency-liquid");
  auto const at = [&](int phases, double kva, std::string const& day, bool submersible = false) {
    return look_up(us, phases, kva, day, submersible);
  };
  CHECK(*at(3, 400, "2026-01-01").value == Approx(99.27 + 0.5 * (99.35 - 99.27)).epsilon(1e-12));
  CHECK_THAT(at(3, 400, "2026-01-01").origin,
             Catch::Contains("99.27 + (400 - 300) / (500 - 300) x (99.35 - 99.27) = 99.31"));
  CHECK(*at(1, 31.25, "2026-01-01").value ==
        Approx(99.0).epsilon(1e-12));  // midway between 25 (98.95) and 37.5 (99.05)
  CHECK(*at(3, 400, "2029-04-23").value == Approx((99.42 + 99.38) / 2).epsilon(1e-12));  // the table falls there
  CHECK_FALSE(at(1, 9.99, "2026-01-01").value);
  CHECK_FALSE(at(1, 834, "2026-01-01").value);
  CHECK_FALSE(at(3, 3750, "2029-04-22").value);
  CHECK(at(3, 3750, "2029-04-23").value);
  CHECK_FALSE(at(3, 3750, "2029-04-23", true).value);
  CHECK_FALSE(at(3, 500, "2009-12-31").value);
}

TEST_CASE("every row of the normal impedance ranges warns and does not fail", "[limits][reference]") {
  // 10 CFR 431.192 Table 1: tests/reference/data/us_10cfr431_192_normal_impedance.csv
  auto unit = demo3();
  auto const set = builtin_limit_set(StandardFamily::ieee);
  int rows = 0;
  auto const line = [&]() -> SheetLine {
    auto const sheet = work_out(set, unit);
    for (auto const& candidate : sheet.lines) {
      if (candidate.limit.rule == "impedance-normal-range") return candidate;
    }
    return {};
  };
  for (auto const& row : csv_rows("us_10cfr431_192_normal_impedance.csv")) {
    unit.phases = static_cast<int>(number(row[0]));
    unit.vector_group = unit.phases == 1 ? "Ii0" : "Dyn1";
    bool const included = row[3] == "true";
    double const last = included ? number(row[2]) : number(row[2]) - 0.001;
    for (double const kva : {number(row[1]), last}) {
      unit.rated_power = kilovolt_amperes(kva);
      INFO(row[0] << " phases " << kva << " kVA");
      REQUIRE(line().limit.lower);
      CHECK(*line().limit.lower == number(row[4]));
      CHECK(*line().limit.upper == number(row[5]));
      CHECK(line().limit.warns_only);
    }
    ++rows;
  }
  CHECK(rows == 10);
}

TEST_CASE("every row of the EU tables is answered in both tiers", "[limits][reference]") {
  // Regulation (EU) 548/2014, Table I.1 and Table I.6
  auto const set = builtin_limit_set(StandardFamily::iec);
  int values = 0;
  for (auto const& [file, suffix] : {std::pair<std::string, std::string>{"eu_548_2014_table.csv", "liquid"},
                                     {"eu_548_2014_pole_mounted.csv", "pole-mounted-replacement"}}) {
    for (auto const& row : csv_rows(file)) {
      struct Column {
        char const* quantity;
        std::size_t index;
        char const* day;
      };
      for (auto const& column :
           {Column{"p0", 1, "2015-07-01"}, Column{"p0", 1, "2021-06-30"}, Column{"pk", 2, "2021-06-30"},
            Column{"p0", 3, "2021-07-01"}, Column{"pk", 4, "2021-07-01"}}) {
        INFO(file << " " << row[0] << " kVA " << column.quantity << " " << column.day);
        auto const found = look_up(table(set, std::string("eu-") + column.quantity + "-" + suffix), 3, number(row[0]),
                                   column.day, false);
        REQUIRE(found.value);
        CHECK(*found.value == number(row[column.index]));
        ++values;
      }
    }
  }
  CHECK(values == (16 + 7) * 5);
  // Table I.1's first row holds below it; Table I.6 goes on in straight lines beyond its rows (annex I 1.4).
  CHECK(*look_up(table(set, "eu-p0-liquid"), 3, 10, "2026-01-01", false).value == 63.0);
  CHECK_FALSE(look_up(table(set, "eu-p0-liquid"), 3, 3151, "2026-01-01", false).value);
  CHECK(*look_up(table(set, "eu-p0-pole-mounted-replacement"), 3, 400, "2026-01-01", false).value ==
        Approx(440.0 + (440.0 - 360.0) / (315.0 - 250.0) * 85.0));
}

TEST_CASE("every correction of EU Tables I.3a and I.3b is applied to the losses of Table I.1", "[limits][reference]") {
  // Regulation (EU) 548/2014 as amended by (EU) 2019/1783: tests/reference/data/eu_548_2014_tables_i3.csv
  auto const set = builtin_limit_set(StandardFamily::iec);
  auto base = demo3();
  base.standard = StandardFamily::iec;
  base.rated_frequency = hertz(50);
  base.rated_power = kilovolt_amperes(400);
  base.lv.rated = volts(400);
  auto const upper = [&](Unit const& unit, std::string const& rule) {
    auto const sheet = work_out(set, unit);
    for (auto const& line : sheet.lines) {
      if (line.limit.rule == rule) return *line.limit.upper;
    }
    FAIL("no line of " << rule);
    return 0.0;
  };
  CHECK(upper(base, "eu-no-load-loss") == 387.0);
  CHECK(upper(base, "eu-load-loss") == 3250.0);
  int cases = 0;
  for (auto const& row : csv_rows("eu_548_2014_tables_i3.csv")) {
    Unit unit = base;
    INFO(row[0] << " " << row[1]);
    if (row[1] == "special_combination_of_voltages") {
      if (row[5] != "3.6" || row[4] != "<=") continue;  // a secondary above 3.6 kV lies outside the rule's 1.1 kV
      unit.hv.rated = volts(33000);
    } else if (row[1] == "dual_voltage_on_one_winding_full_power") {
      unit.hv.dual = DualVoltage{volts(20000), volts(10000), 1};
    } else if (row[1] == "dual_voltage_on_both_windings_full_power") {
      unit.hv.dual = DualVoltage{volts(20000), volts(10000), 1};
      unit.lv_form = LowVoltageForm::series_parallel;
    } else {
      continue;  // reduced power: the unit document has one rated power, so that case does not exist here
    }
    CHECK(upper(unit, "eu-load-loss") == Approx(3250.0 * (1.0 + number(row[6]) / 100.0)));
    CHECK(upper(unit, "eu-no-load-loss") == Approx(387.0 * (1.0 + number(row[7]) / 100.0)));
    ++cases;
  }
  CHECK(cases == 3);
}
