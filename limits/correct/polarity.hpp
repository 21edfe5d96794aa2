// SPDX-License-Identifier: MIT
#pragma once

/// Polarity by the alternating-voltage method, and the check of the marking.
/// Adjacent H and X bushings of one side joined, read across the adjacent pair on the other side: above the applied
/// volts is additive, below subtractive. H1-X1 joined, highest H to highest X read: below applied on every rightly
/// marked unit. Derived; agrees with the excerpt of IEEE C57.12.90 clause 6 that was read.

#include <string>

#include "scalar.hpp"

namespace benchward {

enum class Join { adjacent, like_marked };
enum class PolarityFinding { additive, subtractive, marked_right, marked_wrong, undetermined };

/// Undetermined where |across - applied| is below half of the low-voltage volts expected at that applied voltage.
PolarityFinding polarity_finding(Join join, double applied_v, double expected_lv_v, double across_v);

/// "additive", "subtractive", "right", "wrong", "undetermined".
std::string to_text(PolarityFinding finding);

}  // namespace benchward
