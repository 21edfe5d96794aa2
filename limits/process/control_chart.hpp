// SPDX-License-Identifier: MIT
#pragma once

/// Control charts and capability, by which a drifting steel lot, winder or meter shows before units fail.
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, chapter 6 (6.1.6 capability, 6.3.2.2 individuals,
/// 6.3.2.4 EWMA).

#include <cstddef>
#include <optional>
#include <vector>

namespace benchward {

inline constexpr double moving_range_d2 = 1.128;  ///< expected range of two normal values, in standard deviations

struct IndividualsChart {
  double center, lower, upper;
  double sigma;                      ///< used: given, or mean moving range / 1.128
  std::vector<std::size_t> signals;  ///< positions outside the limits
};
/// Centre = target or, without one, the mean; limits = centre -+ 3 sigma; sigma given or from moving ranges of two.
IndividualsChart individuals_chart(std::vector<double> const& values, std::optional<double> target = {},
                                   std::optional<double> sigma = {});

struct EwmaChart {
  double center;
  std::vector<double> smoothed, lower, upper;  ///< one per value; limits exact for the number of values so far
  std::vector<std::size_t> signals;
};
/// z_t = w x_t + (1 - w) z_(t-1), z_0 = target; limits target -+ 3 sigma sqrt(w / (2 - w) (1 - (1 - w)^(2 t))).
EwmaChart ewma_chart(std::vector<double> const& values, double target, double sigma, double weight = 0.3);

struct Capability {
  double mean, standard_deviation;  ///< n - 1 in the divisor
  std::optional<double> cp;         ///< both limits needed
  std::optional<double> cpk;
};
Capability capability(std::vector<double> const& values, std::optional<double> lower, std::optional<double> upper);

}  // namespace benchward
