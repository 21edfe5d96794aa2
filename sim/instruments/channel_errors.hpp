// SPDX-License-Identifier: MIT
#pragma once

/// An instrument's errors, drawn once a bench from what its calibration declares. Systematic errors are shared by all
/// readings of a quantity; noise is fresh with each reading. Written so that a correction by the certificate leaves an
/// error of the declared standard uncertainty: reading = (true x (1 + g) + o + offset correction) / (1 - gain
/// correction).

#include <cstdint>
#include <map>
#include <random>
#include <string>

#include "../../limits/calibration.hpp"

namespace benchward::sim {

class ChannelErrors {
 public:
  ChannelErrors(Calibration const& calibration, std::uint64_t seed);

  /// A reading of the quantity whose true value (with all wiring errors) is this, in base units.
  double reading(std::string const& quantity, double true_value);
  /// The same without the gain error: where another declared quantity (resistance) carries it.
  double reading_without_gain(std::string const& quantity, double true_value);
  bool has(std::string const& quantity) const { return drawn_.find(quantity) != drawn_.end(); }
  /// Systematic part alone: what two channels that share a standard have in common.
  double gain(std::string const& quantity) const;
  /// The power channels' phase error B, radians; > 0 reads too much for a lagging load.
  double phase_error_rad() const { return phase_error_; }
  /// Zero mean, unit variance; fresh.
  double normal() { return normal_(random_); }

 private:
  struct Drawn {
    double gain = 0.0, offset = 0.0;
    double gain_correction = 0.0, offset_correction = 0.0;
    double noise = 0.0, noise_relative = 0.0;
  };
  double made(Drawn const& drawn, double gain, double true_value);

  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  std::map<std::string, Drawn> drawn_;
  double phase_error_ = 0.0;
};

}  // namespace benchward::sim
