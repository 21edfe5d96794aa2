// SPDX-License-Identifier: MIT
#include "limits/correct/settling.hpp"

#include <cmath>

#include "limits/correct/scalar.hpp"

namespace benchward {

double predicted_change_relative(std::vector<SettlingSample> const& samples, double remaining_s) {
  if (samples.size() < 3) throw InputError("samples", "expected at least three");
  require_not_negative(remaining_s, "remaining_s");
  auto const count = static_cast<double>(samples.size());
  double mean_time = 0.0;
  double mean_ohm = 0.0;
  for (auto const& sample : samples) {
    mean_time += sample.time_s / count;
    mean_ohm += sample.resistance_ohm / count;
  }
  double across = 0.0;
  double square = 0.0;
  for (auto const& sample : samples) {
    double const from_mean = sample.time_s - mean_time;
    across += from_mean * (sample.resistance_ohm - mean_ohm);
    square += from_mean * from_mean;
  }
  if (!(square > 0.0)) throw InputError("samples", "expected samples at different times");
  require_positive(mean_ohm, "samples");
  return std::abs(across / square) * remaining_s / mean_ohm;
}

double SettlingFit::seconds_until_within(double relative) const {
  double const allowed = std::abs(relative * final_ohm);
  double const now = std::abs(amplitude_ohm);
  return now <= allowed ? 0.0 : time_constant_s * std::log(now / allowed);
}

std::optional<SettlingFit> fit_tail(std::vector<SettlingSample> const& samples) {
  auto const count = samples.size();
  if (count < 3) throw InputError("samples", "expected at least three");
  double const step = (samples.back().time_s - samples.front().time_s) / static_cast<double>(count - 1);
  for (std::size_t i = 1; i < count; ++i) {
    double const gap = samples[i].time_s - samples[i - 1].time_s;
    if (!(std::abs(gap - step) <= 0.25 * step)) throw InputError("samples", "expected equal steps of time");
  }
  // Each difference is the one before times exp(-step / tau): least squares through the origin. Differences need no
  // knowledge of the final value, which is what one wants to know.
  double product = 0.0;
  double square = 0.0;
  for (std::size_t i = 2; i < count; ++i) {
    double const before = samples[i - 1].resistance_ohm - samples[i - 2].resistance_ohm;
    double const after = samples[i].resistance_ohm - samples[i - 1].resistance_ohm;
    product += before * after;
    square += before * before;
  }
  if (!(square > 0.0)) return std::nullopt;
  double const decay = product / square;
  if (!(decay > 0.0 && decay < 1.0)) return std::nullopt;
  // With the decay known, R_inf and A by a straight line over decay^i.
  double mean_power = 0.0;
  double mean_ohm = 0.0;
  std::vector<double> powers(count, 1.0);
  for (std::size_t i = 0; i < count; ++i) {
    if (i > 0) powers[i] = powers[i - 1] * decay;
    mean_power += powers[i] / static_cast<double>(count);
    mean_ohm += samples[i].resistance_ohm / static_cast<double>(count);
  }
  double across = 0.0;
  double spread = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    double const from_mean = powers[i] - mean_power;
    across += from_mean * (samples[i].resistance_ohm - mean_ohm);
    spread += from_mean * from_mean;
  }
  if (!(spread > 0.0)) return std::nullopt;
  SettlingFit fit{};
  fit.amplitude_ohm = across / spread;
  fit.final_ohm = mean_ohm - fit.amplitude_ohm * mean_power;
  fit.time_constant_s = -step / std::log(decay);
  if (!(fit.final_ohm > 0.0)) return std::nullopt;
  return fit;
}

}  // namespace benchward
