// SPDX-License-Identifier: MIT
#pragma once

/// The ratio readings that a unit needs: every tap, every pair. The procedure measures them, the evaluation expects
/// them, both out of this one list.

#include <optional>
#include <string>
#include <vector>

#include "unit.hpp"
#include "vector_group.hpp"

namespace benchward {

struct RatioPlanPoint {
  std::optional<int> tap;  ///< tap position; absent = no taps
  double tap_percent = 0.0;
  std::string hv_pair, lv_pair;               ///< "H1-H3", "X1-X0"; joined neutral: "H1-H0X0"
  std::optional<std::string> shorted;         ///< low-voltage pair to be shorted
  std::optional<std::string> fed_return_tie;  ///< "H1-H2+H3"
  double expected_ratio = 0.0;                ///< of the pair, by the rating plate's volts
  std::optional<double> turns_ratio;          ///< of the pair, by the design's whole turns, where both are known
  double expected_phase_deg = 0.0;  ///< of the read volts against the applied volts: 0, the pair is named in phase
  double factor = 1.0;              ///< pair ratio over line ratio
  std::string phase;                ///< "1", "2", "3"; single-phase: "whole", "first half", "second half"
};

/// Taps in the order of the unit document, all pairs of one tap together. Throws VectorGroupError.
std::vector<RatioPlanPoint> ratio_plan(Unit const& unit);

/// The unit as if it were ordered in the other position of its dual-voltage switch: rated volts, and the design's turns
/// in proportion. A unit without such a switch comes back as it is.
Unit in_dual_voltage_position(Unit unit, int position);

/// Only the points of one tap (as-shipped check, a repeat after re-tapping).
std::vector<RatioPlanPoint> ratio_plan_on_tap(Unit const& unit, std::optional<int> tap);

/// The ratio that the whole-turn rule expects: by the plate's volts, or, where one low-voltage turn is more than the
/// tolerance and the design's turns are the nearest whole turns, by the design's turns.
double expected_ratio_by_rule(RatioPlanPoint const& point, Unit const& unit, double tolerance_percent);

/// Expected turns ratio of a three-phase or single-phase pair by line volts: factor * hv * (1 + tap/100) / lv.
double expected_pair_ratio(VectorGroup const& group, double hv_rated_v, double lv_rated_v, double tap_percent);

}  // namespace benchward
