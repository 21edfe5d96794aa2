// SPDX-License-Identifier: MIT
#include "limits/correct/efficiency.hpp"

#include <cmath>
#include <numeric>

#include "limits/uncertainty/uncertain.hpp"

namespace benchward {
namespace {

constexpr double loss_allowance = 0.08;  // of 429.47 and appendix C; from memory

void require_percent(double percent, char const* name) {
  if (!(percent > 0.0 && percent < 100.0)) throw InputError(name, "expected percent above 0 and below 100");
}

double mean_of(std::vector<double> const& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// 100 / (1 + (1 + 0.08/sqrt(n)) (100/RE - 1)).
double discounted(double represented_percent, std::size_t count) {
  double const factor = 1.0 + loss_allowance / std::sqrt(static_cast<double>(count));
  return 100.0 / (1.0 + factor * (100.0 / represented_percent - 1.0));
}

}  // namespace

RepresentedEfficiency represented_efficiency(std::vector<double> const& efficiencies_percent,
                                             double represented_percent) {
  if (efficiencies_percent.empty()) throw InputError("efficiencies_percent", "expected at least one value");
  for (double const one : efficiencies_percent) require_percent(one, "efficiencies_percent");
  require_percent(represented_percent, "represented_percent");
  RepresentedEfficiency out{};
  out.mean_percent = mean_of(efficiencies_percent);
  out.bound_percent = discounted(represented_percent, efficiencies_percent.size());
  out.compliant = out.mean_percent >= out.bound_percent;
  double const factor = 1.0 + loss_allowance / std::sqrt(static_cast<double>(efficiencies_percent.size()));
  out.highest_represented_percent = 100.0 / (1.0 + (100.0 / out.mean_percent - 1.0) / factor);
  return out;
}

EnforcementSample enforcement_sample(std::vector<double> const& test_efficiencies_percent, int units,
                                     double represented_percent) {
  auto const tests = test_efficiencies_percent.size();
  if (units < 1) throw InputError("units", "expected at least one");
  std::size_t const wanted = units >= 4   ? static_cast<std::size_t>(units)
                             : units == 1 ? 4U
                                          : 2U * static_cast<unsigned>(units);
  if (tests != wanted) {
    throw InputError("test_efficiencies_percent",
                     "expected one test a unit from four units on, two a unit of two or three, four of a single unit");
  }
  for (double const one : test_efficiencies_percent) require_percent(one, "test_efficiencies_percent");
  require_percent(represented_percent, "represented_percent");
  EnforcementSample out{};
  out.mean_percent = mean_of(test_efficiencies_percent);
  double squares = 0.0;
  for (double const one : test_efficiencies_percent) {
    double const off = one - out.mean_percent;
    squares += off * off;
  }
  auto const count = static_cast<double>(tests);
  out.standard_deviation = std::sqrt(squares / (count - 1.0));
  out.standard_error = out.standard_deviation / std::sqrt(count);
  out.sample_discount_percent = discounted(represented_percent, static_cast<std::size_t>(units));
  double const t = coverage_factor(0.95, count - 1.0);  // 97.5 % one-sided
  out.lower_limit_percent = out.sample_discount_percent - t * out.standard_error;
  if (out.mean_percent < out.lower_limit_percent) {
    out.decision = EnforcementSample::Decision::not_compliant;
    return out;
  }
  double const re = represented_percent;
  double const root = t * out.standard_deviation * (108.0 - 0.08 * re) / (re * (8.0 - 0.08 * re));
  double const needed = root * root;
  if (needed <= count) {
    out.decision = EnforcementSample::Decision::compliant;
    return out;
  }
  out.decision = EnforcementSample::Decision::second_sample;
  out.second_sample_tests = static_cast<int>(std::ceil(needed - count));
  return out;
}

}  // namespace benchward
