// SPDX-License-Identifier: MIT
#pragma once

/// Efficiency (10 CFR 431 subpart K appendix A 5.1 to 5.4, equations 5-1 to 5-3), the represented value of a basic
/// model (10 CFR 429.47(a)(2); the condition is an image in every copy: from memory) and the enforcement sample
/// (10 CFR 429 appendix C to subpart C; steps read, formulas from memory).

#include <vector>

#include "scalar.hpp"

namespace benchward {

template <class T>
struct Efficiency {
  T efficiency_percent;
  T total_loss_w;
};

/// eta = 100 * S L pf / (S L pf + P_nl + P_ll L^2); full-load load loss in.
template <class T>
Efficiency<T> efficiency(double rated_kva, T const& no_load_loss_w, T const& load_loss_w, double load_fraction = 0.5,
                         double power_factor = 1.0) {
  require_positive(rated_kva, "rated_kva");
  require_not_negative(no_load_loss_w, "no_load_loss_w");
  require_not_negative(load_loss_w, "load_loss_w");
  require_positive(load_fraction, "load_fraction");
  if (!(power_factor > 0.0 && power_factor <= 1.0)) throw InputError("power_factor", "expected above 0, at most 1");
  double const output_w = 1000.0 * rated_kva * load_fraction * power_factor;
  Efficiency<T> out;
  out.total_loss_w = no_load_loss_w + load_loss_w * (load_fraction * load_fraction);
  out.efficiency_percent = 100.0 * output_w / (output_w + out.total_loss_w);
  return out;
}

struct RepresentedEfficiency {
  double mean_percent;
  double bound_percent;                ///< 100 / (1 + (1 + 0.08/sqrt(n)) (100/RE - 1))
  bool compliant;                      ///< mean >= bound
  double highest_represented_percent;  ///< the largest RE that this sample allows
};
RepresentedEfficiency represented_efficiency(std::vector<double> const& efficiencies_percent,
                                             double represented_percent);

/// Appendix C: what the first enforcement sample says.
struct EnforcementSample {
  enum class Decision { compliant, not_compliant, second_sample };
  Decision decision;
  double mean_percent, standard_deviation, standard_error;
  double sample_discount_percent;  ///< SSD(m1), the lower control point for m1 units
  double lower_limit_percent;      ///< SSD(m1) - t * SE, t at 97.5 %, n1 - 1 degrees of freedom
  int second_sample_tests = 0;     ///< smallest integer >= n - n1, where a second sample is needed
};
/// `units` = m1; at least four units: a test each; two or three: two each; one: four tests.
EnforcementSample enforcement_sample(std::vector<double> const& test_efficiencies_percent, int units,
                                     double represented_percent);

}  // namespace benchward
