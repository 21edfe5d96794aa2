// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <tuple>

#include "documents_support.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;

namespace {
std::string const& single() {
  static auto const text = source_file("sim/demo/units/single-phase-pad-50kva.json");
  return text;
}
std::string const& three() {
  static auto const text = source_file("sim/demo/units/three-phase-pad-500kva-dyn1.json");
  return text;
}
/// A grounded-wye unit made of the three-phase one.
std::string grounded_wye(
    std::string const& group = "YNyn0", std::string const& neutral = "own_bushing",
    std::string const& bushings = R"({"name": "H0", "kind": "stud"}, {"name": "X0", "kind": "spade"},)") {
  auto text = with(three(), "\"Dyn1\"", "\"" + group + "\"");
  text = with(text, "\"hv_neutral\": \"none\"", "\"hv_neutral\": \"" + neutral + "\"");
  text = with(text, "\"lv_neutral\": \"own_bushing\"", "\"lv_neutral\": \"" + neutral + "\"");
  text = with(text, "\"turns\": 1080, ", "\"turns\": 624, ");
  text = with(text, "{\"name\": \"X0\", \"kind\": \"spade\"},", bushings);
  text = with(text, "\"applied_kv\": 34, ", "");
  return with(text, "\"applied_kv\": 10, ", "");
}
}  // namespace

