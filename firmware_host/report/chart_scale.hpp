// SPDX-License-Identifier: MIT
#pragma once

#include <string>
#include <vector>

#include "firmware_host/report/report_page.hpp"

namespace benchward::report {

struct ChartScale {
  double x_low = 0.0, x_high = 1.0, y_low = 0.0, y_high = 1.0;
  std::vector<double> x_ticks, y_ticks;  ///< round numbers within
};

/// Everything of the chart, its limits included, with a little room around.
ChartScale scale_of(Chart const& chart);
std::string tick_words(double value);

}  // namespace benchward::report
