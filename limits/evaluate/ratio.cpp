// SPDX-License-Identifier: MIT
// Turns ratio on every tap and pair. Error = 100 (measured - expected) / expected; the tolerance and the whole-turn
// rule are the sheet's. A pattern of exactly one tap step on all pairs is a question about the tap changer, not a FAIL.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/ratio_points.hpp"

namespace benchward {
namespace {

/// What the error looks like in turns, for the person who has to find them.
std::string turns_remark(MeasuredRatio const& one, Unit const& unit, double error_percent, double u_percent) {
  std::string text = fmt::format("pair {}:{} measured {:.6g}, expected {:.6g}", one.plan.hv_pair, one.plan.lv_pair,
                                 one.ratio.value(), one.expected);
  auto const many = [](double turns) { return std::abs(turns) < 1.5 ? "turn" : "turns"; };
  if (unit.lv.turns) {
    double const off = -error_percent / 100.0 / (1.0 + error_percent / 100.0) * *unit.lv.turns;
    if (std::abs(off) >= 0.5) {
      return text + fmt::format("; as by {:.1f} {} too {} of {} in the low-voltage winding of this pair", std::abs(off),
                                many(off), off > 0.0 ? "many" : "few", *unit.lv.turns);
    }
  }
  if (unit.hv.turns) {
    double const turns = *unit.hv.turns * (1.0 + one.plan.tap_percent / 100.0);
    double const off = error_percent / 100.0 * turns;
    double const u_turns = u_percent / 100.0 * turns;
    if (std::abs(off) >= 0.5 && u_turns < 1.0 / 3.0) {
      return text + fmt::format(
                        "; as by {:.1f} {} too {} of {:.0f} in the high-voltage winding of this pair (u = {:.2f} "
                        "turn)",
                        std::abs(off), many(off), off > 0.0 ? "many" : "few", turns, u_turns);
    }
  }
  return text;
}

/// Percent steps to the neighbours of a tap; past the last one the same step again.
std::vector<double> neighbour_percents(Unit const& unit, int position) {
  auto const& taps = unit.hv.taps;
  for (std::size_t i = 0; i < taps.size(); ++i) {
    if (taps[i].position != position || taps.size() < 2) continue;
    double const here = taps[i].percent;
    double const up = i > 0 ? taps[i - 1].percent : here + (here - taps[i + 1].percent);
    double const down = i + 1 < taps.size() ? taps[i + 1].percent : here - (taps[i - 1].percent - here);
    return {up, down};
  }
  return {};
}

/// All pairs on all measured taps read as if the tap changer stood one step from where it is said to stand.
std::optional<std::string> one_step_off(std::vector<MeasuredRatio> const& measured, Unit const& unit,
                                        double tolerance) {
  for (std::size_t direction = 0; direction < 2; ++direction) {
    bool all = !measured.empty();
    for (auto const& one : measured) {
      if (!one.plan.tap) return std::nullopt;
      auto const percents = neighbour_percents(unit, *one.plan.tap);
      if (percents.empty()) return std::nullopt;
      double const moved = one.expected * (1.0 + percents[direction] / 100.0) / (1.0 + one.plan.tap_percent / 100.0);
      bool const as_here = std::abs(100.0 * (one.ratio.value() / one.expected - 1.0)) <= tolerance;
      bool as_moved = std::abs(100.0 * (one.ratio.value() / moved - 1.0)) <= tolerance;
      // Past the last position nothing moves: there the changer stands on its only neighbour.
      if (bool const at_end =
              *one.plan.tap == unit.hv.taps.front().position || *one.plan.tap == unit.hv.taps.back().position;
          at_end && !as_moved) {
        double const inward =
            one.expected * (1.0 + percents[1 - direction] / 100.0) / (1.0 + one.plan.tap_percent / 100.0);
        as_moved = std::abs(100.0 * (one.ratio.value() / inward - 1.0)) <= tolerance;
      }
      all = all && as_moved && !as_here;
    }
    if (!all) continue;
    return fmt::format(
        "Every pair reads one tap step {} than the tap that was named. Is the tap changer where the record "
        "says (tap {})? Look at the position, then measure again",
        direction == 0 ? "higher" : "lower", *measured.front().plan.tap);
  }
  return std::nullopt;
}

/// Every pair on every tap off by the same large factor: no winder's error does that to all coils alike.
std::optional<std::string> another_design(std::vector<MeasuredRatio> const& measured, Unit const& unit) {
  constexpr double large_percent = 5.0, alike_percent = 0.5;  // common practice, no source
  double lowest = 0.0, highest = 0.0;
  for (auto const& one : measured) {
    double const off = 100.0 * (one.ratio.value() / one.expected - 1.0);
    lowest = &one == &measured.front() ? off : std::min(lowest, off);
    highest = &one == &measured.front() ? off : std::max(highest, off);
  }
  if (measured.size() < 2 || highest - lowest > alike_percent) return std::nullopt;
  if (lowest < large_percent && highest > -large_percent) return std::nullopt;
  if (unit.phases == 1 && unit.lv.turns) {
    // One winding, few turns: a turn more or less is as large as that.
    double const off = 0.5 * (lowest + highest) / 100.0;
    double const turns = -off / (1.0 + off) * *unit.lv.turns;
    if (std::abs(std::abs(turns) - 1.0) < 0.1) return std::nullopt;
  }
  return fmt::format(
      "every pair on every tap is off by about {:.1f} %: these are another design's ratios. Is this the unit that was "
      "scanned, and its own document? Compare the rating plate before anything is energised",
      0.5 * (lowest + highest));
}

/// All pairs read as they would with the dual-voltage switch in its other position.
std::optional<std::string> other_switch_position(std::vector<MeasuredRatio> const& measured, Unit const& unit,
                                                 double tolerance) {
  if (!unit.hv.dual || measured.empty()) return std::nullopt;
  int const here = unit.hv.dual->ordered_position, other = here == 1 ? 2 : 1;
  double const factor = in_dual_voltage_position(unit, other).hv.rated / unit.hv.rated;
  bool const all = std::all_of(measured.begin(), measured.end(), [&](MeasuredRatio const& one) {
    return std::abs(100.0 * (one.ratio.value() / (one.expected * factor) - 1.0)) <= tolerance;
  });
  if (!all) return std::nullopt;
  return fmt::format(
      "Every pair reads the ratio of position {} of the dual-voltage switch, position {} was asked for. Does the "
      "switch "
      "stand where the record says, and does it move the contacts? Look at it, then measure again",
      other, here);
}

/// Not even within a tenth: what is read came through capacitances, not through turns.
bool none_fits(std::vector<MeasuredRatio> const& measured) {
  constexpr double turns_within = 0.1;
  return std::none_of(measured.begin(), measured.end(), [](MeasuredRatio const& one) {
    return std::abs(one.ratio.value() / one.expected - 1.0) <= turns_within;
  });
}

Evaluation evaluate_in_position(RatioReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "ratio";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    auto const silent_pairs = pairs_without_volts(readings, context.unit);
    auto const measured = measured_ratios(values, readings, context, silent_pairs);
    if (!values.usable()) return;
    for (auto const& [pair, leads_proven] : silent_pairs) {
      auto silent = make_result("ratio", "pair_without_volts",
                                pair.tap ? fmt::format("tap {}, {}:{}", *pair.tap, pair.hv_pair, pair.lv_pair)
                                         : pair.hv_pair + ":" + pair.lv_pair,
                                "1");
      silent.value = 1.0;
      silent.remark = fmt::format(
          "{}:{} gives no volts, though {}: coils of this winding oppose each other, one is open, or bushings are "
          "marked wrongly",
          pair.hv_pair, pair.lv_pair,
          leads_proven ? "each of its leads reads on another pair" : "its leads were looked at");
      if (!leads_proven) {
        evaluation.settled_by_repeat = true;
        evaluation.question = fmt::format(
            "{}:{} gives no volts, and no other pair proves its leads. Clip the leads of this pair again and measure "
            "once more: if it stays, the unit is rejected",
            pair.hv_pair, pair.lv_pair);
      }
      Limit limit;
      limit.rule = "volts-on-every-pair";
      limit.upper = 0.0;
      limit.unit = "1";
      limit.origin = "every pair of a sound unit gives volts";
      limit.source = "the test itself";
      add_judged_by(evaluation, std::move(silent), std::move(limit));
    }
    struct BeyondFactoryLine {
      int points = 0;
      double error_percent = 0.0;
      std::string remark;
    };
    std::map<std::string, BeyondFactoryLine> beyond_factory_line;
    for (auto const& one : measured) {
      Uncertain const error = 100.0 * (one.ratio - one.expected) / one.expected;
      auto result = make_result("ratio", "ratio_error_percent", one.at(), "%");
      values.put(result, error);
      result.measured = one.measured;
      result.measured_unit = "1";
      result.intermediates = {{"measured ratio of the pair", one.measured, "1"},
                              {"factor of the pair over the line ratio", one.plan.factor, "1"},
                              {"expected by the rating plate's volts", one.plan.expected_ratio, "1"}};
      if (one.plan.turns_ratio) result.intermediates.push_back({"expected by whole turns", *one.plan.turns_ratio, "1"});
      result.intermediates.push_back({"expected by the whole-turn rule", one.expected, "1"});
      if (context.unit.hv.turns) {
        result.intermediates.push_back(
            {"error in high-voltage turns",
             error.value() / 100.0 * *context.unit.hv.turns * (1.0 + one.plan.tap_percent / 100.0), "turns"});
      }
      if (one.most_drop_percent) {
        result.intermediates.push_back({"drop in the fed winding, at most", *one.most_drop_percent, "%"});
        result.intermediates.push_back({"ratio without its probable share", one.ratio.value(), "1"});
      }
      result.intermediates.push_back({"phase of the read volts", one.phase_deg, "deg"});
      result.intermediates.push_back({"applied, highest", one.most_applied_v, "V"});
      result.remark = turns_remark(one, context.unit, error.value(), error.standard());
      auto const warned_before = evaluation.warnings.size();
      add_judged(evaluation, result, context);
      if (evaluation.warnings.size() > warned_before) {
        evaluation.warnings.resize(warned_before);  // said once a pair, below
        auto& pair = beyond_factory_line[one.plan.hv_pair + ":" + one.plan.lv_pair];
        ++pair.points;
        if (std::abs(error.value()) > std::abs(pair.error_percent)) {
          pair.error_percent = error.value();
          pair.remark = result.remark;
        }
      }
    }
    for (auto const& [pair, seen] : beyond_factory_line) {
      evaluation.warnings.push_back(fmt::format(
          "factory line: pair {} is off by up to {:.2f} % on {} point(s): inside the standard's limit, look at the "
          "winder's turn count{}{}",
          pair, seen.error_percent, seen.points, seen.remark.empty() ? "" : ". ", seen.remark));
    }
    auto const planned = ratio_plan(context.unit).size();
    if (!readings.dual_voltage_position && measured.size() < planned) {
      evaluation.warnings.push_back(
          fmt::format("{} of {} planned ratio points were measured", measured.size(), planned));
    }
    if (auto const elsewhere = other_switch_position(measured, context.unit, ratio_tolerance_percent(context));
        elsewhere && !evaluation.question) {
      evaluation.question = *elsewhere;
      evaluation.settled_by_repeat = true;
    }
    if (auto const other = another_design(measured, context.unit); other && !evaluation.question) {
      evaluation.invalid_reason = *other;
    }
    if (context.unit.breaker && !silent_pairs.empty() && none_fits(measured)) {
      evaluation.invalid_reason = fmt::format(
          "no pair gives the volts it should: the unit's inner breaker \"{}\" stands open, or leads are off. Close the "
          "breaker and measure again; if it stays, measure the resistance of both windings",
          context.unit.breaker->name);
    }
    if (!evaluation.question) {
      evaluation.question = one_step_off(measured, context.unit, ratio_tolerance_percent(context));
    }
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace

Evaluation evaluate_ratio(RatioReadings const& readings, EvaluationContext const& context) {
  if (!readings.dual_voltage_position) return evaluate_in_position(readings, context);
  auto const unit = in_dual_voltage_position(context.unit, *readings.dual_voltage_position);
  auto evaluation = evaluate_in_position(readings, {unit, context.sheet, context.calibration, context.today});
  for (auto& result : evaluation.results) {
    result.at = fmt::format("switch position {}, {}", *readings.dual_voltage_position, result.at);
  }
  return evaluation;
}

}  // namespace benchward
