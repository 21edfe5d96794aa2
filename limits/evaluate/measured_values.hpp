// SPDX-License-Identifier: MIT
#pragma once

/// From readings to values with uncertainty, by the calibration data of the instruments that made them. Known errors
/// are taken out first; what is systematic is one source of error for all readings of that instrument, so that it is
/// correlated wherever it occurs twice; noise and resolution are independent.

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "../uncertainty/uncertain.hpp"
#include "evaluate.hpp"

namespace benchward {

inline double plain(Voltage value) { return value.in(volts); }
inline double plain(Current value) { return value.in(amperes); }
inline double plain(ActivePower value) { return value.in(watts); }
inline double plain(Resistance value) { return value.in(ohms); }
inline double plain(Frequency value) { return value.in(hertz); }
inline double plain(Angle value) { return value.in(radians); }
inline double plain(Temperature value) { return value.in(celsius); }
inline double plain(Number value) { return value.value(); }

/// Where the independent part of a mean's uncertainty comes from.
enum class Noise {
  stated,    ///< the certificate's noise of one reading over the root of their number
  observed,  ///< scatter of these readings, n - 1 degrees of freedom (JCGM 100 4.2); needs at least two
  elsewhere  ///< the evaluation has it from the scatter of the finished quantity
};

/// The values of one evaluation. Finds what makes the measurement one that cannot be judged, first cause first.
class MeasuredValues {
 public:
  explicit MeasuredValues(EvaluationContext const& context) : context_(context) {}

  UncertaintyInputs& inputs() { return inputs_; }

  /// Notes why the measurement cannot be judged; the first reason stands.
  void invalid(std::string reason) {
    if (!invalid_reason_) invalid_reason_ = std::move(reason);
  }
  bool usable() const { return !invalid_reason_.has_value(); }
  /// False where an instrument's certificate says nothing of a quantity: the results then have no uncertainty.
  bool uncertainty_known() const { return missing_.empty(); }

  /// Looks at the reading's quality; a reading that is not GOOD is noted by instrument and channel.
  template <class Q>
  bool good(Reading<Q> const& reading, char const* what) {
    if (reading.good()) return true;
    not_good(reading.origin, reading.quality, what);
    return false;
  }

  template <class Q>
  Uncertain one(Reading<Q> const& reading, char const* quantity, Noise noise = Noise::stated) {
    if (!good(reading, quantity)) return Uncertain(0.0);
    return mean_of({plain(reading.value)}, reading.origin, quantity, noise);
  }

  template <class Q>
  Uncertain mean(std::vector<Reading<Q>> const& readings, char const* quantity, Noise noise) {
    std::vector<double> numbers;
    for (auto const& reading : readings) {
      if (!good(reading, quantity)) return Uncertain(0.0);
      numbers.push_back(plain(reading.value));
    }
    if (numbers.empty()) {
      invalid(std::string("no reading of ") + quantity);
      return Uncertain(0.0);
    }
    return mean_of(numbers, readings.front().origin, quantity, noise);
  }

  /// Mean of raw numbers of one channel, corrected, with its sources of error.
  Uncertain mean_of(std::vector<double> const& numbers, ReadingOrigin const& origin, std::string const& quantity,
                    Noise noise);

  /// The instrument's phase error B of its power channel (10 CFR 431 subpart K appendix A 4.5.3.2), shared; nothing
  /// where the certificate states neither an error nor an uncertainty.
  std::optional<Uncertain> phase_error(ReadingOrigin const& origin);

  /// Three times the stated noise, or the least count where that is more: what proves that there is something at all.
  double smallest_proof(ReadingOrigin const& origin, std::string const& quantity) const;

  /// Value and, if known, uncertainty into a result.
  void put(Result& result, Uncertain const& value) const;
  /// Reason and warnings into the evaluation.
  void finish(Evaluation& evaluation) const;

 private:
  void not_good(ReadingOrigin const& origin, Quality quality, char const* what);
  ChannelCalibration const* channel(ReadingOrigin const& origin, std::string const& quantity);
  std::string unique(std::string const& name) { return name + "#" + std::to_string(++count_); }

  EvaluationContext const& context_;
  UncertaintyInputs inputs_;
  std::optional<std::string> invalid_reason_;
  std::set<std::string> missing_;
  std::set<std::string> looked_at_;
  int count_ = 0;
};

/// Whole days from one ISO date to another; nothing where one of them is no date.
std::optional<int> days_between(std::string const& from, std::string const& to);

/// Temperature of winding and core out of the sensors (appendix A 3.2.1): mean of top and bottom, with half of their
/// difference as half width of what is not known. Notes what is missing.
Uncertain liquid_temperature(MeasuredValues& values, TemperatureReadings const& readings);

}  // namespace benchward
