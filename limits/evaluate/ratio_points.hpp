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

/// Pairs that give no volts although the meter applied its own and every one of the pair's leads proved itself on
/// another pair of the same tap: coils that oppose each other, or an open one. (A pair whose leads are proven nowhere
/// may as well be a lead that is off: that is no finding, and measured_ratios() makes the test INVALID.)
std::vector<RatioPlanPoint> pairs_without_volts(RatioReadings const& readings, Unit const& unit);

/// In the order of the plan. Notes readings that are not GOOD, pairs that no plan has, and swapped leads.
std::vector<MeasuredRatio> measured_ratios(MeasuredValues& values, RatioReadings const& readings,
                                           EvaluationContext const& context);

/// Tolerance of the ratio in percent by the sheet; 0.5 where the sheet limits no ratio (IEEE C57.12.00 and IEC 60076-1
/// name the same number), used for the whole-turn rule only.
double ratio_tolerance_percent(EvaluationContext const& context);

}  // namespace benchward
