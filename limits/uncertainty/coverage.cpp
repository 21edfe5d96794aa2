// SPDX-License-Identifier: MIT
// The one file that needs the distributions of Boost.Math for coverage factors and combined budgets.
#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "limits/uncertainty/uncertain.hpp"

namespace benchward {

double coverage_factor(double coverage, double degrees_of_freedom, bool whole) {
  if (!(coverage > 0.0 && coverage < 1.0)) throw InputError("coverage", "expected above 0 and below 1");
  if (!(degrees_of_freedom > 0.0)) throw InputError("degrees_of_freedom", "expected a number above zero");
  double const upper_tail = (1.0 - coverage) / 2.0;
  if (degrees_of_freedom >= 1e8) {
    return boost::math::quantile(boost::math::complement(boost::math::normal(), upper_tail));
  }
  double const freedom = whole ? std::max(1.0, std::floor(degrees_of_freedom)) : degrees_of_freedom;
  return boost::math::quantile(boost::math::complement(boost::math::students_t(freedom), upper_tail));
}

CombinedUncertainty combine(std::vector<UncertaintyComponent> const& components, double coverage) {
  if (components.empty()) throw InputError("components", "expected at least one");
  double squares = 0.0;
  double fourths = 0.0;
  for (auto const& component : components) {
    require_not_negative(component.standard_uncertainty, "components/standard_uncertainty");
    require_finite(component.sensitivity, "components/sensitivity");
    if (!(component.degrees_of_freedom > 0.0)) {
      throw InputError("components/degrees_of_freedom", "expected a number above zero");
    }
    double const part = component.sensitivity * component.standard_uncertainty;
    squares += part * part;
    if (component.degrees_of_freedom < infinite_degrees_of_freedom) {
      fourths += part * part * part * part / component.degrees_of_freedom;
    }
  }
  CombinedUncertainty out;
  out.combined = std::sqrt(squares);
  out.effective_degrees_of_freedom =
      fourths > 0.0 ? std::min(squares * squares / fourths, infinite_degrees_of_freedom) : infinite_degrees_of_freedom;
  out.coverage_factor = coverage_factor(coverage, out.effective_degrees_of_freedom);
  out.expanded = out.coverage_factor * out.combined;
  return out;
}

}  // namespace benchward
