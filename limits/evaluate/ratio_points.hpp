// SPDX-License-Identifier: MIT
#pragma once

/// The ratio readings put together with what the unit's ratio plan expects of them: what the evaluations of the ratio
/// and of the phase relation share.

#include <string>
#include <vector>

#include "../unit/ratio_plan.hpp"
#include "measured_values.hpp"

namespace benchward {

struct MeasuredRatio {
  RatioPlanPoint plan;
  double expected = 0.0;                    ///< by the whole-turn rule with the sheet's tolerance
  double measured = 0.0;                    ///< mean of the readings of this pair on this tap
  Uncertain ratio;                          ///< the same without the drop of the meter's own current in the fed winding
  std::optional<double> most_drop_percent;  ///< of the applied volts; absent where no current or impedance is known
  double phase_deg = 0.0;                   ///< mean, of the read volts against the applied volts, -180 to 180
  double least_applied_v = 0.0, most_applied_v = 0.0;
  std::string at() const;  ///< "tap 3, H1-H3:X1-X0"
};

/// A pair that gives no volts although the meter applied its own and another pair of the same tap reads. Where every
/// one of its leads proved itself on another pair, its coils oppose each other, or one is open. A lead that is proven
/// nowhere may as well be off: clipped again, the same once more is the unit's.
struct SilentPair {
  RatioPlanPoint plan;
  bool leads_proven = false;
};
std::vector<SilentPair> pairs_without_volts(RatioReadings const& readings, Unit const& unit);

/// In the order of the plan, without the pairs of `silent`: those are findings of their own. Notes readings that are
/// not GOOD (a pair without volts among them), pairs that no plan has, and swapped leads.
std::vector<MeasuredRatio> measured_ratios(MeasuredValues& values, RatioReadings const& readings,
                                           EvaluationContext const& context, std::vector<SilentPair> const& silent);

/// Tolerance of the ratio in percent by the sheet; 0.5 where the sheet limits no ratio (IEEE C57.12.00 and IEC 60076-1
/// name the same number), used for the whole-turn rule only.
double ratio_tolerance_percent(EvaluationContext const& context);

}  // namespace benchward
