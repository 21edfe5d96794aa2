// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <string>
#include <tuple>

#include "documents_support.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {
Unit demo(std::string const& name) {
  return read_unit(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units/" + name + ".json");
}
LimitSheet sheet_of(Unit const& unit) { return work_out(builtin_limit_set(unit.standard), unit); }

Limit const& limit(LimitSheet const& sheet, std::string const& rule) {
  for (auto const& line : sheet.lines) {
    if (line.limit.rule == rule) return line.limit;
  }
  FAIL("no line of rule " << rule);
  throw std::logic_error("not reached");
}
bool has(LimitSheet const& sheet, std::string const& rule) {
  for (auto const& line : sheet.lines) {
    if (line.limit.rule == rule) return true;
  }
  return false;
}
std::string reason(LimitSheet const& sheet, std::string const& rule) {
  for (auto const& text : sheet.no_requirement) {
    if (text.rfind(rule + ": ", 0) == 0) return text;
  }
  return "";
}

/// A small set of one rule, to be spoiled.
std::string const small = R"({"name": "s", "version": "1", "tables": [
  {"name": "t", "unit": "%", "source": "here", "blocks": [{"clause": "1", "from": "2020-01-01", "rows": [[10, 1], [20, 2]]}]}],
 "rules": [{"id": "r", "test": "no_load", "quantity": "q", "unit": "%", "kind": "table", "table": "t", "side": "lower",
            "source": "from memory"},
           {"id": "b", "test": "no_load", "quantity": "p", "unit": "%", "kind": "bound", "lower": 1, "upper": 2,
            "source": "from memory"}],
 "verdicts": [{"verdict": "pass", "outcome": "PASS", "disposition": "release"},
              {"verdict": "conditional pass", "outcome": "PASS", "disposition": "hold"},
              {"verdict": "conditional fail", "outcome": "FAIL", "disposition": "hold"},
              {"verdict": "fail", "outcome": "FAIL", "disposition": "hold"}]})";
}  // namespace

TEST_CASE("both built-in sets are read, every rule names a source, and their hash is that of their text",
          "[documents][limits]") {
  for (auto const& name : builtin_limit_set_names()) {
    auto const text = std::string(builtin_limit_set_text(name));
    CHECK(text == source_file("limits/data/" + name + ".json"));
    auto const set = parse_limit_set(text, name);
    CHECK(set.name == name);
    CHECK(set.hash == sha256_hex(text));
    CHECK(set.rules.size() > 15);
    for (auto const& rule : set.rules) {
      INFO(rule.id);
      CHECK(rule.source.size() > 10);
    }
  }
  CHECK(document_error([] { builtin_limit_set_text("builtin-jis"); }).id() == "limits.no-such-set");
}

TEST_CASE("the sheet of the three-phase demo unit has numbers that a pocket calculator confirms",
          "[documents][limits]") {
  auto const unit = demo("three-phase-pad-500kva-dyn1");
  auto const sheet = sheet_of(unit);
  CHECK(sheet.limit_set == "builtin-ieee");
  CHECK(sheet.limit_set_hash.size() == 64);
  CHECK(sheet.unit_serial == unit.serial);
  CHECK(*limit(sheet, "no-load-loss-tolerance").upper == Approx(737.0));
  CHECK(limit(sheet, "no-load-loss-tolerance").origin == "declared no-load loss 670 W + 10 % = 737 W");
  CHECK(*limit(sheet, "total-loss-tolerance").upper == Approx(4950.2));
  CHECK(*limit(sheet, "impedance-tolerance").lower == Approx(4.1625));
  CHECK(*limit(sheet, "impedance-tolerance").upper == Approx(4.8375));
  CHECK(*limit(sheet, "us-efficiency").lower == Approx(99.35));
  CHECK_THAT(limit(sheet, "us-efficiency").source, Catch::Contains("10 CFR 431.196(b)"));
  CHECK(*limit(sheet, "impedance-normal-range").upper == 7.0);
  CHECK(limit(sheet, "impedance-normal-range").warns_only);
  CHECK(*limit(sheet, "ratio-tolerance").upper == 0.5);
  CHECK_THAT(limit(sheet, "ratio-tolerance").origin, Catch::Contains("nearest whole turns"));
  CHECK(*limit(sheet, "factory-one-turn").upper == Approx(100.0 / 1080 / 2));
  CHECK(*limit(sheet, "displacement").lower == 20.0);
  CHECK(*limit(sheet, "induced-level").lower == Approx(960.0 * 0.97));
  CHECK(reason(sheet, "polarity-as-ordered") == "polarity-as-ordered: for 1-phase units");
  CHECK(*limit(sheet, "lot-average-total-loss").upper == 4670.0);
  CHECK(*limit(sheet, "applied-duration").lower == 60.0);
  CHECK(sheet.verdicts.size() == 4);
}

