// SPDX-License-Identifier: MIT
// Applied-voltage test. With the lead fallen off it passes perfectly, so a PASS needs proof that the volts were on the
// winding: the hold current inside a window about the winding's capacitive current.
#include <fmt/format.h>

#include <algorithm>

#include "limits/correct/dielectric.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/measured_values.hpp"

namespace benchward {
namespace {

// Common practice, no normative number: capacitance of a design family and stray of leads and cage are that uncertain.
// Not lower: with the other winding floating instead of earthed three quarters and more of the current are left.
constexpr double window_from = 0.87;
constexpr double window_to = 1.5;

double raw_mean(std::vector<Reading<Voltage>> const& readings) {
  double sum = 0.0;
  for (auto const& reading : readings) sum += reading.value.in(volts);
  return sum / static_cast<double>(readings.size());
}

}  // namespace

Evaluation evaluate_applied(AppliedReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "applied";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    if (readings.winding != "hv" && readings.winding != "lv") {
      values.invalid(fmt::format("\"{}\" is no winding (hv, lv)", readings.winding));
      return;
    }
    auto const& winding = readings.winding == "hv" ? context.unit.hv : context.unit.lv;
    if (readings.broke_down) {
      add_breakdown(evaluation, readings.winding, readings.what_happened);
      return;
    }
    Uncertain const mean_level = values.mean(readings.level, "dielectric_voltage", Noise::stated);
    Uncertain const current = values.mean(readings.current, "dielectric_current", Noise::stated);
    Uncertain const frequency = values.one(readings.frequency, "frequency");
    if (!values.usable()) return;
    // Judged is the lowest level of the hold, not the mean: a minute means every second of it.
    double lowest = readings.level.front().value.in(volts);
    double highest = lowest;
    for (auto const& level : readings.level) {
      lowest = std::min(lowest, level.value.in(volts));
      highest = std::max(highest, level.value.in(volts));
    }
    Uncertain const level_kv = (mean_level + (lowest - raw_mean(readings.level))) / 1000.0;
    auto level = make_result("applied", "level_kv", readings.winding, "kV");
    values.put(level, level_kv);
    level.measured = lowest / 1000.0;
    level.intermediates = {{"lowest in the hold", lowest / 1000.0, "kV"},
                           {"highest in the hold", highest / 1000.0, "kV"},
                           {"mean", mean_level.value() / 1000.0, "kV"},
                           {"frequency", frequency.value(), "Hz"}};
    add_judged(evaluation, level, context);

    auto duration = make_result("applied", "duration_s", readings.winding, "s");
    duration.value = readings.held.in(seconds);
    add_judged(evaluation, duration, context);

    double const stray = readings.stray_current ? readings.stray_current->in(amperes) : 0.0;
    Uncertain const own = current - stray;
    auto hold = make_result("applied", "hold_current_a", readings.winding, "A");
    values.put(hold, own);
    hold.measured = current.value();
    hold.intermediates.push_back({"stray of leads and cage, deducted", stray, "A"});
    add_judged(evaluation, hold, context);
    if (!(own.value() > values.smallest_proof(readings.current.front().origin, "dielectric_current")) ||
        !(own.value() > 0.0)) {
      values.invalid(
          fmt::format("no current through the hold ({:.3g} A): the test lead is off the {} winding, or the "
                      "other winding is not earthed. Nothing was tested",
                      own.value(), readings.winding));
      return;
    }
    if (!winding.capacitance_to_earth) {
      evaluation.warnings.push_back(
          fmt::format("no capacitance of the design family is known for the {} winding: the "
                      "operator must confirm that {:.3g} A is right for this unit",
                      readings.winding, own.value()));
      return;
    }
    Current const computed =
        capacitive_current(volts(mean_level.value()), hertz(frequency.value()), *winding.capacitance_to_earth);
    auto ratio = make_result("applied", "hold_current_ratio", readings.winding, "1");
    values.put(ratio, own / computed.in(amperes));
    ratio.intermediates = {{"computed capacitive current", computed.in(amperes), "A"},
                           {"capacitance", winding.capacitance_to_earth->in(nanofarads), "nF"}};
    Limit window;
    window.rule = "proof-of-application";
    window.lower = window_from;
    window.upper = window_to;
    window.unit = "1";
    window.origin = "hold current over computed capacitive current";
    window.source = "common practice, no source";
    if (auto const* line = context.sheet.line("applied", "hold_current_ratio", readings.winding)) window = line->limit;
    double const from = window.lower.value_or(window_from);
    double const to = window.upper.value_or(window_to);
    // Outside the window nothing is said of the unit: the measurement is invalid, so the result carries no verdict.
    ratio.limit = window;
    evaluation.results.push_back(ratio);
    if (!(ratio.value >= from && ratio.value <= to)) {
      values.invalid(
          fmt::format("hold current {:.4g} A is {:.2f} of the computed {:.4g} A, expected {:.2g} to {:.2g}: test "
                      "lead off, wrong terminals, or the other winding not earthed",
                      own.value(), ratio.value, computed.in(amperes), from, to));
    }
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
