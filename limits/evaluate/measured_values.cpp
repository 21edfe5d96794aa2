// SPDX-License-Identifier: MIT
#include "limits/evaluate/measured_values.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string_view>

namespace benchward {
namespace {

std::optional<int> digits(std::string_view text) {
  int number = 0;
  for (char const c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    number = 10 * number + (c - '0');
  }
  return number;
}

/// The day that an ISO date (or the beginning of an instant) names; nothing where there is no such day.
std::optional<std::chrono::sys_days> day_of(std::string_view iso) {
  if (iso.size() < 10 || iso[4] != '-' || iso[7] != '-') return std::nullopt;
  auto const year = digits(iso.substr(0, 4));
  auto const month = digits(iso.substr(5, 2));
  auto const day = digits(iso.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  std::chrono::year_month_day const date{std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_days(date);
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
  auto const first = day_of(from);
  auto const last = day_of(to);
  if (!first || !last) return std::nullopt;
  return static_cast<int>((*last - *first).count());
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
  for (double const number : numbers) {
    double const off = number - mean;
    squares += off * off;
  }

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
