// SPDX-License-Identifier: MIT
#include "sim/instruments/channel_errors.hpp"

#include <cmath>

namespace benchward::sim {
namespace {

// The simulated bench stands half a year after its calibration.
constexpr double years = 0.5;

}  // namespace

ChannelErrors::ChannelErrors(Calibration const& calibration, std::uint64_t seed) : random_(seed) {
  std::uniform_real_distribution<double> drift(-1.0, 1.0);
  for (auto const& channel : calibration.channels) {
    Drawn drawn;
    drawn.gain = channel.relative_u * normal_(random_) + channel.drift_relative_per_year * years * drift(random_);
    drawn.offset = channel.offset_u * normal_(random_);
    drawn.gain_correction = channel.gain_correction;
    drawn.offset_correction = channel.offset_correction;
    drawn.noise = channel.noise_u;
    drawn.noise_relative = channel.noise_relative_u;
    drawn_[channel.quantity] = drawn;
    if (channel.quantity == "power") phase_error_ = channel.phase_error_rad + channel.phase_u_rad * normal_(random_);
  }
}

double ChannelErrors::made(Drawn const& d, double gain, double true_value) {
  double const corrected = true_value * (1.0 + gain) + d.offset;
  double value = (corrected + d.offset_correction) / (1.0 - d.gain_correction);
  if (d.noise > 0.0) value += d.noise * normal();
  if (d.noise_relative > 0.0) value += d.noise_relative * std::abs(true_value) * normal();
  return value;
}

double ChannelErrors::reading(std::string const& quantity, double true_value) {
  auto const found = drawn_.find(quantity);
  return found == drawn_.end() ? true_value : made(found->second, found->second.gain, true_value);
}

double ChannelErrors::reading_without_gain(std::string const& quantity, double true_value) {
  auto const found = drawn_.find(quantity);
  return found == drawn_.end() ? true_value : made(found->second, 0.0, true_value);
}

double ChannelErrors::gain(std::string const& quantity) const {
  auto const found = drawn_.find(quantity);
  return found == drawn_.end() ? 0.0 : found->second.gain;
}

}  // namespace benchward::sim
