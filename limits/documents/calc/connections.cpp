// SPDX-License-Identifier: MIT
#include <array>

#include "limits/correct/polarity.hpp"
#include "limits/correct/resistance.hpp"
#include "limits/documents/calc/topic.hpp"
#include "limits/documents/unit_words.hpp"
#include "limits/unit/ratio_plan.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward::documents {
namespace {

void resistance_at_temperature(ObjectReader& in, JsonWriter& out) {
  double const resistance = in.number("resistance_ohm", "a number of ohms", above(0.0));
  double const measured_at = in.number("measured_at_c", "a number of degrees Celsius");
  double const reference = in.number("reference_c", "a number of degrees Celsius");
  auto const metal = in.word("metal", words::metals);
  auto const standard = in.word_or("standard", StandardFamily::ieee, words::standards);
  in.finish();
  out.field("resistance_ohm", resistance_at(resistance, measured_at, reference, inferred_zero_c(metal, standard)));
}

void phases(ObjectReader& in, JsonWriter& out) {
  constexpr words::List<ThreePhaseConnection, 2> connections{
      {{"wye", ThreePhaseConnection::wye}, {"delta", ThreePhaseConnection::delta}}};
  auto const list = in.numbers("line_to_line_ohm", "a number of ohms", above(0.0));
  auto const connection = in.word("connection", connections);
  in.finish();
  if (list.size() != 3) {
    in.fail("document.out-of-range", "line_to_line_ohm",
            "expected three numbers, of 1-2, 2-3 and 3-1, got " + std::to_string(list.size()));
  }
  auto const found = phase_resistances<double>({list[0], list[1], list[2]}, connection);
  out.field("phase_ohm", std::vector<double>(found.phase_ohm.begin(), found.phase_ohm.end()));
  out.field("total_ohm", found.total_ohm).field("unbalance_percent", found.unbalance_percent);
}

void ratio(ObjectReader& in, JsonWriter& out) {
  auto const group = in.text("vector_group", "a vector group, e.g. \"Dyn1\"");
  double const hv = in.number("hv_rated_v", "a number of volts, line to line", above(0.0));
  double const lv = in.number("lv_rated_v", "a number of volts, line to line", above(0.0));
  double const tap = in.number_or("tap_percent", 0.0, "a number of percent", between(-50.0, 50.0));
  double const measured = in.number("measured_ratio", "a number", above(0.0));
  in.finish();
  double const expected = expected_pair_ratio(parse_vector_group(group), hv, lv, tap);
  out.field("expected_turns_ratio", expected).field("error_percent", 100.0 * (measured - expected) / expected);
}

void phase_relation(ObjectReader& in, JsonWriter& out) {
  auto const notation = in.text("vector_group", "a vector group, e.g. \"Dyn1\"");
  in.finish();
  auto const group = parse_vector_group(notation);
  out.field("displacement_deg", group.displacement_degrees()).key("pairs").begin_list();
  for (auto const& pair : phase_pairs(group)) {
    out.begin_object().field("lv", pair.lv).field("hv", pair.hv).field("factor", pair.factor);
    out.field("short", pair.shorted).field("feed", pair.feed).end_object();
  }
  out.end_list();
}

void polarity(ObjectReader& in, JsonWriter& out) {
  constexpr words::List<Join, 2> joins{{{"adjacent", Join::adjacent}, {"like_marked", Join::like_marked}}};
  auto const join = in.word("join", joins);
  double const applied = in.number("applied_v", "a number of volts", above(0.0));
  double const expected = in.number("expected_lv_v", "a number of volts", above(0.0));
  double const across = in.number("across_v", "a number of volts", at_least(0.0));
  in.finish();
  out.field(join == Join::adjacent ? "polarity" : "marking",
            to_text(polarity_finding(join, applied, expected, across)));
}

}  // namespace

std::vector<Topic> connection_topics() {
  return {
      {{"resistance-at-temperature",
        "winding resistance carried to another temperature",
        "10 CFR 431 subpart K appendix A, equation 3-6 (constants read, form derived); IEC constant 235 from a "
        "secondary source",
        {{"resistance_ohm", "ohm", "required"},
         {"measured_at_c", "degC", "required"},
         {"reference_c", "degC", "required"},
         {"metal", "words: copper, aluminum", "required"},
         {"standard", "words: ieee, iec", "ieee"}},
        {{"resistance_ohm", "ohm", "always"}}},
       resistance_at_temperature},
      {{"phase-resistances",
        "phase resistances out of three readings between lines, no balance assumed",
        "10 CFR 431 subpart K appendix A, 3.4.1 (g) to (i), for the total; phases solved, derived",
        {{"line_to_line_ohm", "list of ohm: 1-2, 2-3, 3-1", "required"},
         {"connection", "words: wye, delta", "required"}},
        {{"phase_ohm", "list of ohm: wye legs 1, 2, 3; delta 1-2, 2-3, 3-1", "always"},
         {"total_ohm", "ohm", "always"},
         {"unbalance_percent", "%", "always"}}},
       phases},
      {{"ratio",
        "expected ratio of a pair, and the error of a measured one",
        "derived from the vector group's phasors; IEC 60076-1 clock notation (secondary source)",
        {{"vector_group", "text", "required"},
         {"hv_rated_v", "V, line to line", "required"},
         {"lv_rated_v", "V, line to line", "required"},
         {"tap_percent", "%, + is more high-voltage turns", "0"},
         {"measured_ratio", "1, of the pair", "required"}},
        {{"expected_turns_ratio", "1", "always"}, {"error_percent", "%", "always"}}},
       ratio},
      {{"phase-relation",
        "displacement and measuring pairs of a vector group",
        "derived from the vector group's phasors; IEC 60076-1 clock notation (secondary source)",
        {{"vector_group", "text", "required"}},
        {{"displacement_deg", "deg, low voltage lags", "always"},
         {"pairs/lv", "terminals", "always"},
         {"pairs/hv", "terminals", "always"},
         {"pairs/factor", "1", "always"},
         {"pairs/short", "terminals", "where needed"},
         {"pairs/feed", "terminals", "where needed"}}},
       phase_relation},
      {{"polarity",
        "what the alternating-voltage polarity test says",
        "derived; agrees with the extract of IEEE C57.12.90 clause 6 that was read",
        {{"join", "words: adjacent, like_marked", "required"},
         {"applied_v", "V", "required"},
         {"expected_lv_v", "V, at that applied voltage", "required"},
         {"across_v", "V", "required"}},
        {{"polarity", "words: additive, subtractive, undetermined", "join adjacent"},
         {"marking", "words: right, wrong, undetermined", "join like_marked"}}},
       polarity},
  };
}

}  // namespace benchward::documents
