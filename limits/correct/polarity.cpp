// SPDX-License-Identifier: MIT
#include "limits/correct/polarity.hpp"

namespace benchward {

PolarityFinding polarity_finding(Join join, double applied_v, double expected_lv_v, double across_v) {
  require_positive(applied_v, "applied_v");
  require_positive(expected_lv_v, "expected_lv_v");
  require_not_negative(across_v, "across_v");
  double const difference = across_v - applied_v;
  if (std::abs(difference) < expected_lv_v / 2.0) return PolarityFinding::undetermined;
  bool const above = difference > 0.0;
  if (join == Join::adjacent) return above ? PolarityFinding::additive : PolarityFinding::subtractive;
  return above ? PolarityFinding::marked_wrong : PolarityFinding::marked_right;
}

std::string to_text(PolarityFinding finding) {
  switch (finding) {
    case PolarityFinding::additive:
      return "additive";
    case PolarityFinding::subtractive:
      return "subtractive";
    case PolarityFinding::marked_right:
      return "right";
    case PolarityFinding::marked_wrong:
      return "wrong";
    case PolarityFinding::undetermined:
      break;
  }
  return "undetermined";
}

}  // namespace benchward
