// SPDX-License-Identifier: MIT
#include "limits/correct/resistance.hpp"

namespace benchward {

double inferred_zero_c(Metal metal, StandardFamily standard) {
  if (metal == Metal::aluminum) return 225.0;
  return standard == StandardFamily::iec ? 235.0 : 234.5;
}

}  // namespace benchward
