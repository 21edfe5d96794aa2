// SPDX-License-Identifier: MIT
// How often a person changes leads in a plan, against the order in which the method standard has its clauses.
#include <algorithm>
#include <array>
#include <string_view>

#include "tests_seq/plan/plan.hpp"
#include "tests_seq/plan/step_builder.hpp"

namespace benchward {

namespace {

int changes_in(std::vector<PlanStep const*> const& steps) {
  int changes = 0;
  Connection const* last = nullptr;
  for (auto const* step : steps) {
    if (!step->energy) continue;
    if (last == nullptr || !same_leads(*last, step->connection)) ++changes;
    last = &step->connection;
  }
  return changes;
}

/// Order of the clauses of IEEE C57.12.90 (from memory): resistance, polarity and phase relation, ratio, no-load, load
/// loss, dielectric tests. What the standard does not have stays in front and at the end.
std::size_t clause_rank(std::string_view test) {
  static constexpr std::array<std::string_view, 15> order{
      "identity",   "temperatures", "winding_resistance", "demagnetise",           "polarity", "phase_relation",
      "ratio",      "no_load",      "load_loss",          "insulation_resistance", "applied",  "induced",
      "hand_check", "elsewhere",    "as_shipped"};
  return static_cast<std::size_t>(std::find(order.begin(), order.end(), test) - order.begin());
}

}  // namespace

int Plan::connection_changes() const {
  std::vector<PlanStep const*> in_order;
  for (auto const& step : steps) in_order.push_back(&step);
  return changes_in(in_order);
}

int Plan::naive_connection_changes() const {
  std::vector<PlanStep const*> by_clause;
  for (auto const& step : steps) by_clause.push_back(&step);
  std::stable_sort(by_clause.begin(), by_clause.end(),
                   [](auto const* a, auto const* b) { return clause_rank(a->test) < clause_rank(b->test); });
  return changes_in(by_clause);
}

Duration Plan::saved_by_unbroken_area() const {
  auto const kept = std::count_if(steps.begin(), steps.end(), [](PlanStep const& step) { return step.keeps_area; });
  return seconds(planning::round_s * static_cast<double>(kept));
}

}  // namespace benchward
