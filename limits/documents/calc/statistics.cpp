// SPDX-License-Identifier: MIT
#include <algorithm>

#include "limits/documents/calc/topic.hpp"
#include "limits/documents/result_words.hpp"
#include "limits/process/control_chart.hpp"
#include "limits/uncertainty/decision.hpp"
#include "limits/uncertainty/uncertain.hpp"

namespace benchward::documents {
namespace {

void uncertainty(ObjectReader& in, JsonWriter& out) {
  std::vector<UncertaintyComponent> components;
  for (auto& component_in : in.objects("components")) {
    UncertaintyComponent component;
    component.name = component_in.text("name", "a name");
    component.standard_uncertainty = component_in.number("standard_uncertainty", "a number", at_least(0.0));
    component.sensitivity = component_in.number("sensitivity", "a number");
    // JSON has no infinity: without the key the uncertainty itself is known exactly (type B, JCGM 100 G.4.2).
    component.degrees_of_freedom =
        component_in.number_or("degrees_of_freedom", infinite_degrees_of_freedom, "a number", above(0.0));
    component_in.finish();
    components.push_back(std::move(component));
  }
  double const coverage = in.number_or("coverage", 0.95, "a probability", Range{0.0, 1.0, true, true});
  in.finish();
  auto const found = combine(components, coverage);
  out.field("combined", found.combined);
  out.field("effective_degrees_of_freedom", std::min(found.effective_degrees_of_freedom, infinite_degrees_of_freedom));
  out.field("coverage_factor", found.coverage_factor).field("expanded", found.expanded);
}

void conformity(ObjectReader& in, JsonWriter& out) {
  double const value = in.number("value", "a number");
  double const standard = in.number("standard_uncertainty", "a number", at_least(0.0));
  auto const lower = in.optional_number("lower", "a number");
  auto const upper = in.optional_number("upper", "a number");
  DecisionRule rule;
  rule.name = "guard_band";
  rule.guard_factor = in.number_or("guard_factor", 1.0, "a number", between(0.0, 100.0));
  in.finish();
  if (!lower && !upper) in.fail("document.missing-key", "upper", "expected `lower`, `upper` or both");
  if (lower && upper && *lower > *upper) in.fail("document.out-of-range", "upper", "expected at least `lower`");
  out.field("probability_conforming", probability_conforming(value, standard, lower, upper)).field("prior", rule.prior);
  auto const verdict = decide(value, Uncertainty{standard, infinite_degrees_of_freedom}, lower, upper, rule);
  out.field("verdict", words::word_of(words::verdicts, verdict));
}

void process_capability(ObjectReader& in, JsonWriter& out) {
  auto const values = in.numbers("values", "a number");
  auto const lower = in.optional_number("lower", "a number");
  auto const upper = in.optional_number("upper", "a number");
  in.finish();
  auto const found = capability(values, lower, upper);
  out.field("mean", found.mean).field("standard_deviation", found.standard_deviation);
  out.field("cp", found.cp).field("cpk", found.cpk);
}

/// Sample numbers as people count: the first is 1.
std::vector<std::int64_t> counted(std::vector<std::size_t> const& positions) {
  std::vector<std::int64_t> list;
  for (auto const position : positions) list.push_back(static_cast<std::int64_t>(position) + 1);
  return list;
}

void chart(ObjectReader& in, JsonWriter& out) {
  constexpr words::List<bool, 2> kinds{{{"individuals", true}, {"ewma", false}}};
  auto const values = in.numbers("values", "a number");
  bool const individuals = in.word("kind", kinds);
  double const weight = in.number_or("weight", 0.3, "a number", above_up_to(0.0, 1.0));
  if (individuals) {
    // Without them the values' own mean and moving ranges serve.
    auto const target = in.optional_number("target", "a number");
    auto const sigma = in.optional_number("sigma", "a number", above(0.0));
    in.finish();
    auto const found = individuals_chart(values, target, sigma);
    out.field("center", found.center).field("lower", found.lower).field("upper", found.upper);
    out.field("signals", counted(found.signals));
    return;
  }
  double const target = in.number("target", "a number");
  double const sigma = in.number("sigma", "a number", above(0.0));
  in.finish();
  auto const found = ewma_chart(values, target, sigma, weight);
  out.field("center", found.center).field("lower", found.lower).field("upper", found.upper);
  out.field("signals", counted(found.signals)).field("smoothed", found.smoothed);
}

}  // namespace

std::vector<Topic> statistics_topics() {
  return {
      {{"uncertainty",
        "combined and expanded uncertainty of independent components",
        "JCGM 100:2008 clause 5 and annex G (Welch-Satterthwaite, Student's t)",
        {{"components/name", "text", "required"},
         {"components/standard_uncertainty", "unit of the input", "required"},
         {"components/sensitivity", "1", "required"},
         {"components/degrees_of_freedom", "1", "optional; absent = infinite"},
         {"coverage", "1", "0.95"}},
        {{"combined", "unit of the result", "always"},
         {"effective_degrees_of_freedom", "1; 1e9 stands for infinite", "always"},
         {"coverage_factor", "1", "always"},
         {"expanded", "unit of the result", "always"}}},
       uncertainty},
      {{"conformity",
        "probability of conforming and the verdict with a guard band",
        "JCGM 106:2012 (normal, flat prior); ILAC-G8:09/2019, guard band w = factor x U, U = 2 x standard uncertainty",
        {{"value", "any", "required"},
         {"standard_uncertainty", "as value", "required"},
         {"lower", "as value", "optional"},
         {"upper", "as value", "optional"},
         {"guard_factor", "1", "1"}},
        {{"probability_conforming", "1", "always"},
         {"prior", "word", "always"},
         {"verdict", "words: pass, conditional pass, conditional fail, fail", "always"}}},
       conformity},
      {{"capability",
        "process capability of a list of values",
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6",
        {{"values", "list", "required"}, {"lower", "as values", "optional"}, {"upper", "as values", "optional"}},
        {{"mean", "as values", "always"},
         {"standard_deviation", "as values", "always"},
         {"cp", "1", "with both limits"},
         {"cpk", "1", "with a limit"}}},
       process_capability},
      {{"control-chart",
        "individuals or EWMA chart: centre, limits, signals",
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 (individuals) and 6.3.2.4 (EWMA)",
        {{"values", "list", "required"},
         {"kind", "words: individuals, ewma", "required"},
         {"weight", "1, of ewma", "0.3"},
         {"target", "as values", "required for ewma; individuals: mean of the values"},
         {"sigma", "as values", "required for ewma; individuals: mean moving range / 1.128"}},
        {{"center", "as values", "always"},
         {"lower", "as values; a list for ewma", "always"},
         {"upper", "as values; a list for ewma", "always"},
         {"signals", "list of sample numbers, the first is 1", "always"},
         {"smoothed", "list", "ewma"}}},
       chart},
  };
}

}  // namespace benchward::documents
