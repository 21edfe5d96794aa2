// SPDX-License-Identifier: MIT
#include "limits/documents/limit_set_document.hpp"

#include <algorithm>
#include <array>
#include <set>

#include <fmt/format.h>
#include <openssl/evp.h>

#include "limits/documents/builtin_limit_sets.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/result_words.hpp"

namespace benchward {
namespace {

using documents::above;
using documents::at_least;
using documents::between;
using documents::Json;
using documents::ObjectReader;

constexpr words::List<std::string_view, 3> decision_words{
    {{"simple_acceptance", "simple_acceptance"}, {"guard_band", "guard_band"}, {"specific_risk", "specific_risk"}}};
constexpr words::List<std::string_view, 5> declared_words{{{"no_load_loss_w", "no_load_loss_w"},
                                                           {"load_loss_w", "load_loss_w"},
                                                           {"total_loss_w", "total_loss_w"},
                                                           {"impedance_percent", "impedance_percent"},
                                                           {"exciting_current_percent", "exciting_current_percent"}}};

enum class Kind {
  bound,
  tolerance,
  table,
  range,
  ratio,
  turn,
  displacement,
  applied_level,
  induced_level,
  induced_duration
};
constexpr words::List<Kind, 10> kind_words{{{"bound", Kind::bound},
                                            {"tolerance", Kind::tolerance},
                                            {"table", Kind::table},
                                            {"range", Kind::range},
                                            {"ratio", Kind::ratio},
                                            {"turn", Kind::turn},
                                            {"displacement", Kind::displacement},
                                            {"applied_level", Kind::applied_level},
                                            {"induced_level", Kind::induced_level},
                                            {"induced_duration", Kind::induced_duration}}};

RuleCondition read_condition(std::optional<ObjectReader> reader) {
  RuleCondition when;
  if (!reader) return when;
  if (auto const phases = reader->optional_integer("phases", "1 or 3", 1, 3)) when.phases = static_cast<int>(*phases);
  when.rated_hz = reader->optional_number("rated_hz", "a number of hertz", above(0.0));
  when.kva_from = reader->optional_number("kva_from", "a number of kVA", at_least(0.0));
  when.kva_to = reader->optional_number("kva_to", "a number of kVA", at_least(0.0));
  when.hv_v_above = reader->optional_number("hv_v_above", "a number of volts", at_least(0.0));
  when.hv_v_to = reader->optional_number("hv_v_to", "a number of volts", at_least(0.0));
  when.lv_v_to = reader->optional_number("lv_v_to", "a number of volts", at_least(0.0));
  when.standard = reader->optional_word("standard", words::standards);
  if (reader->has("submersible")) when.submersible = reader->boolean("submersible");
  if (reader->has("dual_hv")) when.dual_hv = reader->boolean("dual_hv");
  if (reader->has("dual_lv")) when.dual_lv = reader->boolean("dual_lv");
  when.manufactured_from = reader->optional_date("manufactured_from");
  when.manufactured_until = reader->optional_date("manufactured_until");
  reader->finish();
  return when;
}

DecisionRule read_decision(std::optional<ObjectReader> reader) {
  DecisionRule decision;
  if (!reader) return decision;
  decision.name = std::string(reader->word("name", decision_words));
  decision.guard_factor = reader->number_or("guard_factor", 1.0, "a number", between(0.0, 10.0));
  decision.risk = reader->number_or("risk", 0.025, "a probability", documents::above_up_to(0.0, 0.5));
  decision.prior = reader->text_or("prior", "flat");
  if (decision.prior != "flat") {
    reader->fail("document.unknown-word", "prior", "expected \"flat\"; a prior of a process comes with its own data");
  }
  decision.conditional_pass = reader->word_or("conditional_pass", Disposition::release, words::dispositions);
  reader->finish();
  return decision;
}

/// [[kVA, value], ...], kVA strictly rising.
std::vector<std::pair<double, double>> read_rows(ObjectReader& block) {
  auto const& list = block.raw("rows", "a list of [kVA, value]");
  std::vector<std::pair<double, double>> rows;
  auto const wrong = [&](std::size_t i, std::string const& got) {
    block.fail("document.wrong-type", fmt::format("rows/{}", i), "expected [kVA, value], two numbers, got " + got);
  };
  if (!list.is_array() || list.empty()) block.fail("document.wrong-type", "rows", "expected a list of [kVA, value]");
  for (std::size_t i = 0; i < list.size(); ++i) {
    auto const& row = list[i];
    if (!row.is_array() || row.size() != 2 || !row[0].is_number() || !row[1].is_number())
      wrong(i, documents::shown(row));
    rows.emplace_back(row[0].get<double>(), row[1].get<double>());
    if (i > 0 && !(rows[i].first > rows[i - 1].first)) {
      block.fail("limits.rows-order", "rows", fmt::format("kVA must rise strictly: row {} does not", i));
    }
  }
  return rows;
}

RegulationTable read_table(ObjectReader reader) {
  RegulationTable table;
  table.name = reader.text("name", "a name");
  table.unit = reader.text("unit", "a unit");
  table.source = reader.text("source", "document and clause");
  for (auto& block_reader : reader.objects("blocks")) {
    TableBlock block;
    block.clause = block_reader.text("clause", "the clause or table number");
    block.from = block_reader.date("from");
    block.until = block_reader.optional_date("until");
    if (auto const phases = block_reader.optional_integer("phases", "1 or 3", 1, 3))
      block.phases = static_cast<int>(*phases);
    if (block_reader.has("submersible")) block.submersible = block_reader.boolean("submersible");
    block.holds_below_first_row = block_reader.boolean_or("holds_below_first_row", false);
    block.extrapolates = block_reader.boolean_or("extrapolates", false);
    block.rows = read_rows(block_reader);
    block_reader.finish();
    table.blocks.push_back(std::move(block));
  }
  reader.finish();
  return table;
}

ToleranceRule read_tolerance(ObjectReader& reader) {
  ToleranceRule rule;
  rule.declared = std::string(reader.word("declared", declared_words));
  for (auto& band_reader : reader.objects("bands")) {
    ToleranceRule::Band band;
    band.declared_from = band_reader.number_or("declared_from", 0.0, "a number", at_least(0.0));
    band.from_included = band_reader.boolean_or("from_included", true);
    band.plus_percent = band_reader.optional_number("plus_percent", "a number of percent", between(0.0, 1000.0));
    band.minus_percent = band_reader.optional_number("minus_percent", "a number of percent", between(0.0, 100.0));
    if (!band.plus_percent && !band.minus_percent) {
      band_reader.fail("limits.bound", "",
                       "expected `plus_percent`, `minus_percent` or both: without them nothing is limited");
    }
    band_reader.finish();
    if (!rule.bands.empty() && band.declared_from < rule.bands.back().declared_from) {
      band_reader.fail("limits.rows-order", "declared_from", "bands must rise");
    }
    rule.bands.push_back(band);
  }
  if (rule.bands.empty()) reader.fail("limits.bound", "bands", "expected at least one band");
  return rule;
}

TableRule read_table_rule(ObjectReader& reader) {
  TableRule rule;
  rule.table = reader.text("table", "the name of a table of this set");
  constexpr words::List<bool, 2> sides{{{"lower", true}, {"upper", false}}};
  rule.lower = reader.word("side", sides);
  for (auto& correction_reader : reader.optional_objects("corrections")) {
    TableRule::Correction correction;
    correction.name = correction_reader.text("name", "a name");
    correction.percent = correction_reader.number("percent", "a number of percent", between(-100.0, 100.0));
    correction.when = read_condition(correction_reader.optional_object("when"));
    correction_reader.finish();
    rule.corrections.push_back(std::move(correction));
  }
  return rule;
}

RangeRule read_range(ObjectReader& reader) {
  RangeRule rule;
  for (auto& row_reader : reader.objects("rows")) {
    RangeRule::Row row;
    row.phases = static_cast<int>(row_reader.integer("phases", "1 or 3", 1, 3));
    row.kva_from = row_reader.number("kva_from", "a number of kVA", at_least(0.0));
    row.kva_to = row_reader.number("kva_to", "a number of kVA", above(row.kva_from));
    row.to_included = row_reader.boolean_or("to_included", false);
    row.lower = row_reader.number("lower", "a number");
    row.upper = row_reader.number("upper", "a number", at_least(row.lower));
    row_reader.finish();
    rule.rows.push_back(row);
  }
  return rule;
}

BoundRule read_bound(ObjectReader& reader) {
  BoundRule rule;
  rule.lower = reader.optional_number("lower", "a number");
  rule.upper = reader.optional_number("upper", "a number");
  if (!rule.lower && !rule.upper) reader.fail("limits.bound", "", "expected `lower`, `upper` or both");
  if (rule.lower && rule.upper && *rule.lower > *rule.upper) {
    reader.fail("limits.bound", "lower", "above `upper`: nothing could ever pass");
  }
  return rule;
}

InducedLevelRule read_induced_level(ObjectReader& reader) {
  InducedLevelRule rule;
  rule.minus_percent = reader.number("minus_percent", "a number of percent", between(0.0, 20.0));
  rule.plus_percent = reader.number("plus_percent", "a number of percent", between(0.0, 20.0));
  for (auto& ceiling_reader : reader.optional_objects("line_to_ground_ceilings")) {
    InducedLevelRule::Ceiling ceiling;
    ceiling.bil_kv = ceiling_reader.number("bil_kv", "a number of kilovolts", above(0.0));
    ceiling.kv = ceiling_reader.number("kv", "a number of kilovolts", above(0.0));
    ceiling_reader.finish();
    rule.line_to_ground_ceilings.push_back(ceiling);
  }
  return rule;
}

Rule read_rule(ObjectReader reader) {
  Rule rule;
  rule.id = reader.text("id", "a short name");
  rule.test = reader.text("test", "a routine test");
  rule.quantity = reader.text("quantity", "a quantity of its results");
  rule.at = reader.text_or("at", "");
  rule.unit = reader.text("unit", "a unit");
  rule.source = reader.text("source", "document and clause, \"common practice, no source\" or \"from memory\"");
  rule.edition = reader.text_or("edition", "");
  rule.history = reader.text_or("history", "");
  rule.warns_only = reader.boolean_or("warns_only", false);
  rule.decision = read_decision(reader.optional_object("decision"));
  rule.when = read_condition(reader.optional_object("when"));
  switch (reader.word("kind", kind_words)) {
    case Kind::bound:
      rule.kind = read_bound(reader);
      break;
    case Kind::tolerance:
      rule.kind = read_tolerance(reader);
      break;
    case Kind::table:
      rule.kind = read_table_rule(reader);
      break;
    case Kind::range:
      rule.kind = read_range(reader);
      break;
    case Kind::ratio: {
      RatioRule ratio;
      ratio.percent = reader.number("percent", "a number of percent", documents::above_up_to(0.0, 10.0));
      ratio.nearest_turn = reader.boolean_or("nearest_turn", true);
      ratio.impedance_share = reader.optional_number("impedance_share", "a fraction", documents::above_up_to(0.0, 1.0));
      rule.kind = ratio;
      break;
    }
    case Kind::turn: {
      TurnRule turn;
      turn.turns = reader.number("turns", "a fraction of a turn", documents::above_up_to(0.0, 10.0));
      turn.u_turns = reader.number("u_turns", "a fraction of a turn", documents::above_up_to(0.0, 10.0));
      rule.kind = turn;
      break;
    }
    case Kind::displacement:
      rule.kind =
          DisplacementRule{reader.number("within_deg", "a number of degrees", documents::above_up_to(0.0, 15.0))};
      break;
    case Kind::applied_level: {
      constexpr words::List<bool, 2> sides{{{"hv", true}, {"lv", false}}};
      AppliedLevelRule level;
      level.hv = reader.word("winding", sides);
      level.minus_percent = reader.number("minus_percent", "a number of percent", between(0.0, 20.0));
      level.plus_percent = reader.number("plus_percent", "a number of percent", between(0.0, 20.0));
      rule.kind = level;
      break;
    }
    case Kind::induced_level:
      rule.kind = read_induced_level(reader);
      break;
    case Kind::induced_duration:
      rule.kind = InducedDurationRule{reader.word("standard", words::standards)};
      break;
  }
  reader.finish();
  return rule;
}

std::vector<VerdictRow> read_verdicts(ObjectReader& reader) {
  std::vector<VerdictRow> rows;
  std::set<Verdict> seen;
  for (auto& row_reader : reader.objects("verdicts")) {
    VerdictRow row{row_reader.word("verdict", words::verdicts), row_reader.word("outcome", words::outcomes),
                   row_reader.word("disposition", words::dispositions)};
    row_reader.finish();
    if (!seen.insert(row.verdict).second) row_reader.fail("limits.verdicts", "verdict", "this verdict stands twice");
    bool const accepted = row.verdict == Verdict::pass || row.verdict == Verdict::conditional_pass;
    if (row.verdict == Verdict::fail && (row.outcome == Outcome::pass || row.disposition == Disposition::release)) {
      row_reader.fail("limits.verdicts", "", "a failed unit is neither PASS nor released");
    }
    if (!accepted && row.disposition == Disposition::release) {
      row_reader.fail("limits.verdicts", "disposition", "only a pass or a conditional pass may release");
    }
    rows.push_back(row);
  }
  if (rows.size() != 4 || seen.contains(Verdict::not_judged)) {
    reader.fail("limits.verdicts", "verdicts",
                "expected a row for each of pass, conditional pass, conditional fail, fail");
  }
  return rows;
}

void check_references(LimitSet const& set, ObjectReader const& reader) {
  std::set<std::string> ids, tables;
  for (std::size_t i = 0; i < set.tables.size(); ++i) {
    if (!tables.insert(set.tables[i].name).second) {
      reader.fail("limits.duplicate-id", fmt::format("tables/{}/name", i), "this name stands twice");
    }
  }
  for (std::size_t i = 0; i < set.rules.size(); ++i) {
    auto const& rule = set.rules[i];
    if (!ids.insert(rule.id).second)
      reader.fail("limits.duplicate-id", fmt::format("rules/{}/id", i), "this id stands twice");
    if (auto const* table = std::get_if<TableRule>(&rule.kind); table && !tables.contains(table->table)) {
      reader.fail("limits.no-such-table", fmt::format("rules/{}/table", i),
                  fmt::format("no table \"{}\" in this set; it has: {}", table->table, fmt::join(tables, ", ")));
    }
  }
}

}  // namespace

LimitSet parse_limit_set(std::string_view text, std::string const& name) {
  auto const json = documents::parse_json(text, name);
  ObjectReader reader(json, name);
  LimitSet set;
  set.hash = sha256_hex(text);
  set.name = reader.text("name", "a name");
  set.version = reader.text("version", "a version");
  set.note = reader.text_or("note", "");
  for (auto& entry : reader.optional_objects("history")) {
    entry.text("version", "a version");
    entry.date("date");
    entry.text("change", "what was changed and why");
    entry.finish();
  }
  for (auto& table : reader.optional_objects("tables")) set.tables.push_back(read_table(table));
  for (auto& rule : reader.objects("rules")) set.rules.push_back(read_rule(rule));
  set.verdicts = read_verdicts(reader);
  reader.finish();
  check_references(set, reader);
  return set;
}

LimitSet read_limit_set(std::string const& path) { return parse_limit_set(documents::read_text_file(path), path); }

std::vector<std::string> builtin_limit_set_names() { return {"builtin-ieee", "builtin-iec"}; }

std::string_view builtin_limit_set_text(std::string const& name) {
  if (name == "builtin-ieee") return documents::builtin_ieee_text();
  if (name == "builtin-iec") return documents::builtin_iec_text();
  throw DocumentError("limits.no-such-set", name, "",
                      "no such built-in limit set; there are builtin-ieee and builtin-iec");
}

LimitSet builtin_limit_set(StandardFamily standard) {
  std::string const name = standard == StandardFamily::ieee ? "builtin-ieee" : "builtin-iec";
  return parse_limit_set(builtin_limit_set_text(name), name);
}

std::string sha256_hex(std::string_view text) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned int length = 0;
  if (EVP_Digest(text.data(), text.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("the SHA-256 of libcrypto failed");
  }
  static constexpr char digits[] = "0123456789abcdef";
  std::string out;
  out.reserve(2 * length);
  for (unsigned int i = 0; i < length; ++i) {
    out += digits[digest[i] >> 4];
    out += digits[digest[i] & 15];
  }
  return out;
}

}  // namespace benchward
