// SPDX-License-Identifier: MIT
// Insulation resistance: the 60 s value, with the 15 s and 10 min values where they were taken. There is no limit in
// the standards; an order may set one.
#include <fmt/format.h>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/measured_values.hpp"

namespace benchward {

Evaluation evaluate_insulation_resistance(InsulationReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "insulation_resistance";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    Uncertain const volts_applied = values.one(readings.test_voltage, "voltage");
    if (!readings.at_60_s) {
      values.invalid(fmt::format("no reading at 60 s of {}", readings.between));
      return;
    }
    Uncertain const one_minute = values.one(*readings.at_60_s, "resistance");
    if (!values.usable()) return;
    auto result = make_result("insulation_resistance", "resistance_megohm", readings.between, "Mohm");
    values.put(result, one_minute / 1e6);
    result.intermediates.push_back({"test volts", volts_applied.value(), "V"});
    if (readings.temperature.top.good()) {
      result.intermediates.push_back({"top liquid", readings.temperature.top.value.in(celsius), "degC"});
    }
    add_judged(evaluation, result, context);
    auto const ratio = [&](std::optional<Reading<Resistance>> const& other, char const* quantity, bool other_above) {
      if (!other) return;
      Uncertain const resistance = values.one(*other, "resistance");
      if (!values.usable()) return;
      auto index = make_result("insulation_resistance", quantity, readings.between, "1");
      values.put(index, other_above ? resistance / one_minute : one_minute / resistance);
      add_judged(evaluation, index, context);
    };
    ratio(readings.at_15_s, "absorption_ratio", false);
    ratio(readings.at_10_min, "polarization_index", true);
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
