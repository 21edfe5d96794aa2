// SPDX-License-Identifier: MIT
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "limits/correct/dielectric.hpp"
#include "limits/rules/limit_set.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

/// Empty where the condition holds; else the first thing that does not, in words.
std::string why_not(RuleCondition const& when, Unit const& unit) {
  double const kva = unit.rated_power.in(kilovolt_amperes);
  double const hz = unit.rated_frequency.in(hertz);
  double const hv = unit.hv.rated.in(volts), lv = unit.lv.rated.in(volts);
  if (when.standard && *when.standard != unit.standard) {
    return *when.standard == StandardFamily::ieee ? "for units to IEEE standards" : "for units to IEC standards";
  }
  if (when.phases && *when.phases != unit.phases) return fmt::format("for {}-phase units", *when.phases);
  if (when.rated_hz && std::abs(*when.rated_hz - hz) > 1e-9)
    return fmt::format("for {:g} Hz, the unit has {:g} Hz", *when.rated_hz, hz);
  if (when.kva_from && kva < *when.kva_from)
    return fmt::format("from {:g} kVA on, the unit has {:g} kVA", *when.kva_from, kva);
  if (when.kva_to && kva > *when.kva_to) return fmt::format("up to {:g} kVA, the unit has {:g} kVA", *when.kva_to, kva);
  if (when.hv_v_above && !(hv > *when.hv_v_above))
    return fmt::format("for high voltages above {:g} V, the unit has {:g} V", *when.hv_v_above, hv);
  if (when.hv_v_to && hv > *when.hv_v_to)
    return fmt::format("for high voltages up to {:g} V, the unit has {:g} V", *when.hv_v_to, hv);
  if (when.lv_v_to && lv > *when.lv_v_to)
    return fmt::format("for low voltages up to {:g} V, the unit has {:g} V", *when.lv_v_to, lv);
  if (when.submersible && *when.submersible != unit.submersible()) {
    return *when.submersible ? "for submersible units" : "not for submersible units";
  }
  if (when.dual_hv && *when.dual_hv != unit.hv.dual.has_value()) {
    return *when.dual_hv ? "for a dual-voltage high-voltage winding" : "not for a dual-voltage high-voltage winding";
  }
  if (when.dual_lv && *when.dual_lv != (unit.lv_form == LowVoltageForm::series_parallel)) {
    return *when.dual_lv ? "for a dual-voltage low-voltage winding" : "not for a dual-voltage low-voltage winding";
  }
  if (when.manufactured_from && unit.manufactured_on < *when.manufactured_from) {
    return fmt::format("for units made from {} on, this one was made on {}", *when.manufactured_from,
                       unit.manufactured_on);
  }
  if (when.manufactured_until && unit.manufactured_on >= *when.manufactured_until) {
    return fmt::format("for units made before {}, this one was made on {}", *when.manufactured_until,
                       unit.manufactured_on);
  }
  return "";
}

struct Declared {
  std::optional<double> value;
  std::string name, unit;
};

Declared declared_value(std::string const& key, Guarantees const& guarantees) {
  auto const in_watts = [](std::optional<ActivePower> const& loss) {
    return loss ? std::optional<double>(loss->in(watts)) : std::nullopt;
  };
  if (key == "no_load_loss_w") return {in_watts(guarantees.no_load_loss), "no-load loss", "W"};
  if (key == "load_loss_w") return {in_watts(guarantees.load_loss), "load loss", "W"};
  if (key == "total_loss_w") return {in_watts(guarantees.total_loss), "total loss", "W"};
  if (key == "impedance_percent") return {guarantees.impedance_percent, "impedance", "%"};
  return {guarantees.exciting_current_percent, "exciting current", "%"};
}

/// One rule at work: fills the sheet line, or says why there is none.
class Worker {
 public:
  Worker(LimitSet const& set, Rule const& rule, Unit const& unit) : set_(set), rule_(rule), unit_(unit) {
    line_.test = rule.test;
    line_.quantity = rule.quantity;
    line_.at = rule.at;
    line_.decision = rule.decision;
    line_.limit.rule = rule.id;
    line_.limit.unit = rule.unit;
    line_.limit.source = rule.edition.empty() ? rule.source : rule.source + ", " + rule.edition;
    line_.limit.warns_only = rule.warns_only;
  }

  /// The line, or nothing with the reason in `reason`.
  std::optional<SheetLine> run(std::string& reason) {
    reason = why_not(rule_.when, unit_);
    if (!reason.empty()) return std::nullopt;
    reason = std::visit(*this, rule_.kind);
    if (!reason.empty()) return std::nullopt;
    return line_;
  }

  std::string operator()(BoundRule const& bound) {
    line_.limit.lower = bound.lower;
    line_.limit.upper = bound.upper;
    line_.limit.origin = "fixed in the limit set:";
    std::string const unit = rule_.unit == "1" ? "" : " " + rule_.unit;  // a bare number has none to print
    if (bound.lower) line_.limit.origin += fmt::format(" at least {:g}{}", *bound.lower, unit);
    if (bound.upper) line_.limit.origin += fmt::format("{} at most {:g}{}", bound.lower ? "," : "", *bound.upper, unit);
    return "";
  }