TEST_CASE("a sheet is asked for the line that fails before the line that warns, and for the place before everywhere",
          "[documents][limits]") {
  auto const sheet = sheet_of(demo("three-phase-pad-500kva-dyn1"));
  REQUIRE(sheet.line("ratio", "ratio_error_percent"));
  CHECK(sheet.line("ratio", "ratio_error_percent", "tap 3, H1-H3 : X1-X0")->limit.rule == "ratio-tolerance");
  CHECK(sheet.lines_of("ratio", "ratio_error_percent", "tap 3, H1-H3 : X1-X0").size() == 2);
  CHECK(sheet.line("winding_resistance", "unbalance_percent", "hv")->limit.rule == "unbalance-hv");
  CHECK(sheet.line("winding_resistance", "unbalance_percent", "lv")->limit.rule == "unbalance-lv");
  CHECK(sheet.line("winding_resistance", "unbalance_percent") == nullptr);
  CHECK(sheet.line("ratio", "no such quantity") == nullptr);
}

TEST_CASE("the duration of the induced test follows its frequency", "[documents][limits][reference]") {
  // IEEE C57.12.90: 7200 cycles, 60 s at 120 Hz and below (from memory; 40, 30, 20, 18 s are the trade's table).
  auto const sheet = sheet_of(demo("three-phase-pad-500kva-dyn1"));
  auto const* line = sheet.line("induced", "duration_s");
  REQUIRE(line);
  CHECK(*line->limit.lower == 60.0);
  for (auto const& [hz, s] :
       {std::pair{100.0, 60.0}, {120.0, 60.0}, {180.0, 40.0}, {240.0, 30.0}, {360.0, 20.0}, {400.0, 18.0}}) {
    CHECK(*line->limit_at(hz).lower == Approx(s));
  }
  auto unit = demo("three-phase-pad-500kva-dyn1");
  unit.standard = StandardFamily::iec;
  unit.rated_frequency = hertz(50);
  auto const iec = sheet_of(unit);
  auto const* iec_line = iec.line("induced", "duration_s");
  REQUIRE(iec_line);
  CHECK(*iec_line->limit_at(100.0).lower == 60.0);
  CHECK(*iec_line->limit_at(200.0).lower == Approx(30.0));
  CHECK(*iec_line->limit_at(500.0).lower == 15.0);
}

TEST_CASE("the induced level of a one-bushing unit is the line-to-ground level with its ceiling",
          "[documents][limits][reference]") {
  // IEEE C57.12.38-2014 (extract read): 1000 V + 3.46 x winding volts, at most 40 kV at 125 kV BIL.
  auto unit = demo("single-phase-pad-50kva");
  unit.hv_neutral = NeutralKind::on_tank;
  unit.hv.applied_kv.reset();
  auto const nominal = [&] { return *sheet_of(unit).line("induced", "level_v")->nominal; };
  CHECK(nominal() == Approx((1000.0 + 3.46 * 7200.0) * 240.0 / 7200.0));  // 864 V on the 240 V winding
  unit.hv.rated = volts(14400);
  unit.hv.bil_kv = 125;
  CHECK(nominal() == Approx(40000.0 * 240.0 / 14400.0));
  unit.hv.bil_kv = 150;
  CHECK(nominal() == Approx(50000.0 * 240.0 / 14400.0));
  CHECK_FALSE(has(sheet_of(unit), "applied-level-hv"));
  CHECK_THAT(reason(sheet_of(unit), "applied-level-hv"), Catch::Contains("sets no applied level"));
}

