// SPDX-License-Identifier: MIT
// Phase relation out of the signs and angles of the single-phase ratios. Each pair is named so that the two sides are
// in phase if the unit has the ordered vector group; a pair in opposition is a reversed coil or swapped leads, and a
// ratio that does not fit at all is another group.
#include <fmt/format.h>

#include <cmath>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/ratio_points.hpp"

namespace benchward {
namespace {

constexpr double fits_within = 0.10;  // of the ratio: a wrong group is off by a factor of 1.5 or more

}  // namespace

Evaluation evaluate_phase_relation(RatioReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "phase_relation";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    auto silent = pairs_without_volts(readings, context.unit);
    // A pair whose leads are proven nowhere says nothing of the vector group: INVALID.
    std::erase_if(silent, [](SilentPair const& pair) { return !pair.leads_proven; });
    auto const measured = measured_ratios(values, readings, context, silent);
    if (!values.usable()) return;
    double const ordered_deg = parse_vector_group(context.unit.vector_group).displacement_degrees();
    MeasuredRatio const* worst = nullptr;
    bool fits = true;
    std::string misfits;
    for (auto const& one : measured) {
      if (worst == nullptr || std::abs(one.phase_deg) > std::abs(worst->phase_deg)) worst = &one;
      if (std::abs(one.ratio.value() / one.expected - 1.0) > fits_within) {
        fits = false;
        misfits += fmt::format("{}{} reads {:.5g}, {} expects {:.5g}", misfits.empty() ? "" : "; ", one.at(),
                               one.ratio.value(), context.unit.vector_group, one.expected);
      }
    }
    bool const in_phase = std::abs(worst->phase_deg) < 90.0;
    auto as_ordered = make_result("phase_relation", "phase_relation_as_ordered", "", "1");
    as_ordered.value = fits && in_phase ? 1.0 : 0.0;
    for (auto const& one : measured) as_ordered.intermediates.push_back({"phase of " + one.at(), one.phase_deg, "deg"});
    if (!fits) {
      as_ordered.remark = "another vector group, or a pair on the wrong terminals: " + misfits;
    } else if (!in_phase) {
      as_ordered.remark = fmt::format("{} is in opposition ({:.1f} degrees): a reversed coil or swapped leads",
                                      worst->at(), worst->phase_deg);
    }
    Limit limit;
    limit.rule = "phase-relation-as-ordered";
    limit.lower = 1.0;
    limit.unit = "1";
    limit.origin =
        fmt::format("1 = every pair in phase and its ratio within 10 % of that of {}", context.unit.vector_group);
    limit.source = "order (vector group)";
    add_judged_by(evaluation, as_ordered, limit);
    if (!fits) return;
    // The low voltage lags by the clock number; a read voltage that leads the applied one lags that much less.
    auto displacement = make_result("phase_relation", "displacement_deg", "", "deg");
    displacement.value = ordered_deg - worst->phase_deg;
    displacement.intermediates.push_back({"ordered displacement", ordered_deg, "deg"});
    displacement.intermediates.push_back({"phase of the worst pair", worst->phase_deg, "deg"});
    displacement.remark = "by the worst pair, " + worst->at();
    add_judged(evaluation, displacement, context);
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
