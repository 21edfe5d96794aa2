// SPDX-License-Identifier: MIT
#include "limits/process/control_chart.hpp"

#include <algorithm>
#include <cmath>

#include "limits/correct/scalar.hpp"

namespace benchward {
namespace {

double mean_of(std::vector<double> const& values) {
  for (double const value : values) require_finite(value, "values");
  double sum = 0.0;
  for (double const value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

}  // namespace

IndividualsChart individuals_chart(std::vector<double> const& values, std::optional<double> target,
                                   std::optional<double> sigma) {
  if (values.empty() || (values.size() < 2 && !sigma)) {
    throw InputError("values", "expected at least two, or a standard deviation");
  }
  IndividualsChart chart{};
  double const mean = mean_of(values);
  chart.center = target.value_or(mean);
  require_finite(chart.center, "target");
  if (sigma) {
    require_positive(*sigma, "sigma");
    chart.sigma = *sigma;
  } else {
    double ranges = 0.0;
    for (std::size_t i = 1; i < values.size(); ++i) ranges += std::abs(values[i] - values[i - 1]);
    chart.sigma = ranges / static_cast<double>(values.size() - 1) / moving_range_d2;
  }
  chart.lower = chart.center - 3.0 * chart.sigma;
  chart.upper = chart.center + 3.0 * chart.sigma;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (!(chart.lower <= values[i] && values[i] <= chart.upper)) chart.signals.push_back(i);
  }
  return chart;
}

EwmaChart ewma_chart(std::vector<double> const& values, double target, double sigma, double weight) {
  if (values.empty()) throw InputError("values", "expected at least one");
  for (double const value : values) require_finite(value, "values");
  require_finite(target, "target");
  require_positive(sigma, "sigma");
  if (!(weight > 0.0 && weight <= 1.0)) throw InputError("weight", "expected above 0, at most 1");
  EwmaChart chart{};
  chart.center = target;
  double smoothed = target;
  double left = 1.0;  // (1 - weight)^(2 t)
  for (std::size_t i = 0; i < values.size(); ++i) {
    smoothed = weight * values[i] + (1.0 - weight) * smoothed;
    left *= (1.0 - weight) * (1.0 - weight);
    double const reach = 3.0 * sigma * std::sqrt(weight / (2.0 - weight) * (1.0 - left));
    chart.smoothed.push_back(smoothed);
    chart.lower.push_back(target - reach);
    chart.upper.push_back(target + reach);
    if (!(std::abs(smoothed - target) <= reach)) chart.signals.push_back(i);
  }
  return chart;
}

Capability capability(std::vector<double> const& values, std::optional<double> lower, std::optional<double> upper) {
  if (values.size() < 2) throw InputError("values", "expected at least two");
  Capability out{};
  out.mean = mean_of(values);
  double squares = 0.0;
  for (double const value : values) {
    double const off = value - out.mean;
    squares += off * off;
  }
  out.standard_deviation = std::sqrt(squares / static_cast<double>(values.size() - 1));
  if (lower) require_finite(*lower, "lower");
  if (upper) require_finite(*upper, "upper");
  if (!(out.standard_deviation > 0.0)) throw InputError("values", "all the same: no capability can be stated");
  if (lower && upper) {
    if (!(*lower < *upper)) throw InputError("upper", "expected above the lower limit");
    out.cp = (*upper - *lower) / (6.0 * out.standard_deviation);
  }
  if (upper) out.cpk = (*upper - out.mean) / (3.0 * out.standard_deviation);
  if (lower) {
    double const to_lower = (out.mean - *lower) / (3.0 * out.standard_deviation);
    out.cpk = out.cpk ? std::min(*out.cpk, to_lower) : to_lower;
  }
  return out;
}

}  // namespace benchward
