// SPDX-License-Identifier: MIT
#include "limits/evaluate/measured_values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace benchward {
namespace {

/// Days since 1970-01-01 of a Gregorian date (the usual count of eras of 400 years).
int day_number(int year, int month, int day) {
  year -= month <= 2 ? 1 : 0;
  int const era = (year >= 0 ? year : year - 399) / 400;
  int const of_era = year - era * 400;
  int const of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

std::optional<int> day_number(std::string const& iso) {
  if (iso.size() < 10 || iso[4] != '-' || iso[7] != '-') return std::nullopt;
  int part[3] = {0, 0, 0};
  int const at[3] = {0, 5, 8};
  int const length[3] = {4, 2, 2};
  for (int i = 0; i < 3; ++i) {
    char const* const first = iso.data() + at[i];
    auto const [end, error] = std::from_chars(first, first + length[i], part[i]);
    if (error != std::errc() || end != first + length[i]) return std::nullopt;
  }
  if (part[1] < 1 || part[1] > 12 || part[2] < 1 || part[2] > 31) return std::nullopt;
  return day_number(part[0], part[1], part[2]);
}

char const* word(Quality quality) {
  switch (quality) {
    case Quality::good:
      return "GOOD, but not a finite number";
    case Quality::uncertain:
      return "UNCERTAIN";
    case Quality::bad:
      break;
  }
  return "BAD";
}

}  // namespace

std::optional<int> days_between(std::string const& from, std::string const& to) {
  auto const first = day_number(from);
  auto const last = day_number(to);
  if (!first || !last) return std::nullopt;
  return *last - *first;
}

void MeasuredValues::not_good(ReadingOrigin const& origin, Quality quality, char const* what) {
  if (origin.instrument.empty()) {
    invalid(fmt::format("{} was not read", what));
    return;
  }
  invalid(fmt::format("{} of {} is {} ({}): look at the instrument and its leads, then measure again", origin.channel,
                      origin.instrument, word(quality), what));
}

ChannelCalibration const* MeasuredValues::channel(ReadingOrigin const& origin, std::string const& quantity) {
  auto const found = context_.calibration.find(origin.instrument);
  if (found == context_.calibration.end()) {
    missing_.insert(fmt::format("{} has no calibration data", origin.instrument));
    return nullptr;
  }
  auto const& calibration = found->second;
  if (looked_at_.insert(origin.instrument).second && !calibration.due_on.empty()) {
    auto const left = days_between(context_.today, calibration.due_on);
    if (!left) {
      invalid(fmt::format("calibration of {}: due date \"{}\" or today's date \"{}\" is no date", origin.instrument,
                          calibration.due_on, context_.today));
    } else if (*left < 0) {
      invalid(
          fmt::format("calibration of {} (certificate {}) was due on {}: no result is for record until it is "
                      "calibrated",
                      origin.instrument, calibration.certificate, calibration.due_on));
    }
  }
  auto const* const entry = calibration.channel(quantity);
  if (entry == nullptr) {
    missing_.insert(fmt::format("the certificate of {} says nothing of {}", origin.instrument, quantity));
  }
  return entry;
}

Uncertain MeasuredValues::mean_of(std::vector<double> const& numbers, ReadingOrigin const& origin,
                                  std::string const& quantity, Noise noise) {
  auto const count = static_cast<double>(numbers.size());
  double mean = 0.0;
  for (double const number : numbers) mean += number / count;
  double squares = 0.0;
  for (double const number : numbers) squares += (number - mean) * (number - mean);

  auto const* const data = channel(origin, quantity);
  std::string const who = origin.instrument + "/" + quantity;
  double value = mean;
  if (data != nullptr) value = mean * (1.0 - data->gain_correction) - data->offset_correction;
  Uncertain out(value);
  if (noise == Noise::observed && numbers.size() >= 2) {
    out += inputs_.input(unique(who + "/scatter"), 0.0, std::sqrt(squares / (count - 1.0) / count), count - 1.0);
  }
  if (data == nullptr) return out;
  out += inputs_.input(who + "/gain", 0.0, data->relative_u * std::abs(value));
  out += inputs_.input(who + "/offset", 0.0, data->offset_u);
  out += inputs_.input(unique(who + "/resolution"), 0.0, data->least_count / std::sqrt(12.0));
  if (data->drift_relative_per_year > 0.0) {
    auto const& calibration = context_.calibration.find(origin.instrument)->second;
    auto const days = days_between(calibration.calibrated_on, context_.today);
    if (!days) {
      missing_.insert(fmt::format("the drift of {} cannot be stated: calibrated on \"{}\"", origin.instrument,
                                  calibration.calibrated_on));
    } else {
      double const years = std::max(0, *days) / 365.25;
      out +=
          inputs_.input(who + "/drift", 0.0, data->drift_relative_per_year * years * std::abs(value) / std::sqrt(3.0));
    }
  }
  if (noise == Noise::stated || (noise == Noise::observed && numbers.size() < 2)) {
    double const of_one = std::hypot(data->noise_u, data->noise_relative_u * value);
    out += inputs_.input(unique(who + "/noise"), 0.0, of_one / std::sqrt(count));
  }
  return out;
}

std::optional<Uncertain> MeasuredValues::phase_error(ReadingOrigin const& origin) {
  auto const* const data = channel(origin, "power");
  if (data == nullptr || (data->phase_error_rad == 0.0 && data->phase_u_rad == 0.0)) return std::nullopt;
  return data->phase_error_rad + inputs_.input(origin.instrument + "/power/phase", 0.0, data->phase_u_rad);
}

double MeasuredValues::smallest_proof(ReadingOrigin const& origin, std::string const& quantity) const {
  auto const found = context_.calibration.find(origin.instrument);
  if (found == context_.calibration.end()) return 0.0;
  auto const* const data = found->second.channel(quantity);
  if (data == nullptr) return 0.0;
  return std::max(3.0 * data->noise_u, data->least_count);
}

void MeasuredValues::put(Result& result, Uncertain const& value) const {
  result.value = value.value();
  if (uncertainty_known()) result.uncertainty = inputs_.of(value);
}

void MeasuredValues::finish(Evaluation& evaluation) const {
  if (invalid_reason_ && !evaluation.invalid_reason) evaluation.invalid_reason = invalid_reason_;
  for (auto const& text : missing_) evaluation.warnings.push_back("No uncertainty can be stated: " + text);
}

Uncertain liquid_temperature(MeasuredValues& values, TemperatureReadings const& readings) {
  bool const wall = readings.mode == "wall_sensor";
  if (!wall && readings.mode != "own_sensors" && readings.mode != "witness_unit" &&
      readings.mode != "family_resistance") {
    values.invalid(fmt::format("\"{}\" is no way in which a temperature can stand for the winding's", readings.mode));
    return Uncertain(0.0);
  }
  if (wall && (readings.top.good() != readings.bottom.good())) {
    return values.one(readings.top.good() ? readings.top : readings.bottom, "temperature");
  }
  Uncertain const top = values.one(readings.top, "temperature");
  Uncertain const bottom = values.one(readings.bottom, "temperature");
  if (!values.usable()) return Uncertain(0.0);
  double const half_width = std::abs(top.value() - bottom.value()) / 2.0;
  // Where between top and bottom the winding's mean lies is known only to half of the difference: rectangular.
  return (top + bottom) / 2.0 +
         values.inputs().input("liquid/between top and bottom", 0.0, half_width / std::sqrt(3.0));
}

}  // namespace benchward