  std::string operator()(ToleranceRule const& tolerance) {
    auto const declared = declared_value(tolerance.declared, unit_.guarantees);
    if (!declared.value) return fmt::format("the order declares no {}", declared.name);
    double const value = *declared.value;
    ToleranceRule::Band const* band = nullptr;
    for (auto const& candidate : tolerance.bands) {
      if (candidate.from_included ? value >= candidate.declared_from : value > candidate.declared_from)
        band = &candidate;
    }
    if (band == nullptr)
      return fmt::format("no band of this rule holds for a declared {} of {:g} {}", declared.name, value,
                         declared.unit);
    auto const side = [&](double percent, char sign) {
      double const limit = value * (1.0 + (sign == '+' ? percent : -percent) / 100.0);
      if (!line_.limit.origin.empty()) line_.limit.origin += "; ";
      line_.limit.origin += fmt::format("declared {} {:g} {} {} {:g} % = {:.7g} {}", declared.name, value,
                                        declared.unit, sign, percent, limit, declared.unit);
      return limit;
    };
    if (band->minus_percent) line_.limit.lower = side(*band->minus_percent, '-');
    if (band->plus_percent) line_.limit.upper = side(*band->plus_percent, '+');
    line_.nominal = value;
    return "";
  }

  std::string operator()(TableRule const& table_rule) {
    auto const* table = set_.table(table_rule.table);
    if (table == nullptr) return fmt::format("the set has no table \"{}\"", table_rule.table);
    auto const found = look_up(*table, unit_.phases, unit_.rated_power.in(kilovolt_amperes), unit_.manufactured_on,
                               unit_.submersible());
    if (!found.value) return found.origin;
    double value = *found.value;
    line_.limit.origin = found.origin;
    for (auto const& correction : table_rule.corrections) {
      if (!why_not(correction.when, unit_).empty()) continue;
      double const corrected = value * (1.0 + correction.percent / 100.0);
      line_.limit.origin += fmt::format("; {}: {:g} {:+g} % = {:.7g} {}", correction.name, value, correction.percent,
                                        corrected, table->unit);
      value = corrected;
      break;
    }
    (table_rule.lower ? line_.limit.lower : line_.limit.upper) = value;
    line_.limit.source = table->source + " " + found.clause;
    return "";
  }

  std::string operator()(RangeRule const& range) {
    double const kva = unit_.rated_power.in(kilovolt_amperes);
    for (auto const& row : range.rows) {
      if (row.phases != unit_.phases || kva < row.kva_from) continue;
      if (row.to_included ? kva > row.kva_to : kva >= row.kva_to) continue;
      line_.limit.lower = row.lower;
      line_.limit.upper = row.upper;
      line_.limit.origin =
          fmt::format("{} phase(s), {:g} {} kVA {} {:g}: {:g} to {:g} {}", row.phases, row.kva_from,
                      "<=", row.to_included ? "<=" : "<", row.kva_to, row.lower, row.upper, rule_.unit);
      return "";
    }
    return fmt::format("no row for {} phase(s) and {:g} kVA", unit_.phases, kva);
  }

  std::string operator()(RatioRule const& ratio) {
    double percent = ratio.percent;
    line_.limit.origin = fmt::format("{:g} % of the ratio by the rating plate's volts", ratio.percent);
    if (ratio.impedance_share) {
      if (auto const& impedance = unit_.guarantees.impedance_percent) {
        double const share = *ratio.impedance_share * *impedance;
        percent = std::min(percent, share);
        line_.limit.origin = fmt::format("the lower of {:g} % and {:g} x declared impedance {:g} % = {:.6g} %",
                                         ratio.percent, *ratio.impedance_share, *impedance, share);
      } else {
        line_.limit.origin +=
            fmt::format(" (the order declares no impedance: {:g} of it cannot be compared)", *ratio.impedance_share);
      }
    }
    if (ratio.nearest_turn && unit_.lv.turns) {
      double const one_turn = 100.0 / *unit_.lv.turns;
      line_.limit.origin += one_turn > percent
                                ? fmt::format(
                                      "; one of {} low-voltage turns is {:.4g} %, more than the tolerance: "
                                      "nearest whole turns are expected",
                                      *unit_.lv.turns, one_turn)
                                : fmt::format("; one of {} low-voltage turns is {:.4g} %: no whole-turn exception",
                                              *unit_.lv.turns, one_turn);
    }
    line_.limit.lower = -percent;
    line_.limit.upper = percent;
    line_.nominal = 0.0;
    return "";
  }

  std::string operator()(TurnRule const& turn) {
    if (!unit_.hv.turns) return "the unit document gives no high-voltage turns";
    double const one_turn = 100.0 / *unit_.hv.turns;
    line_.limit.lower = -turn.turns * one_turn;
    line_.limit.upper = turn.turns * one_turn;
    line_.speaks_up_to_u = turn.u_turns * one_turn;
    line_.limit.origin = fmt::format(
        "one of {} high-voltage turns is {:.4g} %; {:.3g} of it is {:.4g} %; said only where "
        "the ratio's standard uncertainty is at most {:.3g} of a turn, {:.4g} %",
        *unit_.hv.turns, one_turn, turn.turns, turn.turns * one_turn, turn.u_turns, turn.u_turns * one_turn);
    return "";
  }

