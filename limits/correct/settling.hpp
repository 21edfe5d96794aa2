// SPDX-License-Identifier: MIT
#pragma once

/// Has a direct-current resistance reading settled, and how long is there to wait? The recorded resistance is the mean
/// of readings after (slope x remaining time) falls below 0.1 % of it; a fitted value is never recorded, because one
/// exponential is a biased model of a saturating core or of a closed delta on the other side.

#include <optional>
#include <vector>

namespace benchward {

struct SettlingSample {
  double time_s = 0.0;
  double resistance_ohm = 0.0;
};

/// |slope| x remaining time over the mean, slope by least squares over the samples; needs at least three.
/// `remaining_s`: the time that the recorded readings will still take.
double predicted_change_relative(std::vector<SettlingSample> const& samples, double remaining_s);

/// Tail R(t) = R_inf + A exp(-t / tau) through the samples (equally spaced in time, at least three), for the waiting
/// time only. Empty where the samples do not decay towards a value (noise, drift that grows).
struct SettlingFit {
  double final_ohm;
  double amplitude_ohm;  ///< at the first sample
  double time_constant_s;
  /// Seconds from the first sample until the tail is within `relative` of the final value.
  double seconds_until_within(double relative) const;
};
std::optional<SettlingFit> fit_tail(std::vector<SettlingSample> const& samples);

}  // namespace benchward