TEST_CASE("every demo unit is accepted, says that it is invented, and is written back as the same unit",
          "[documents][unit]") {
  int units = 0;
  for (auto const& entry : std::filesystem::directory_iterator(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units")) {
    if (entry.path().extension() != ".json") continue;
    INFO(entry.path().filename());
    auto const unit = read_unit(entry.path().string());
    CHECK_THAT(unit.note, Catch::Contains("nvented"));
    auto const text = write_unit(unit);
    CHECK(write_unit(parse_unit(text, "again")) == text);
    ++units;
  }
  CHECK(units >= 2);
}

TEST_CASE("a unit's numbers arrive in their units", "[documents][unit]") {
  auto const unit = parse_unit(single(), "t.json");
  CHECK(unit.serial == "DEMO-1P-0050");
  CHECK(unit.rated_power.in(volt_amperes) == 50000.0);
  CHECK(unit.hv.rated.in(kilovolts) == 7.2);
  CHECK(unit.hv.taps.size() == 5);
  CHECK(unit.hv.capacitance_to_earth->in(farads) == Approx(1.5e-9));
  CHECK(unit.guarantees.no_load_loss->in(watts) == 90.0);
  CHECK(unit.reference.load.in(celsius) == 85.0);
  CHECK(unit.rated_line_current(unit.lv).in(amperes) == Approx(208.333).epsilon(1e-5));
  CHECK(unit.lead_placement == LeadPlacement::additive);
  CHECK(unit.lv_form == LowVoltageForm::center_tapped);
}

TEST_CASE("numbers of a unit survive writing and reading to the last bit", "[documents][unit]") {
  for (char const* kva : {"37.5", "112.5", "0.1", "33.3", "1e-3", "4999.999999999999", "166.66666666666669"}) {
    for (char const* nanofarad : {"1.1", "0.3", "7.7", "123.456789"}) {
      auto text = with(single(), "\"rated_kva\": 50", std::string("\"rated_kva\": ") + kva);
      text = with(text, "\"capacitance_nf\": 1.5", std::string("\"capacitance_nf\": ") + nanofarad);
      auto const unit = parse_unit(text, "a");
      auto const again = parse_unit(write_unit(unit), "b");
      CHECK(again.rated_power.in(volt_amperes) == unit.rated_power.in(volt_amperes));
      CHECK(again.hv.capacitance_to_earth->in(farads) == unit.hv.capacitance_to_earth->in(farads));
    }
  }
}

TEST_CASE("a unit document that is wrong is refused by id and path", "[documents][unit]") {
  using Row = std::tuple<std::string, std::string, std::string, std::string>;  // replaced, by, id, path
  auto const row = GENERATE(values<Row>({
      {"\"rated_kva\": 50", "\"rated_kva\": 0", "document.out-of-range", "/rated_kva"},
      {"\"rated_kva\": 50", "\"rated_kva\": -50", "document.out-of-range", "/rated_kva"},
      {"\"rated_kva\": 50", "\"rated_kva\": \"fifty\"", "document.wrong-type", "/rated_kva"},
      {"\"rated_kva\": 50,", "", "document.missing-key", "/rated_kva"},
      {"\"rated_kva\": 50", "\"rated_kav\": 50", "document.missing-key", "/rated_kva"},
      {"\"rated_hz\": 60", "\"rated_hz\": 0", "document.out-of-range", "/rated_hz"},
      {"\"phases\": 1", "\"phases\": 2", "document.out-of-range", "/phases"},
      {"\"phases\": 1", "\"phases\": 3", "unit.phases", "/lead_placement"},
      {"\"phases\": 1", "\"phases\": 1.5", "document.wrong-type", "/phases"},
      {"\"serial\": \"DEMO-1P-0050\"", "\"serial\": \"\"", "document.out-of-range", "/serial"},
      {"\"serial\": \"DEMO-1P-0050\"", "\"serial\": 50", "document.wrong-type", "/serial"},
      {"2026-03-02", "2026-02-30", "document.out-of-range", "/manufactured_on"},
      {"2026-03-02", "2.3.2026", "document.out-of-range", "/manufactured_on"},
      {"\"manufactured_on\": \"2026-03-02\",", "", "document.missing-key", "/manufactured_on"},
      {"\"Ii0\"", "\"Ii3\"", "unit.vector-group", "/vector_group"},
      {"\"Ii0\"", "\"Dyn2\"", "unit.vector-group", "/vector_group"},
      {"\"Ii0\"", "\"Qy1\"", "unit.vector-group", "/vector_group"},
      {"\"Ii0\"", "\"Dyn12\"", "unit.vector-group", "/vector_group"},
      {"\"Ii0\"", "\"Dyn1\"", "unit.phases", "/vector_group"},
      {"\"lead_placement\": \"additive\",", "", "document.missing-key", "/lead_placement"},
      {"\"additive\"", "\"aditive\"", "document.unknown-word", "/lead_placement"},
      {"\"core_form\": \"shell\"", "\"core_form\": \"three_limb\"", "unit.phases", "/core_form"},
      {"\"metal\": \"copper\"", "\"metal\": \"aluminium\"", "document.unknown-word", "/hv/metal"},
      {"\"load_c\": 85, ", "", "document.missing-key", "/reference/load_c"},
      {"\"rated_v\": 7200", "\"rated_v\": 200", "unit.voltages", "/lv/rated_v"},
      {"\"turns\": 1080", "\"turns\": 1060", "unit.turns", "/hv/turns"},
      {"\"turns\": 1080", "\"turns\": 0", "document.out-of-range", "/hv/turns"},
      {"\"position\": 2, \"percent\": 2.5", "\"position\": 2, \"percent\": \"five\"", "document.wrong-type",
       "/hv/taps/1/percent"},
      {"\"position\": 2, \"percent\": 2.5", "\"position\": 2, \"percent\": 5", "unit.taps-order", "/hv/taps/1/percent"},
      {"\"position\": 2, \"percent\": 2.5", "\"position\": 1, \"percent\": 2.5", "unit.taps-order",
       "/hv/taps/1/position"},
      {"\"rated_tap\": 3", "\"rated_tap\": 7", "unit.tap-missing", "/hv/rated_tap"},
      {"\"rated_tap\": 3", "\"rated_tap\": 2", "unit.rated-tap", "/hv/rated_tap"},
      {"\"rated_tap\": 3", "\"rated_tp\": 3", "document.missing-key", "/hv/rated_tap"},
      {"\"lv_form\": \"center_tapped\"", "\"lv_form\": \"mid_tapped_leg\"", "unit.lv-form", "/lv_form"},
      {"\"lv_form\": \"center_tapped\"", "\"lv_form\": \"plain\"", "unit.lv-form", "/interlaced"},
      {"\"hv_neutral\": \"none\"", "\"hv_neutral\": \"inner\"", "unit.neutral", "/hv_neutral"},
      {"\"hv_neutral\": \"none\"", "\"hv_neutral\": \"on_tank\"", "unit.applied-impossible", "/hv/applied_kv"},
      {"\"hv_neutral\": \"none\"", "\"hv_neutral\": \"none\", \"neutral_insulation_kv\": 10", "unit.neutral",
       "/neutral_insulation_kv"},
      {"{\"name\": \"H2\", \"kind\": \"well\"},", "", "unit.bushings", "/bushings"},
      {"{\"name\": \"H2\", \"kind\": \"well\"}", "{\"name\": \"H3\", \"kind\": \"well\"}", "unit.bushings",
       "/bushings/1/name"},
      {"{\"name\": \"H2\", \"kind\": \"well\"}", "{\"name\": \"H1\", \"kind\": \"well\"}", "unit.bushings",
       "/bushings/1/name"},
      {"\"terminal\": \"X2\"", "\"terminal\": \"X4\"", "unit.accessory", "/straps/0/terminal"},
      {"\"shipped_state\": \"on\"", "\"shipped_state\": \"perhaps\"", "unit.accessory", "/straps/0/shipped_state"},
      {"\"no_load_percents\": [100]", "\"no_load_percents\": [90, 110]", "unit.options", "/options/no_load_percents"},
      {"\"no_load_percents\": [100]", "\"stages\": [\"before_shipping\", \"before_closing\"]", "unit.options",
       "/options/stages/1"},
      {"\"no_load_percents\": [100]", "\"stages\": [\"before_shiping\"]", "unit.options", "/options/stages/0"},
      {"\"no_load_percents\": [100]", "\"stages\": [\"before_shipping\", \"routine\"]", "unit.options",
       "/options/stages/1"},
      {"\"impedance_percent\": 2.2", "\"impedance_percent\": 0", "document.out-of-range",
       "/guarantees/impedance_percent"},
      {"\"winder\": \"W-DEMO-2\"", "\"wnider\": \"W-DEMO-2\"", "document.unknown-key", "/genealogy/wnider"},
      {"\"cooling\": \"ONAN\"", "\"cooling\": \"ONAN\", \"ownr\": 1", "document.unknown-key", "/ownr"},
      {"\"metal\": \"aluminum\"", "\"metal\": \"aluminum\", \"rated_tap\": 1", "document.unknown-key", "/lv/rated_tap"},
  }));
  auto const& [from, to, id, path] = row;
  INFO(from << " -> " << to);
  auto const error = document_error([&, from = from, to = to] { parse_unit(with(single(), from, to), "t.json"); });
  CHECK(error.id() == id);
  CHECK(error.path() == path);
  CHECK_THAT(error.what(), Catch::StartsWith("t.json: " + path + ": "));
}

TEST_CASE("a three-phase unit that contradicts its vector group is refused", "[documents][unit]") {
  auto const check = [](std::string const& text, std::string const& id, std::string const& path) {
    auto const error = document_error([&] { parse_unit(text, "t"); });
    CHECK(error.id() == id);
    CHECK(error.path() == path);
  };
  check(with(three(), "\"lv_neutral\": \"own_bushing\"", "\"lv_neutral\": \"none\""), "unit.neutral", "/lv_neutral");
  check(with(three(), "\"Dyn1\"", "\"Dy1\""), "unit.neutral", "/lv_neutral");
  check(with(three(), "\"hv_neutral\": \"none\"", "\"hv_neutral\": \"own_bushing\""), "unit.neutral", "/hv_neutral");
  check(with(three(), "\"lv_form\": \"plain\"", "\"lv_form\": \"center_tapped\""), "unit.lv-form", "/lv_form");
  check(with(three(), "\"core_form\": \"three_limb\"", "\"core_form\": \"shell\""), "unit.phases", "/core_form");
  check(with(three(), "{\"name\": \"X0\", \"kind\": \"spade\"},", ""), "unit.bushings", "/bushings");
  check(with(three(), "\"vector_group\": \"Dyn1\"", "\"vector_group\": \"Dyn1\", \"lead_placement\": \"additive\""),
        "unit.phases", "/lead_placement");
}

TEST_CASE("an applied level that nobody can apply is refused", "[documents][unit]") {
  auto const joined = [](std::string const& text) {
    return with(text, "\"bil_kv\": 95, ", "\"bil_kv\": 95, \"applied_kv\": 34, ");
  };
  CHECK_NOTHROW(parse_unit(grounded_wye(), "t"));
  auto const with_bushing = grounded_wye("YNyn0", "joined", R"({"name": "H0X0", "kind": "stud"},)");
  auto const repaired = with(with_bushing, "\"terminal\": \"X0\"", "\"terminal\": \"H0X0\"");
  CHECK_NOTHROW(parse_unit(repaired, "t"));
  auto error = document_error([&] { parse_unit(joined(repaired), "t"); });
  CHECK(error.id() == "unit.applied-impossible");
  CHECK_THAT(error.what(), Catch::Contains("joined"));
  // A neutral of its own bears the level only if it is insulated for it.
  error = document_error([&] { parse_unit(joined(grounded_wye()), "t"); });
  CHECK(error.id() == "unit.applied-impossible");
  CHECK_THAT(error.what(), Catch::Contains("neutral_insulation_kv"));
  auto const insulated = joined(grounded_wye());
  CHECK_NOTHROW(parse_unit(with(insulated, "\"lv_neutral\": \"own_bushing\"",
                                "\"lv_neutral\": \"own_bushing\", \"neutral_insulation_kv\": 34"),
                           "t"));
  error = document_error(
      [&] { parse_unit(with(grounded_wye(), "\"lv_neutral\": \"own_bushing\"", "\"lv_neutral\": \"joined\""), "t"); });
  CHECK(error.id() == "unit.neutral");
}

TEST_CASE("a dual voltage must contain the rated one", "[documents][unit]") {
  auto const dual = [](std::string const& object) {
    return with(single(), "\"rated_v\": 7200", "\"rated_v\": 7200, \"dual_voltage\": " + object);
  };
  CHECK_NOTHROW(parse_unit(dual(R"({"higher_v": 14400, "lower_v": 7200, "ordered_position": 2})"), "t"));
  CHECK(document_error([&] {
          parse_unit(dual(R"({"higher_v": 14400, "lower_v": 7200, "ordered_position": 1})"), "t");
        }).id() == "unit.voltages");
  CHECK(document_error([&] {
          parse_unit(dual(R"({"higher_v": 7200, "lower_v": 7200, "ordered_position": 1})"), "t");
        }).path() == "/hv/dual_voltage/lower_v");
}
