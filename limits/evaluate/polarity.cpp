// SPDX-License-Identifier: MIT
// Polarity of a single-phase unit: lead placement (adjacent join) and marking (like-marked join).
#include "limits/correct/polarity.hpp"

#include <fmt/format.h>

#include <cmath>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/measured_values.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

constexpr double cancels_below = 0.1;  // of the expected volts: two sections that oppose each other (no source)

}  // namespace

Evaluation evaluate_polarity(PolarityReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "polarity";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    bool const adjacent = readings.join == "adjacent";
    if (!adjacent && readings.join != "like_marked") {
      values.invalid(fmt::format("\"{}\" is no join of the polarity test (adjacent, like_marked)", readings.join));
      return;
    }
    Uncertain const applied = values.one(readings.applied, "voltage");
    Uncertain const across = values.one(readings.across, "voltage");
    if (!values.usable()) return;
    double const line_ratio = context.unit.hv.rated.in(volts) / context.unit.lv.rated.in(volts);
    double const expected = applied.value() / line_ratio;
    auto const finding =
        polarity_finding(adjacent ? Join::adjacent : Join::like_marked, applied.value(), expected, across.value());
    auto result = make_result("polarity", "polarity_as_ordered", adjacent ? "adjacent" : "like_marked", "1");
    result.intermediates = {{"applied", applied.value(), "V"},
                            {"expected low-voltage volts", expected, "V"},
                            {"across", across.value(), "V"},
                            {"across minus applied", across.value() - applied.value(), "V"}};
    bool const two_sections = context.unit.lv_form == LowVoltageForm::series_parallel;
    double const difference = std::abs(across.value() - applied.value());
    if (finding == PolarityFinding::undetermined && two_sections && difference < cancels_below * expected) {
      result.value = 0.0;
      result.remark = fmt::format(
          "the two low-voltage sections in series give {:.3g} V of {:.4g} V: one is connected the wrong way round",
          difference, expected);
      evaluation.settled_by_repeat = true;
      evaluation.question = result.remark + fmt::format(
                                                ", or the tie {} or the link between the sections is off. Look at "
                                                "them and measure once more: if it stays, the unit is rejected",
                                                readings.tied);
      Limit limit;
      limit.rule = "lead-placement";
      limit.lower = 1.0;
      limit.unit = "1";
      limit.origin = "1 = leads placed as the order says";
      limit.source = "order; two equal sections in series that oppose each other cancel (derived)";
      add_judged_or(evaluation, result, context, limit);
      return;
    }
    if (finding == PolarityFinding::undetermined) {
      values.invalid(
          fmt::format("polarity undetermined: {:.5g} V across {} against {:.5g} V applied, the difference "
                      "should be about {:.4g} V. Look at the tie {} and the leads",
                      across.value(), readings.read_across, applied.value(), expected, readings.tied));
      evaluation.results.push_back(result);
      return;
    }
    // The placement of the leads and the vector group are two keys: Ii6 turns what either join shows.
    bool const opposite = parse_vector_group(context.unit.vector_group).clock == 6;
    bool const placed_additive = context.unit.lead_placement == LeadPlacement::additive;
    auto const ordered = placed_additive != opposite ? PolarityFinding::additive : PolarityFinding::subtractive;
    auto const marked = opposite ? PolarityFinding::marked_wrong : PolarityFinding::marked_right;
    bool const right = finding == (adjacent ? ordered : marked);
    result.value = right ? 1.0 : 0.0;
    result.remark = adjacent ? fmt::format("{}; ordered: {}", to_text(finding), to_text(ordered))
                    : right  ? std::string("marking is right")
                             : std::string("marking is wrong");
    if (opposite) result.remark += fmt::format(" ({}: H1 and X1 of opposite polarity)", context.unit.vector_group);
    Limit limit;
    limit.rule = adjacent ? "lead-placement" : "terminal-marking";
    limit.lower = 1.0;
    limit.unit = "1";
    limit.origin = adjacent   ? "1 = leads placed as the order says"
                   : opposite ? "1 = H1 and X1 of opposite polarity, as the vector group says"
                              : "1 = H1 and X1 of like polarity, as marked";
    limit.source = "order; method derived, agrees with IEEE C57.12.90 clause 6 (excerpt read)";
    add_judged_or(evaluation, result, context, limit);
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
