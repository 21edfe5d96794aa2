// SPDX-License-Identifier: MIT
#pragma once

/// What is known of an instrument's errors, as the bench document states it from the calibration certificate.

#include <string>
#include <vector>

namespace benchward {

/// Error data of one kind of channel of an instrument. All uncertainties are standard uncertainties (k = 1).
/// The measured value x is corrected first (`x * (1 - gain_correction) - offset_correction`), then carries
/// u^2 = (relative_u * x)^2 + offset_u^2 + (least_count^2 / 12) + (drift_relative_per_year * years * x)^2 / 3.
struct ChannelCalibration {
  std::string quantity;                  ///< "voltage", "current", "power", "resistance", "ratio", "temperature",
                                         ///< "frequency", "phase", "dielectric_voltage", "dielectric_current"
  std::string unit;                      ///< "V", "A", "W", "ohm", "1", "degC", "Hz", "rad": of the offset fields
  double relative_u = 0.0;               ///< of the value; one systematic error a bench, shared by all readings
  double offset_u = 0.0;                 ///< in `unit`; systematic
  double least_count = 0.0;              ///< in `unit`
  double noise_u = 0.0;                  ///< in `unit`, of one reading; independent from reading to reading
  double noise_relative_u = 0.0;         ///< of the value, of one reading; independent from reading to reading
  double gain_correction = 0.0;          ///< known relative error, taken out
  double offset_correction = 0.0;        ///< known error in `unit`, taken out
  double phase_error_rad = 0.0;          ///< power channels: B by computation a.7; > 0 = reads too much for a lagging
                                         ///< load; known error, taken out
  double phase_u_rad = 0.0;              ///< of B
  double drift_relative_per_year = 0.0;  ///< half width of a rectangular distribution
};

/// One instrument's calibration state.
struct Calibration {
  std::string certificate;
  std::string calibrated_on;  ///< ISO date
  std::string due_on;         ///< ISO date; after it no result is for record
  std::vector<ChannelCalibration> channels;

  /// The channel data of a quantity, or nullptr where the certificate says nothing of it.
  ChannelCalibration const* channel(std::string const& quantity) const {
    for (auto const& entry : channels) {
      if (entry.quantity == quantity) return &entry;
    }
    return nullptr;
  }
};

}  // namespace benchward
