// SPDX-License-Identifier: MIT
#include <fmt/format.h>

#include "limits/correct/efficiency.hpp"
#include "limits/documents/calc/topic.hpp"
#include "limits/documents/limit_set_document.hpp"

namespace benchward::documents {
namespace {

void efficiency_at_load(ObjectReader& in, JsonWriter& out) {
  double const kva = in.number("rated_kva", "a number of kVA", above(0.0));
  double const no_load = in.number("no_load_loss_w", "a number of watts", at_least(0.0));
  double const load = in.number("load_loss_w", "a number of watts, at full load", at_least(0.0));
  double const fraction = in.number_or("load_fraction", 0.5, "a fraction of rated load", above_up_to(0.0, 10.0));
  double const power_factor = in.number_or("power_factor", 1.0, "a number", above_up_to(0.0, 1.0));
  in.finish();
  auto const found = efficiency(kva, no_load, load, fraction, power_factor);
  out.field("efficiency_percent", found.efficiency_percent).field("total_loss_w", found.total_loss_w);
}

void efficiency_minimum(ObjectReader& in, JsonWriter& out) {
  int const phases = static_cast<int>(in.integer("phases", "1 or 3", 1, 3));
  if (phases == 2) in.fail("document.out-of-range", "phases", "expected 1 or 3, got 2");
  double const kva = in.number("rated_kva", "a number of kVA", above(0.0));
  auto const day = in.date("manufactured_on");
  bool const submersible = in.boolean("submersible");
  in.finish();
  auto const set = builtin_limit_set(StandardFamily::ieee);
  auto const* table = set.table("us-efficiency-liquid");
  if (table == nullptr) throw std::logic_error("the built-in limit set has lost its efficiency table");
  auto const found = look_up(*table, phases, kva, day, submersible);
  if (!found.value) {
    in.fail("calc.no-requirement", day < "2010-01-01" ? "manufactured_on" : "rated_kva", found.origin);
  }
  out.field("efficiency_percent", *found.value);
  // What eta leaves at half load: 1000 * kVA * 0.5 * (100 / eta - 1).
  out.field("allowed_loss_w", 1000.0 * kva * 0.5 * (100.0 / *found.value - 1.0)).field("origin", found.origin);
}

void represented(ObjectReader& in, JsonWriter& out) {
  auto const percent = Range{0.0, 100.0, true, true};
  auto const sample = in.numbers("efficiencies_percent", "a number of percent", percent);
  double const represented_percent = in.number("represented_percent", "a number of percent", percent);
  in.finish();
  auto const found = represented_efficiency(sample, represented_percent);
  out.field("mean_percent", found.mean_percent).field("bound_percent", found.bound_percent);
  out.field("compliant", found.compliant).field("highest_represented_percent", found.highest_represented_percent);
}

}  // namespace

std::vector<Topic> efficiency_topics() {
  return {
      {{"efficiency",
        "efficiency at a part of rated load",
        "10 CFR 431 subpart K appendix A, equations 5-1 to 5-3",
        {{"rated_kva", "kVA", "required"},
         {"no_load_loss_w", "W", "required"},
         {"load_loss_w", "W, at full load and reference temperature", "required"},
         {"load_fraction", "1", "0.5"},
         {"power_factor", "1", "1"}},
        {{"efficiency_percent", "%", "always"}, {"total_loss_w", "W, at that load", "always"}}},
       efficiency_at_load},
      {{"efficiency-minimum",
        "least efficiency by US regulation, liquid-immersed, and the loss that it leaves at half load",
        "10 CFR 431.196(b): table by date of manufacture, linear interpolation between its rows",
        {{"phases", "1 or 3", "required"},
         {"rated_kva", "kVA", "required"},
         {"manufactured_on", "date", "required"},
         {"submersible", "true or false", "required"}},
        {{"efficiency_percent", "%", "always"},
         {"allowed_loss_w", "W, at half load", "always"},
         {"origin", "text: the rows used", "always"}}},
       efficiency_minimum},
      {{"represented-efficiency",
        "whether a sample bears a represented efficiency",
        "10 CFR 429.47(a)(2); the condition is an image in the copies read: from memory",
        {{"efficiencies_percent", "list of %", "required"}, {"represented_percent", "%", "required"}},
        {{"mean_percent", "%", "always"},
         {"bound_percent", "%", "always"},
         {"compliant", "true or false", "always"},
         {"highest_represented_percent", "%", "always"}}},
       represented},
  };
}

}  // namespace benchward::documents
