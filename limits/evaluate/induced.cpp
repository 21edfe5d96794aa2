// SPDX-License-Identifier: MIT
// Induced-voltage test: level, duration and frequency; the current proves that the winding was fed at all.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "limits/correct/dielectric.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/power_means.hpp"

namespace benchward {

namespace {

/// Turns that gave way on the way up or in the hold: the current is no more what it was for those volts. Below rated
/// flux a sound unit's current follows the volts, capacitance, iron and all, to within a factor of two (common
/// practice, no source). Empty where nothing of the kind is seen.
std::string turns_gave_way(InducedReadings const& readings) {
  constexpr double most_growth = 20.0;      // for four times the volts
  constexpr double most_in_the_hold = 1.5;  // highest over lowest
  for (std::size_t k = 0; k < readings.snapshots.front().amperes.size(); ++k) {
    double lowest = 0.0, highest = 0.0;
    for (auto const& snapshot : readings.snapshots) {
      double const amperes_now = k < snapshot.amperes.size() ? plain(snapshot.amperes[k].value) : 0.0;
      lowest = &snapshot == &readings.snapshots.front() ? amperes_now : std::min(lowest, amperes_now);
      highest = std::max(highest, amperes_now);
    }
    if (lowest > 0.0 && highest > most_in_the_hold * lowest) {
      return fmt::format("the current of element {} moved between {:.4g} and {:.4g} A within the hold: turns gave way",
                         k + 1, lowest, highest);
    }
    if (!readings.at_quarter || k >= readings.at_quarter->amperes.size()) continue;
    double const quarter = plain(readings.at_quarter->amperes[k].value);
    if (quarter > 0.0 && highest > most_growth * quarter) {
      return fmt::format(
          "the current of element {} is {:.4g} A, {:.3g} times that at a quarter of the volts: turns gave "
          "way on the way up",
          k + 1, highest, highest / quarter);
    }
  }
  return "";
}

}  // namespace

Evaluation evaluate_induced(InducedReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "induced";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    if (readings.broke_down) {
      add_breakdown(evaluation, readings.fed, readings.what_happened);
      return;
    }
    std::vector<PowerSnapshot const*> snapshots;
    for (auto const& snapshot : readings.snapshots) snapshots.push_back(&snapshot);
    auto const means = mean_power(values, snapshots, readings.line_to_line_volts, context.unit.phases,
                                  AverageVolts::not_needed, Noise::stated);
    Uncertain const frequency = values.one(readings.frequency, "frequency");
    if (!values.usable()) return;
    auto const& unit = context.unit;
    bool const fed_hv = !readings.fed.empty() && readings.fed.front() == 'H';
    auto const& fed = fed_hv ? unit.hv : unit.lv;
    // Judged is the lowest volts of the hold, on the basis of the winding's rated volts.
    double const to_line = unit.phases == 3 && !readings.line_to_line_volts ? std::sqrt(3.0) : 1.0;
    double lowest = 0.0;
    double highest = 0.0;
    for (auto const* snapshot : snapshots) {
      double mean = 0.0;
      for (auto const& reading : snapshot->volts_rms) {
        mean += plain(reading.value) / static_cast<double>(snapshot->volts_rms.size());
      }
      lowest = snapshot == snapshots.front() ? mean : std::min(lowest, mean);
      highest = std::max(highest, mean);
    }
    double raw = 0.0;
    for (auto const* snapshot : snapshots) {
      for (auto const& reading : snapshot->volts_rms) {
        raw += plain(reading.value) / static_cast<double>(snapshot->volts_rms.size() * snapshots.size());
      }
    }
    auto level = make_result("induced", "level_v", readings.fed, "V");
    values.put(level, to_line * (means.volts_rms + (lowest - raw)));
    level.measured = to_line * lowest;
    level.intermediates = {{"lowest in the hold", to_line * lowest, "V"},
                           {"highest in the hold", to_line * highest, "V"},
                           {"mean", to_line * means.volts_rms.value(), "V"},
                           {"times rated volts", to_line * lowest / fed.rated.in(volts), "1"}};
    add_judged(evaluation, level, context);

    auto duration = make_result("induced", "duration_s", "", "s");
    duration.value = readings.held.in(seconds);
    duration.intermediates.push_back({"frequency", frequency.value(), "Hz"});
    add_judged(evaluation, duration, context, Lines::all, frequency.value());

    double const multiple = to_line * means.volts_rms.value() / fed.rated.in(volts);
    double const lowest_hz = unit.rated_frequency.in(hertz)*multiple;
    auto of_frequency = make_result("induced", "frequency_hz", "", "Hz");
    values.put(of_frequency, frequency);
    of_frequency.intermediates.push_back({"lowest, flux at rated", lowest_hz, "Hz"});
    add_judged(evaluation, of_frequency, context);
    // A few parts in a thousand above rated flux change nothing; more, and the core was saturated, not the turns
    // tested.
    if (!(frequency.value() >= lowest_hz * (1.0 - 0.005))) {
      values.invalid(
          fmt::format("{:.1f} Hz at {:.3f} times rated volts drives the core above rated flux; at least {:.1f} Hz "
                      "are needed",
                      frequency.value(), multiple, lowest_hz));
    }

    if (auto const gave_way = turns_gave_way(readings); !gave_way.empty()) {
      add_breakdown(evaluation, "", gave_way);
    }
    double const rated_a = unit.rated_line_current(fed).in(amperes);
    auto current = make_result("induced", "exciting_current_percent", "", "%");
    values.put(current, 100.0 * means.amperes / rated_a);
    current.measured = means.amperes.value();
    current.measured_unit = "A";
    add_judged(evaluation, current, context);
    auto const& origin = snapshots.front()->amperes.front().origin;
    if (!(means.amperes.value() > values.smallest_proof(origin, "current")) || !(means.amperes.value() > 0.0)) {
      values.invalid("no current through the hold: the leads are off, or another pair was fed. Nothing was tested");
      return;
    }
    if (!readings.expected_current) {
      evaluation.warnings.push_back(
          fmt::format("no exciting current at this level and frequency is known for the design: the "
                      "operator must confirm that {:.4g} A is right for this unit",
                      means.amperes.value()));
      return;
    }
    auto ratio = make_result("induced", "exciting_current_ratio", "", "1");
    values.put(ratio, means.amperes / readings.expected_current->in(amperes));
    ratio.intermediates.push_back({"expected exciting current", readings.expected_current->in(amperes), "A"});
    auto const* line = context.sheet.line("induced", "exciting_current_ratio");
    if (line != nullptr) ratio.limit = line->limit;
    evaluation.results.push_back(ratio);
    if (line != nullptr && !((!line->limit.lower || ratio.value >= *line->limit.lower) &&
                             (!line->limit.upper || ratio.value <= *line->limit.upper))) {
      values.invalid(
          fmt::format("the current through the hold is {:.2f} of what was expected, outside its window: wrong pair "
                      "fed, a lead off, or an accessory in the wrong state",
                      ratio.value));
    }
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
