// SPDX-License-Identifier: MIT
#pragma once

/// Snapshots of the analyser put together: per element the mean volts, amperes and watts, the watts freed from the
/// measuring system's phase error. What the no-load, load-loss and induced evaluations share.

#include <vector>

#include "../correct/load_loss.hpp"
#include "measured_values.hpp"

namespace benchward {

struct PowerElement {
  Uncertain volts_rms, volts_average, amperes;
  Uncertain measured_w;   ///< as read, known gain and offset errors taken out
  Uncertain apparent_va;  ///< of this element: with line volts and three elements, line / sqrt(3) x amperes
  std::optional<Uncertain> phase_error_rad;
  Uncertain watts;  ///< after equation 4-5
};

struct PowerMeans {
  std::vector<PowerElement> elements;
  Uncertain frequency_hz;
  Uncertain volts_rms, volts_average;        ///< means over the elements, as they were read (line or neutral)
  Uncertain amperes;                         ///< mean over the elements
  Uncertain measured_w, watts, apparent_va;  ///< sums
};

enum class AverageVolts { needed, not_needed };

/// Notes readings that are not GOOD, snapshots of different make, and impossible triples: |P| > 1.02 V I.
PowerMeans mean_power(MeasuredValues& values, std::vector<PowerSnapshot const*> const& snapshots, bool line_to_line,
                      int phases, AverageVolts average, Noise noise);

/// Watts of an element freed from the phase error; a reading that its noise carries just above V I is taken at angle 0.
template <class T>
T without_phase_error(T const& measured_w, T const& apparent_va, T const& phase_error_rad) {
  using std::cos;
  if (std::abs(value_of(measured_w)) >= value_of(apparent_va)) return measured_w * cos(phase_error_rad);
  return correct_phase_error(measured_w, apparent_va, phase_error_rad);
}

/// Notes a frequency further than 0.5 % from rated (appendix A 4.4 and 4.5 of 10 CFR 431 subpart K), or none.
void check_frequency(MeasuredValues& values, Uncertain const& frequency_hz, Frequency rated);

/// Standard deviation of the mean over the mean, with n - 1 degrees of freedom; nothing for fewer than three.
struct RelativeScatter {
  double of_mean;
  double degrees_of_freedom;
};
/// Why readings that scatter so are worth nothing; empty where they do not: one reading is off by 1 % and more (common
/// practice, no source), no sound analyser on a steady source does that.
std::string scatters_too_much(std::optional<RelativeScatter> const& scatter);
std::optional<RelativeScatter> relative_scatter(std::vector<double> const& numbers);

}  // namespace benchward
