// SPDX-License-Identifier: MIT
#include "limits/evaluate/power_means.hpp"

#include <fmt/format.h>

#include <cmath>

namespace benchward {
namespace {

template <class Q>
std::vector<Reading<Q>> of_element(std::vector<PowerSnapshot const*> const& snapshots,
                                   std::vector<Reading<Q>> PowerSnapshot::*list, std::size_t element) {
  std::vector<Reading<Q>> readings;
  readings.reserve(snapshots.size());
  for (auto const* snapshot : snapshots) readings.push_back((snapshot->*list)[element]);
  return readings;
}

/// Every snapshot must have the same elements, complete.
bool same_make(MeasuredValues& values, std::vector<PowerSnapshot const*> const& snapshots, int phases,
               AverageVolts average) {
  if (snapshots.empty()) {
    values.invalid("no snapshot of the power analyser");
    return false;
  }
  std::size_t const elements = snapshots.front()->active.size();
  bool const count_fits = phases == 1 ? elements == 1 : elements == 2 || elements == 3;
  if (!count_fits) {
    values.invalid(fmt::format("{} wattmeter elements for a unit of {} phase(s)", elements, phases));
    return false;
  }
  for (auto const* snapshot : snapshots) {
    if (snapshot->active.size() != elements || snapshot->amperes.size() != elements ||
        snapshot->volts_rms.size() != elements ||
        (average == AverageVolts::needed && snapshot->volts_average.size() != elements)) {
      values.invalid(
          "a snapshot of the power analyser is incomplete: volts, amperes and watts of each element are needed");
      return false;
    }
  }
  return true;
}

}  // namespace

PowerMeans mean_power(MeasuredValues& values, std::vector<PowerSnapshot const*> const& snapshots, bool line_to_line,
                      int phases, AverageVolts average, Noise noise) {
  PowerMeans means;
  if (!same_make(values, snapshots, phases, average)) return means;
  auto const elements = snapshots.front()->active.size();
  auto const share = 1.0 / static_cast<double>(elements);
  std::vector<Reading<Frequency>> frequencies;
  frequencies.reserve(snapshots.size());
  for (auto const* snapshot : snapshots) frequencies.push_back(snapshot->frequency);
  means.frequency_hz = values.mean(frequencies, "frequency", noise);
  for (std::size_t k = 0; k < elements; ++k) {
    PowerElement element;
    element.volts_rms = values.mean(of_element(snapshots, &PowerSnapshot::volts_rms, k), "voltage", noise);
    if (average == AverageVolts::needed) {
      element.volts_average = values.mean(of_element(snapshots, &PowerSnapshot::volts_average, k), "voltage", noise);
    }
    element.amperes = values.mean(of_element(snapshots, &PowerSnapshot::amperes, k), "current", noise);
    auto const active = of_element(snapshots, &PowerSnapshot::active, k);
    element.measured_w = values.mean(active, "power", noise);
    if (!values.usable()) return means;
    element.phase_error_rad = values.phase_error(active.front().origin);
    means.volts_rms += share * element.volts_rms;
    means.volts_average += share * element.volts_average;
    means.amperes += share * element.amperes;
    means.measured_w += element.measured_w;
    means.elements.push_back(std::move(element));
  }
  for (std::size_t k = 0; k < elements; ++k) {
    auto& element = means.elements[k];
    // With line volts the element itself sees line to neutral; two elements see the line volts as they are.
    Uncertain const seen = line_to_line && elements == 3 ? means.volts_rms / std::sqrt(3.0) : element.volts_rms;
    element.apparent_va = seen * element.amperes;
    double const largest = 1.02 * std::abs(element.apparent_va.value());
    if (std::abs(element.measured_w.value()) > largest) {
      auto const& origin = snapshots.front()->active[k].origin;
      values.invalid(
          fmt::format("{} of {} reads {:.6g} W, more than volts times amperes ({:.6g} VA): not a possible "
                      "reading. Look at scale factors and at which channel is which",
                      origin.channel, origin.instrument, element.measured_w.value(), element.apparent_va.value()));
      return means;
    }
    element.watts = element.phase_error_rad
                        ? without_phase_error(element.measured_w, element.apparent_va, *element.phase_error_rad)
                        : element.measured_w;
    means.watts += element.watts;
    means.apparent_va += element.apparent_va;
  }
  return means;
}

void check_frequency(MeasuredValues& values, Uncertain const& frequency_hz, Frequency rated) {
  constexpr double frequency_within = 0.005;
  double const rated_hz = rated.in(hertz);
  double const hz = frequency_hz.value();
  if (std::abs(hz - rated_hz) <= frequency_within * rated_hz) return;
  values.invalid(
      fmt::format("frequency {:.4f} Hz, rated {:.4g} Hz: hold it within 0.5 % and test again", hz, rated_hz));
}

std::string scatters_too_much(std::optional<RelativeScatter> const& scatter) {
  constexpr double largest_of_one_reading = 0.01;
  if (!scatter) return "";
  double const of_one = scatter->of_mean * std::sqrt(scatter->degrees_of_freedom + 1.0);
  if (!(of_one > largest_of_one_reading)) return "";
  return fmt::format(
      "the readings of the loss scatter by {:.1f} %: look for a loose lead or a noisy channel, then measure again",
      100.0 * of_one);
}

std::optional<RelativeScatter> relative_scatter(std::vector<double> const& numbers) {
  if (numbers.size() < 3) return std::nullopt;
  auto const count = static_cast<double>(numbers.size());
  double mean = 0.0;
  for (double const number : numbers) mean += number / count;
  double squares = 0.0;
  for (double const number : numbers) {
    double const off = number - mean;
    squares += off * off;
  }
  if (!(std::abs(mean) > 0.0)) return std::nullopt;
  return RelativeScatter{std::sqrt(squares / (count - 1.0) / count) / std::abs(mean), count - 1.0};
}

}  // namespace benchward