TEST_CASE("a rating outside a table has no requirement there, and the sheet says why", "[documents][limits]") {
  auto unit = demo("three-phase-pad-500kva-dyn1");
  unit.rated_power = kilovolt_amperes(3000);
  CHECK_FALSE(has(sheet_of(unit), "us-efficiency"));
  CHECK_THAT(reason(sheet_of(unit), "us-efficiency"),
             Catch::Contains("from 15 to 2500 kVA") && Catch::Contains("no requirement"));
  unit.manufactured_on = "2029-04-23";
  CHECK(has(sheet_of(unit), "us-efficiency"));
  unit.manufactured_on = "2009-12-31";
  CHECK_THAT(reason(sheet_of(unit), "us-efficiency"), Catch::Contains("2009-12-31"));
  unit.manufactured_on = "2026-01-01";
  unit.lv.rated = volts(4160);
  CHECK_THAT(reason(sheet_of(unit), "us-efficiency"), Catch::Contains("up to 600 V"));
  unit.guarantees = {};
  for (char const* rule : {"no-load-loss-tolerance", "total-loss-tolerance", "impedance-tolerance"}) {
    CHECK_THAT(reason(sheet_of(unit), rule), Catch::Contains("declares no"));
  }
}

TEST_CASE("impedance at and below 2.5 % has the wider tolerance of IEEE, below 10 % that of IEC",
          "[documents][limits]") {
  auto unit = demo("single-phase-pad-50kva");
  auto const width = [&] {
    auto const sheet = sheet_of(unit);
    return (*limit(sheet, "impedance-tolerance").upper / *unit.guarantees.impedance_percent - 1.0) * 100.0;
  };
  unit.guarantees.impedance_percent = 2.5;
  CHECK(width() == Approx(10.0));
  unit.guarantees.impedance_percent = 2.51;
  CHECK(width() == Approx(7.5));
  unit.standard = StandardFamily::iec;
  CHECK(width() == Approx(10.0));
  unit.guarantees.impedance_percent = 10.0;
  CHECK(width() == Approx(7.5));
  unit.guarantees.impedance_percent = 4.0;  // the lower of 0.5 % and a tenth of 4 %
  CHECK(*limit(sheet_of(unit), "ratio-tolerance").upper == Approx(0.4));
}

TEST_CASE("a spoiled limit set is refused by id and path", "[documents][limits]") {
  CHECK_NOTHROW(parse_limit_set(small, "s"));
  using Row = std::tuple<std::string, std::string, std::string, std::string>;
  auto const row = GENERATE(values<Row>({
      {"\"table\": \"t\"", "\"table\": \"u\"", "limits.no-such-table", "/rules/0/table"},
      {"[20, 2]", "[10, 2]", "limits.rows-order", "/tables/0/blocks/0/rows"},
      {"[20, 2]", "[20, \"2\"]", "document.wrong-type", "/tables/0/blocks/0/rows/1"},
      {"\"id\": \"b\"", "\"id\": \"r\"", "limits.duplicate-id", "/rules/1/id"},
      {"\"lower\": 1, \"upper\": 2", "\"lower\": 3, \"upper\": 2", "limits.bound", "/rules/1/lower"},
      {"\"lower\": 1, \"upper\": 2,", "", "limits.bound", "/rules/1"},
      {"\"kind\": \"bound\"", "\"kind\": \"bond\"", "document.unknown-word", "/rules/1/kind"},
      {"\"source\": \"from memory\"}", "\"warns_only\": true}", "document.missing-key", "/rules/0/source"},
      {"\"2020-01-01\"", "\"2020-13-01\"", "document.out-of-range", "/tables/0/blocks/0/from"},
      {"{\"verdict\": \"pass\", \"outcome\": \"PASS\", \"disposition\": \"release\"},", "", "limits.verdicts",
       "/verdicts"},
      {"\"verdict\": \"fail\", \"outcome\": \"FAIL\", \"disposition\": \"hold\"",
       "\"verdict\": \"fail\", \"outcome\": \"PASS\", \"disposition\": \"hold\"", "limits.verdicts", "/verdicts/3"},
      {"\"verdict\": \"conditional fail\", \"outcome\": \"FAIL\", \"disposition\": \"hold\"",
       "\"verdict\": \"conditional fail\", \"outcome\": \"FAIL\", \"disposition\": \"release\"", "limits.verdicts",
       "/verdicts/2/disposition"},
      {"\"version\": \"1\"", "\"version\": \"1\", \"rule\": 1", "document.unknown-key", "/rule"},
  }));
  auto const& [from, to, id, path] = row;
  INFO(from << " -> " << to);
  auto const error = document_error([&, from = from, to = to] { parse_limit_set(with(small, from, to), "s"); });
  CHECK(error.id() == id);
  CHECK(error.path() == path);
}

