// SPDX-License-Identifier: MIT
// Source: 10 CFR 431 subpart K appendix A 3.2.1 (a) and (b): four hours of rest, or stable liquid and at most 5 degC
// between top and bottom; stable: at most 2 degC in an hour.
#include <fmt/format.h>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/measured_values.hpp"

namespace benchward {
namespace {

constexpr double rest_h = 4.0;
constexpr double largest_gradient_k = 5.0;
constexpr double largest_change_k_per_h = 2.0;

}  // namespace

Evaluation evaluate_temperatures(TemperatureReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "temperatures";
  MeasuredValues values(context);
  Uncertain const winding = liquid_temperature(values, readings);
  if (values.usable()) {
    auto result = make_result("temperatures", "winding_temperature_c", readings.mode, "degC");
    values.put(result, winding);
    std::optional<double> gradient;
    if (readings.top.good() && readings.bottom.good()) {
      gradient = readings.top.value.in(celsius)-readings.bottom.value.in(celsius);
      result.intermediates.push_back({"top minus bottom", *gradient, "K"});
    }
    if (readings.ambient.good())
      result.intermediates.push_back({"ambient", readings.ambient.value.in(celsius), "degC"});
    if (readings.rest) result.intermediates.push_back({"rest", readings.rest->in(hours), "h"});
    if (readings.top_change_in_one_hour) {
      result.intermediates.push_back(
          {"top liquid, change in an hour", readings.top_change_in_one_hour->in(kelvins), "K"});
    }
    bool const rested = readings.rest && readings.rest->in(hours) >= rest_h;
    bool const level = gradient && std::abs(*gradient) <= largest_gradient_k;
    bool const stable = readings.top_change_in_one_hour &&
                        std::abs(readings.top_change_in_one_hour->in(kelvins)) <= largest_change_k_per_h && level;
    bool const own = readings.mode == "own_sensors";
    result.remark = fmt::format("winding temperature by {}; fit for a certified figure: {}", readings.mode,
                                own && (rested || stable) ? "yes" : "no");
    if (own && !rested && !stable) {
      evaluation.invalid_reason =
          "the unit is not isothermal as far as is known: it needs 4 h without excitation and current, or top liquid "
          "that changes at most 2 degC in an hour with top and bottom within 5 degC. Wait and measure again";
    }
    if (own && gradient && !level && !evaluation.invalid_reason) {
      // Rest was stated, the sensors say otherwise: one of the two is wrong (common practice: two probes must agree).
      evaluation.invalid_reason = fmt::format(
          "top and bottom differ by {:.1f} K though the unit is said to have rested: it is still warm, or a probe is "
          "wrong. Compare the probes, then wait and measure again",
          *gradient);
    }
    add_judged(evaluation, result, context);
    if (gradient) {
      auto difference = make_result("temperatures", "top_minus_bottom_k", "", "K");
      difference.value = *gradient;
      add_judged(evaluation, difference, context);
    }
  }
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
