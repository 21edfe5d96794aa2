// SPDX-License-Identifier: MIT
#include "firmware_host/report/chart_scale.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

namespace benchward::report {
namespace {

std::vector<double> ticks(double low, double high) {
  double const rough = (high - low) / 5.0;
  double const power = std::pow(10.0, std::floor(std::log10(rough)));
  double const share = rough / power;
  double const step = power * (share < 1.5 ? 1.0 : share < 3.5 ? 2.0 : share < 7.5 ? 5.0 : 10.0);
  std::vector<double> values;
  for (double value = std::ceil(low / step) * step; value <= high + 1e-9 * step && values.size() < 12; value += step)
    values.push_back(std::abs(value) < 1e-9 * step ? 0.0 : value);
  return values;
}

void widen(double& low, double& high, double share) {
  double const room = high > low ? (high - low) * share : std::max(std::abs(high) * 0.01, 1e-9);
  low -= room;
  high += room;
}

}  // namespace

ChartScale scale_of(Chart const& chart) {
  ChartScale scale;
  if (chart.points.empty()) return scale;
  scale.x_low = scale.x_high = chart.points.front().first;
  scale.y_low = scale.y_high = chart.points.front().second;
  for (auto const& [x, y] : chart.points) {
    scale.x_low = std::min(scale.x_low, x - chart.bar_width / 2.0);
    scale.x_high = std::max(scale.x_high, x + chart.bar_width / 2.0);
    scale.y_low = std::min(scale.y_low, y);
    scale.y_high = std::max(scale.y_high, y);
  }
  if (chart.limit_x) {
    scale.x_low = std::min(scale.x_low, *chart.limit_x);
    scale.x_high = std::max(scale.x_high, *chart.limit_x);
  }
  if (chart.limit_y) {
    scale.y_low = std::min(scale.y_low, *chart.limit_y);
    scale.y_high = std::max(scale.y_high, *chart.limit_y);
  }
  if (chart.bars) scale.y_low = 0.0;
  widen(scale.x_low, scale.x_high, 0.04);
  widen(scale.y_low, scale.y_high, 0.12);
  if (chart.bars) scale.y_low = 0.0;
  scale.x_ticks = ticks(scale.x_low, scale.x_high);
  scale.y_ticks = ticks(scale.y_low, scale.y_high);
  return scale;
}

std::string tick_words(double value) { return fmt::format("{:.6g}", value); }

}  // namespace benchward::report