TEST_CASE("every number of the demo units' sheets comes out of a pocket calculator", "[documents][limits]") {
  auto const check = [](LimitSheet const& sheet, std::string const& rule, std::optional<double> lower,
                        std::optional<double> upper, std::string const& how) {
    INFO(rule);
    auto const& found = limit(sheet, rule);
    CHECK(found.lower.has_value() == lower.has_value());
    CHECK(found.upper.has_value() == upper.has_value());
    if (lower && found.lower) CHECK(*found.lower == Approx(*lower).epsilon(1e-12));
    if (upper && found.upper) CHECK(*found.upper == Approx(*upper).epsilon(1e-12));
    CHECK_THAT(found.origin, Catch::Contains(how));
  };
  auto const single = sheet_of(demo("single-phase-pad-50kva"));
  check(single, "ratio-tolerance", -0.5, 0.5, "one of 36 low-voltage turns is 2.778 %, more than the tolerance");
  check(single, "factory-one-turn", -50.0 / 1080.0, 50.0 / 1080.0, "0.5 of it is 0.0463 %");
  check(single, "factory-one-turn", -50.0 / 1080.0, 50.0 / 1080.0, "at most 0.333 of a turn, 0.03086 %");
  check(single, "no-load-loss-tolerance", {}, 99.0, "declared no-load loss 90 W + 10 % = 99 W");
  check(single, "total-loss-tolerance", {}, 689.0, "declared total loss 650 W + 6 % = 689 W");
  check(single, "induced-level", 465.6, 494.4, "2 x 240 V = 480 V, held within -3 % and +3 %");
  check(single, "applied-level-hv", 32.98, 35.02, "high-voltage winding = 34 kV");
  auto const three = sheet_of(demo("three-phase-pad-500kva-dyn1"));
  check(three, "ratio-tolerance", -0.5, 0.5, "one of 24 low-voltage turns is 4.167 %");
  check(three, "displacement", 20.0, 40.0, "clock number x 30 = 30 degrees, within 10");
  check(three, "impedance-tolerance", 4.1625, 4.8375, "declared impedance 4.5 % - 7.5 % = 4.1625 %");
  check(three, "impedance-tolerance", 4.1625, 4.8375, "declared impedance 4.5 % + 7.5 % = 4.8375 %");
  check(three, "total-loss-tolerance", {}, 4950.2, "declared total loss 4670 W + 6 % = 4950.2 W");
  // A turn of many is less than the tolerance: no exception.
  auto unit = demo("single-phase-pad-50kva");
  unit.lv.turns = 250;
  check(sheet_of(unit), "ratio-tolerance", -0.5, 0.5, "one of 250 low-voltage turns is 0.4 %: no whole-turn exception");
  // IEC: the lower of 0.5 % and a tenth of the declared impedance.
  unit.standard = StandardFamily::iec;
  check(sheet_of(unit), "ratio-tolerance", -0.22, 0.22, "0.1 x declared impedance 2.2 % = 0.22 %");
}