  std::string operator()(DisplacementRule const& displacement) {
    double const nominal = parse_vector_group(unit_.vector_group).displacement_degrees();
    line_.nominal = nominal;
    line_.limit.lower = nominal - displacement.within_deg;
    line_.limit.upper = nominal + displacement.within_deg;
    line_.limit.origin = fmt::format("{}: low voltage lags by clock number x 30 = {:g} degrees, within {:g}",
                                     unit_.vector_group, nominal, displacement.within_deg);
    return "";
  }

  std::string operator()(AppliedLevelRule const& level) {
    auto const& winding = level.hv ? unit_.hv : unit_.lv;
    if (!winding.applied_kv) {
      return level.hv ? "the order sets no applied level for the high-voltage winding"
                      : "the order sets no applied level for the low-voltage winding";
    }
    set_level(*winding.applied_kv, level.minus_percent, level.plus_percent, "kV",
              fmt::format("applied level in the order, {} winding", level.hv ? "high-voltage" : "low-voltage"));
    return "";
  }

  std::string operator()(InducedLevelRule const& level) {
    InducedInput input;
    input.standard = unit_.standard;
    input.rated_v = unit_.lv.rated.in(volts);
    input.rated_hz = unit_.rated_frequency.in(hertz);
    input.test_hz = 1000.0 * input.rated_hz;  // the level does not depend on it; high enough for every one
    std::string how;
    bool const to_ground = unit_.standard == StandardFamily::ieee &&
                           (unit_.hv_neutral == NeutralKind::on_tank || unit_.hv_neutral == NeutralKind::joined);
    if (to_ground) {
      double const winding_v = unit_.hv.rated.in(volts) / (unit_.phases == 3 ? std::sqrt(3.0) : 1.0);
      input.level = InducedCase::line_to_ground;
      input.winding_v = winding_v;
      for (auto const& ceiling : level.line_to_ground_ceilings) {
        if (unit_.hv.bil_kv && std::abs(*unit_.hv.bil_kv - ceiling.bil_kv) < 1e-9)
          input.ceiling_v = 1000.0 * ceiling.kv;
      }
      how = fmt::format(
          "line to ground: 1000 V + 3.46 x {:.6g} V = {:.6g} V{}, seen from the fed winding x {:g} V / {:.6g} V",
          winding_v, 1000.0 + 3.46 * winding_v,
          input.ceiling_v ? fmt::format(", at most {:g} V by basic impulse level", *input.ceiling_v)
                          : ", no ceiling for this basic impulse level",
          input.rated_v, winding_v);
    } else {
      how = fmt::format("2 x {:g} V", input.rated_v);
    }
    set_level(induced_test(input).test_v, level.minus_percent, level.plus_percent, "V", how);
    return "";
  }

  std::string operator()(InducedDurationRule const& duration) {
    double const rated_hz = unit_.rated_frequency.in(hertz);
    SheetLine::PerFrequency per;
    per.most_s = 60.0;
    per.cycles = duration.standard == StandardFamily::ieee ? 7200.0 : 120.0 * rated_hz;
    per.least_s = duration.standard == StandardFamily::ieee ? 0.0 : 15.0;
    line_.per_frequency = per;
    line_.limit.lower = per.most_s;
    line_.limit.origin = fmt::format("{:g} cycles / test frequency{}, at most 60 s", per.cycles,
                                     per.least_s > 0.0 ? ", at least 15 s" : "");
    return "";
  }

 private:
  void set_level(double nominal, double minus_percent, double plus_percent, char const* unit, std::string const& how) {
    line_.nominal = nominal;
    line_.limit.lower = nominal * (1.0 - minus_percent / 100.0);
    line_.limit.upper = nominal * (1.0 + plus_percent / 100.0);
    line_.limit.origin =
        fmt::format("{} = {:.6g} {}, held within -{:g} % and +{:g} %", how, nominal, unit, minus_percent, plus_percent);
  }

  LimitSet const& set_;
  Rule const& rule_;
  Unit const& unit_;
  SheetLine line_;
};

}  // namespace

LimitSheet work_out(LimitSet const& set, Unit const& unit) {
  LimitSheet sheet;
  sheet.limit_set = set.name;
  sheet.limit_set_version = set.version;
  sheet.limit_set_hash = set.hash;
  sheet.unit_serial = unit.serial;
  sheet.verdicts = set.verdicts;
  for (auto const& rule : set.rules) {
    std::string reason;
    auto line = Worker(set, rule, unit).run(reason);
    if (line) {
      sheet.lines.push_back(std::move(*line));
    } else {
      sheet.no_requirement.push_back(rule.id + ": " + reason);
    }
  }
  return sheet;
}

}  // namespace benchward
