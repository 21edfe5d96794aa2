// SPDX-License-Identifier: MIT
// The families that a bench of distribution transformers meets (common practice, no source), as patches of the demo
// units: each must be describable, come back from writing, and have a limit sheet.
#include <catch2/catch.hpp>
#include <cmath>
#include <sstream>
#include <string>

#include "documents_support.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;
using namespace benchward::test;
using documents::Json;

namespace {

struct Family {
  char const* name;
  char const* demo;
  char const* patch;     ///< RFC 7396: null takes a key out
  char const* bushings;  ///< names, space between
  double induced_v;      ///< level of the induced test on the low-voltage winding
};

Json document_of(Family const& family) {
  auto json = documents::parse_json(source_file(std::string("sim/demo/units/") + family.demo + ".json"), family.demo);
  json.merge_patch(documents::parse_json(family.patch, family.name));
  json["bushings"] = Json::array();
  std::istringstream names(family.bushings);
  for (std::string name; names >> name;) json["bushings"].push_back({{"name", name}, {"kind", "stud"}});
  return json;
}

}  // namespace

TEST_CASE("every family of units can be described and has a limit sheet", "[documents][unit]") {
  auto const family = GENERATE(values<Family>({
      {"one high-voltage bushing, the other end on the tank", "single-phase-pad-50kva",
       R"({"hv_neutral": "on_tank", "hv": {"applied_kv": null}})", "H1 X1 X2 X3", (1000.0 + 3.46 * 7200.0) / 30.0},
      {"sections for series or parallel, not interlaced", "single-phase-pad-50kva",
       R"({"lv_form": "series_parallel", "interlaced": false, "lv": {"rated_v": 480}, "straps": []})",
       "H1 H2 X1 X2 X3 X4", 960.0},
      {"one low voltage", "single-phase-pad-50kva",
       R"({"lv_form": "plain", "interlaced": false, "straps": [], "vector_group": "Ii6"})", "H1 H2 X1 X2", 480.0},
      {"dual high voltage with an outside switch", "single-phase-pad-50kva",
       R"({"hv": {"dual_voltage": {"higher_v": 7200, "lower_v": 2400, "ordered_position": 1}}})", "H1 H2 X1 X2 X3",
       480.0},
      {"overhead, low turns exact", "single-phase-pad-50kva",
       R"({"construction": "overhead", "arresters": [{"name": "arrester", "terminal": "H1", "shipped_state": "on"}]})",
       "H1 H2 X1 X2 X3", 480.0},
      {"submersible with a low-voltage breaker", "three-phase-pad-500kva-dyn1",
       R"({"construction": "submersible", "breaker": {"name": "breaker", "shipped_state": "closed"}})",
       "H1 H2 H3 X0 X1 X2 X3", 960.0},
      {"wye-wye, each neutral its own bushing, five limbs", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "YNyn0", "hv_neutral": "own_bushing", "core_form": "five_limb",
           "hv": {"turns": 624, "applied_kv": 34}, "neutral_insulation_kv": 34})",
       "H0 H1 H2 H3 X0 X1 X2 X3", 960.0},
      {"wye-wye, neutrals joined in one bushing", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "YNyn0", "hv_neutral": "joined", "lv_neutral": "joined", "core_form": "five_limb",
           "hv": {"turns": 624, "applied_kv": null}, "lv": {"applied_kv": null},
           "straps": [{"name": "neutral strap", "terminal": "H0X0", "shipped_state": "on"}]})",
       "H0X0 H1 H2 H3 X1 X2 X3", (1000.0 + 3.46 * 12470.0 / std::sqrt(3.0)) * 480.0 / (12470.0 / std::sqrt(3.0))},
      {"wye with an inner star point", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Yyn0", "hv_neutral": "inner", "hv": {"turns": 624}})", "H1 H2 H3 X0 X1 X2 X3", 960.0},
      {"delta-delta with a leg tapped in the middle", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Dd0", "lv_neutral": "none", "lv_form": "mid_tapped_leg", "straps": [], "lv": {"turns": 42}, "hv": {"turns": 1091}})",
       "H1 H2 H3 X1 X2 X3 X4", 960.0},
      {"wye-delta with no neutral", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Yd1", "hv_neutral": "inner", "lv_neutral": "none", "straps": [], "lv": {"turns": 40}, "hv": {"turns": 600}})",
       "H1 H2 H3 X1 X2 X3", 960.0},
      {"wye-zigzag", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Yzn5", "hv_neutral": "inner", "lv": {"turns": 48}, "hv": {"turns": 1080}})",
       "H1 H2 H3 X0 X1 X2 X3", 960.0},
      {"delta-zigzag", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Dzn0", "lv": {"turns": 24}, "hv": {"turns": 935}})", "H1 H2 H3 X0 X1 X2 X3", 960.0},
      {"50 Hz to IEC", "three-phase-pad-500kva-dyn1",
       R"({"vector_group": "Dyn11", "standard": "iec", "rated_hz": 50, "rated_kva": 400, "reference": {"load_c": 75},
           "hv": {"rated_v": 20000, "turns": 1732, "applied_kv": 50, "bil_kv": 125}, "lv": {"rated_v": 400, "turns": 20, "applied_kv": 3}})",
       "H1 H2 H3 X0 X1 X2 X3", 800.0},
  }));
  INFO(family.name);
  Unit unit;
  try {
    unit = parse_unit(document_of(family).dump(), family.name);
  } catch (DocumentError const& error) {
    FAIL(error.what());
  }
  CHECK(write_unit(parse_unit(write_unit(unit), "again")) == write_unit(unit));
  auto const sheet = work_out(builtin_limit_set(unit.standard), unit);
  CHECK(sheet.lines.size() > 12);
  auto const* level = sheet.line("induced", "level_v");
  REQUIRE(level);
  CHECK(*level->nominal == Approx(family.induced_v));
  bool const applied_hv = sheet.line("applied", "level_kv", "hv") != nullptr;
  CHECK(applied_hv == unit.hv.applied_kv.has_value());
}
