// SPDX-License-Identifier: MIT
#include "limits/uncertainty/decision.hpp"

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <limits>

#include "limits/uncertainty/uncertain.hpp"

namespace benchward {
namespace {

double below(double x) { return boost::math::cdf(boost::math::normal(), x); }

/// Distance from the nearest limit, above zero inside; NaN where the value is none. Without limits: infinite.
double room_inside(double value, std::optional<double> lower, std::optional<double> upper) {
  double room = std::numeric_limits<double>::infinity();
  if (std::isnan(value)) return std::numeric_limits<double>::quiet_NaN();
  if (lower) room = std::min(room, value - *lower);
  if (upper) room = std::min(room, *upper - value);
  if ((lower && std::isnan(*lower)) || (upper && std::isnan(*upper))) return std::numeric_limits<double>::quiet_NaN();
  return room;
}

}  // namespace

double probability_conforming(double value, double standard_uncertainty, std::optional<double> lower,
                              std::optional<double> upper) {
  require_finite(value, "value");
  require_not_negative(standard_uncertainty, "standard_uncertainty");
  if (lower) require_finite(*lower, "lower");
  if (upper) require_finite(*upper, "upper");
  if (standard_uncertainty == 0.0) return room_inside(value, lower, upper) >= 0.0 ? 1.0 : 0.0;
  double const above_lower = lower ? below((value - *lower) / standard_uncertainty) : 1.0;
  double const above_upper = upper ? below((value - *upper) / standard_uncertainty) : 0.0;
  return std::max(0.0, above_lower - above_upper);
}

double expanded_for_decision(Uncertainty const& uncertainty) {
  return coverage_factor(decision_coverage, uncertainty.degrees_of_freedom) * uncertainty.standard;
}

Verdict decide_with_guard(double value, double guard, std::optional<double> lower, std::optional<double> upper) {
  if (!lower && !upper) return Verdict::not_judged;
  double const room = room_inside(value, lower, upper);
  // Every comparison is written so that a number that is none ends in fail.
  if (!(guard >= 0.0)) return Verdict::fail;
  if (room >= guard && room >= 0.0) return Verdict::pass;
  if (room >= 0.0) return Verdict::conditional_pass;
  if (room > -guard) return Verdict::conditional_fail;
  return Verdict::fail;
}

Verdict decide(double value, std::optional<Uncertainty> const& uncertainty, std::optional<double> lower,
               std::optional<double> upper, DecisionRule const& rule) {
  if (!lower && !upper) return Verdict::not_judged;
  if (rule.name == "simple_acceptance") return decide_with_guard(value, 0.0, lower, upper);
  if (!uncertainty) throw InputError("uncertainty", "the rule " + rule.name + " needs one, and there is none");
  if (rule.name == "guard_band") {
    return decide_with_guard(value, rule.guard_factor * expanded_for_decision(*uncertainty), lower, upper);
  }
  if (rule.name != "specific_risk") throw InputError("decision", "unknown rule " + rule.name);
  if (rule.prior != "flat")
    throw InputError("decision", "only the flat prior can be applied to one unit, got " + rule.prior);
  if (!std::isfinite(value) || !std::isfinite(uncertainty->standard)) return Verdict::fail;
  double const probability = probability_conforming(value, uncertainty->standard, lower, upper);
  if (probability >= 1.0 - rule.risk) return Verdict::pass;
  if (probability >= 0.5) return Verdict::conditional_pass;
  if (probability > rule.risk) return Verdict::conditional_fail;
  return Verdict::fail;
}

GlobalRisk global_risk(double process_mean, double process_deviation, double standard_uncertainty,
                       std::optional<double> lower_tolerance, std::optional<double> upper_tolerance,
                       std::optional<double> lower_acceptance, std::optional<double> upper_acceptance) {
  require_finite(process_mean, "process_mean");
  require_positive(process_deviation, "process_deviation");
  require_positive(standard_uncertainty, "standard_uncertainty");
  constexpr double far = 12.0;  // standard deviations: the tail beyond is below 1e-32
  auto const accepted = [&](double x) {
    double const high = upper_acceptance ? below((*upper_acceptance - x) / standard_uncertainty) : 1.0;
    double const low = lower_acceptance ? below((*lower_acceptance - x) / standard_uncertainty) : 0.0;
    return high - low;
  };
  auto const density = [&](double x) {
    double const z = (x - process_mean) / process_deviation;
    return std::exp(-0.5 * z * z) / (process_deviation * 2.50662827463100050242);
  };
  auto const integral = [&](auto const& function, double from, double to) {
    if (!(from < to)) return 0.0;
    return boost::math::quadrature::gauss_kronrod<double, 31>::integrate(function, from, to, 12, 1e-12);
  };
  double const first = process_mean - far * process_deviation;
  double const last = process_mean + far * process_deviation;
  double const low = lower_tolerance ? std::clamp(*lower_tolerance, first, last) : first;
  double const high = upper_tolerance ? std::clamp(*upper_tolerance, first, last) : last;
  auto const wrongly_accepted = [&](double x) { return density(x) * accepted(x); };
  auto const wrongly_rejected = [&](double x) { return density(x) * (1.0 - accepted(x)); };
  GlobalRisk risk;
  risk.consumer = integral(wrongly_accepted, first, low) + integral(wrongly_accepted, high, last);
  risk.producer = integral(wrongly_rejected, low, high);
  return risk;
}

Verdict worse(Verdict a, Verdict b) {
  auto const rank = [](Verdict verdict) {
    switch (verdict) {
      case Verdict::pass:
        return 0;
      case Verdict::conditional_pass:
        return 1;
      case Verdict::not_judged:
        return 2;
      case Verdict::conditional_fail:
        return 3;
      case Verdict::fail:
        return 4;
    }
    return 4;
  };
  return rank(a) >= rank(b) ? a : b;
}

}  // namespace benchward
