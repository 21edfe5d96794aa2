// SPDX-License-Identifier: MIT
#pragma once

/// A limit set: rules as data, versioned, each with its source. Worked out for one unit it becomes a limit sheet.
/// Plain data; read from JSON by `limits/documents/limit_set_document.hpp`.

#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "../unit/unit.hpp"
#include "limit_sheet.hpp"

namespace benchward {

/// Where a rule speaks. Every condition that is there must hold; a rule that does not speak is named, with the
/// condition, among the sheet's `no_requirement`.
struct RuleCondition {
  std::optional<int> phases;
  std::optional<double> rated_hz;
  std::optional<double> kva_from, kva_to;     ///< both inclusive
  std::optional<double> hv_v_above, hv_v_to;  ///< rated volts; `to` inclusive
  std::optional<double> lv_v_to;
  std::optional<StandardFamily> standard;
  std::optional<bool> submersible;
  std::optional<bool> dual_hv;                                       ///< a dual-voltage high-voltage winding
  std::optional<bool> dual_lv;                                       ///< low-voltage sections for series or parallel
  std::optional<std::string> manufactured_from, manufactured_until;  ///< from inclusive, until exclusive
};

/// One edition of a table: values over kVA for one category.
struct TableBlock {
  std::string clause;
  std::string from;                  ///< first day of manufacture, inclusive
  std::optional<std::string> until;  ///< exclusive; absent = open
  std::optional<int> phases;
  std::optional<bool> submersible;              ///< absent = both
  bool holds_below_first_row = false;           ///< "25 kVA and below"
  bool extrapolates = false;                    ///< the rule says that its lines go on beyond the rows
  std::vector<std::pair<double, double>> rows;  ///< (kVA, value), kVA strictly rising
};

struct RegulationTable {
  std::string name, unit, source;
  std::vector<TableBlock> blocks;
};

/// The declared (guaranteed) value and how far a result may be from it.
struct ToleranceRule {
  std::string declared;  ///< key of the unit's guarantees: "no_load_loss_w", "impedance_percent", ...
  struct Band {
    double declared_from = 0.0;  ///< the band holds where the declared value is above this ...
    bool from_included = false;  ///< ... or equal to it
    std::optional<double> plus_percent, minus_percent;
  };
  std::vector<Band> bands;  ///< rising `declared_from`; the last one that holds counts
};

/// Two numbers.
struct BoundRule {
  std::optional<double> lower, upper;
};

/// A value of a table by date, category, phases and kVA, as lower or upper limit.
struct TableRule {
  std::string table;
  bool lower = true;
  struct Correction {
    std::string name;
    double percent = 0.0;  ///< added to the table's value
    RuleCondition when;
  };
  std::vector<Correction> corrections;  ///< the first one that holds is applied
};

/// A range of values by phases and kVA, in steps.
struct RangeRule {
  struct Row {
    int phases = 1;
    double kva_from = 0.0, kva_to = 0.0;  ///< from inclusive
    bool to_included = false;
    double lower = 0.0, upper = 0.0;
  };
  std::vector<Row> rows;
};

/// Error of the turns ratio. One low-voltage turn above the tolerance: nearest whole turn, that is, the expected ratio
/// is that of the design's turns. `impedance_share`: also at most this fraction of the declared impedance (IEC: 0.1).
struct RatioRule {
  double percent = 0.5;
  bool nearest_turn = true;
  std::optional<double> impedance_share;
};

/// A line at a fraction of one high-voltage turn, where the result's uncertainty can tell one turn at all.
struct TurnRule {
  double turns = 0.5;
  double u_turns = 1.0 / 3.0;
};

/// Displacement by the vector group, within so many degrees.
struct DisplacementRule {
  double within_deg = 10.0;
};

/// Level of the applied test of one winding, by the order.
struct AppliedLevelRule {
  bool hv = true;
  double minus_percent = 3.0, plus_percent = 3.0;
};

/// Level of the induced test on the fed low-voltage winding.
struct InducedLevelRule {
  double minus_percent = 3.0, plus_percent = 3.0;
  struct Ceiling {
    double bil_kv = 0.0, kv = 0.0;
  };
  std::vector<Ceiling> line_to_ground_ceilings;  ///< by basic impulse level of the high-voltage winding
};

/// Duration of the induced test; depends on the test frequency, see `induced_duration_limit`.
struct InducedDurationRule {
  StandardFamily standard = StandardFamily::ieee;
};

struct Rule {
  std::string id;
  std::string test, quantity, at, unit;
  std::string source, edition;
  std::string history;  ///< why it was changed, in words; may be empty
  bool warns_only = false;
  DecisionRule decision;
  RuleCondition when;
  std::variant<BoundRule, ToleranceRule, TableRule, RangeRule, RatioRule, TurnRule, DisplacementRule, AppliedLevelRule,
               InducedLevelRule, InducedDurationRule>
      kind;
};

struct LimitSet {
  std::string name, version, note;
  std::string hash;  ///< SHA-256 of the text that it was read from, hex
  std::vector<RegulationTable> tables;
  std::vector<Rule> rules;
  std::vector<VerdictRow> verdicts;

  RegulationTable const* table(std::string const& table_name) const {
    for (auto const& candidate : tables) {
      if (candidate.name == table_name) return &candidate;
    }
    return nullptr;
  }
};

/// A value out of a table, or why there is none.
struct TableLookup {
  std::optional<double> value;
  std::string origin;  ///< the arithmetic, with the rows used; where there is no value: why
  std::string clause;
};

/// Linear interpolation between the rows just above and below (10 CFR 431.196(b), EU 548/2014 annex I); nothing outside
/// the rows unless the block says so. `manufactured_on`: ISO date.
TableLookup look_up(RegulationTable const& table, int phases, double kva, std::string const& manufactured_on,
                    bool submersible);

/// The rules worked out for one unit. Pure; throws nothing on a unit and set that their readers accepted.
LimitSheet work_out(LimitSet const& set, Unit const& unit);

}  // namespace benchward
