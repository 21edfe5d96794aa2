// SPDX-License-Identifier: MIT
#include "limits/unit/ratio_plan.hpp"

#include <algorithm>
#include <cmath>

namespace benchward {
namespace {

/// "X1-X0" as the unit's bushings are named: with a joined neutral both H0 and X0 are H0X0, unless the two bushings are
/// joined inside only.
std::string as_on_unit(std::string pair, Unit const& unit) {
  auto const rename = [&](char const* plain) {
    auto const at = pair.find(plain);
    if (at != std::string::npos) pair.replace(at, 2, "H0X0");
  };
  bool const two_bushings = std::any_of(unit.bushings.begin(), unit.bushings.end(),
                                        [](Bushing const& b) { return b.name == "H0" || b.name == "X0"; });
  bool const joined = unit.hv_neutral == NeutralKind::joined || unit.lv_neutral == NeutralKind::joined;
  if (joined && !two_bushings) {
    if (pair.front() == 'H')
      rename("H0");
    else
      rename("X0");
  }
  return pair;
}

struct Read {
  std::string lv, phase;
  double factor;
};

/// Low-voltage pairs of a single-phase unit: the winding as a whole and by its halves.
std::vector<Read> single_phase_reads(Unit const& unit) {
  switch (unit.lv_form) {
    case LowVoltageForm::center_tapped:
      return {{"X1-X3", "whole", 1.0}, {"X1-X2", "first half", 2.0}, {"X2-X3", "second half", 2.0}};
    case LowVoltageForm::series_parallel:
      return {{"X1-X2", "first half", 2.0}, {"X3-X4", "second half", 2.0}};
    case LowVoltageForm::plain:
    case LowVoltageForm::mid_tapped_leg:
      break;
  }
  return {{"X1-X2", "whole", 1.0}};
}

/// A phase of a three-phase unit; the leg between X1 and X3 by its halves too where it is tapped in the middle.
std::vector<Read> three_phase_reads(Unit const& unit, PhasePair const& pair) {
  std::vector<Read> reads{{pair.lv, std::to_string(pair.phase), 1.0}};
  if (unit.lv_form != LowVoltageForm::mid_tapped_leg) return reads;
  if (pair.lv == "X1-X3") {
    reads.push_back({"X1-X4", "first half", 2.0});
    reads.push_back({"X4-X3", "second half", 2.0});
  } else if (pair.lv == "X3-X1") {
    reads.push_back({"X3-X4", "first half", 2.0});
    reads.push_back({"X4-X1", "second half", 2.0});
  }
  return reads;
}

std::vector<RatioPlanPoint> points_on_tap(Unit const& unit, VectorGroup const& group, std::optional<int> position,
                                          double percent) {
  double const hv_volts = unit.hv.rated.in(volts) * (1.0 + percent / 100.0);
  double const line_ratio = hv_volts / unit.lv.rated.in(volts);
  std::optional<double> hv_turns;
  if (unit.hv.turns) hv_turns = std::round(*unit.hv.turns * (1.0 + percent / 100.0));
  bool const neutral_reachable = unit.lv_neutral != NeutralKind::none && unit.lv_neutral != NeutralKind::inner;
  std::vector<RatioPlanPoint> points;
  for (auto const& pair : phase_pairs(group, neutral_reachable)) {
    auto const reads = group.phases() == 1 ? single_phase_reads(unit) : three_phase_reads(unit, pair);
    for (auto const& read : reads) {
      RatioPlanPoint point;
      point.tap = position;
      point.tap_percent = percent;
      point.hv_pair = as_on_unit(pair.hv, unit);
      point.lv_pair = as_on_unit(read.lv, unit);
      if (pair.shorted) point.shorted = as_on_unit(*pair.shorted, unit);
      point.fed_return_tie = pair.feed;
      point.factor = pair.factor * read.factor;
      point.expected_ratio = point.factor * line_ratio;
      if (hv_turns && unit.lv.turns) {
        point.turns_ratio = read.factor * pair_ratio_from_turns(group, pair, *hv_turns, *unit.lv.turns);
      }
      point.phase = read.phase;
      points.push_back(point);
    }
  }
  return points;
}

}  // namespace

std::vector<RatioPlanPoint> ratio_plan(Unit const& unit) {
  auto const group = parse_vector_group(unit.vector_group);
  if (unit.hv.taps.empty()) return points_on_tap(unit, group, std::nullopt, 0.0);
  std::vector<RatioPlanPoint> points;
  for (auto const& tap : unit.hv.taps) {
    auto const of_tap = points_on_tap(unit, group, tap.position, tap.percent);
    points.insert(points.end(), of_tap.begin(), of_tap.end());
  }
  return points;
}

Unit in_dual_voltage_position(Unit unit, int position) {
  if (!unit.hv.dual || position == unit.hv.dual->ordered_position) return unit;
  auto& winding = unit.hv;
  auto const before = winding.rated;
  winding.rated = position == 1 ? winding.dual->higher : winding.dual->lower;
  if (winding.turns) winding.turns = static_cast<int>(std::lround(*winding.turns * (winding.rated / before)));
  winding.dual->ordered_position = position;
  return unit;
}

std::vector<RatioPlanPoint> ratio_plan_on_tap(Unit const& unit, std::optional<int> tap) {
  std::vector<RatioPlanPoint> points;
  for (auto& point : ratio_plan(unit)) {
    if (point.tap == tap) points.push_back(std::move(point));
  }
  return points;
}

double expected_ratio_by_rule(RatioPlanPoint const& point, Unit const& unit, double tolerance_percent) {
  if (!point.turns_ratio || !unit.lv.turns) return point.expected_ratio;
  double const lv_turns = *unit.lv.turns;
  if (!(100.0 / lv_turns > tolerance_percent)) return point.expected_ratio;
  // Turns that the plate's ratio would need, were turns divisible, with the high-voltage turns as they are.
  double const exact_turns = lv_turns * *point.turns_ratio / point.expected_ratio;
  return std::abs(exact_turns - lv_turns) <= 0.5 + 1e-9 ? *point.turns_ratio : point.expected_ratio;
}

double expected_pair_ratio(VectorGroup const& group, double hv_rated_v, double lv_rated_v, double tap_percent) {
  return phase_pairs(group).front().factor * hv_rated_v * (1.0 + tap_percent / 100.0) / lv_rated_v;
}

}  // namespace benchward
