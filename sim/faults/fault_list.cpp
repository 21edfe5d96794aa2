// SPDX-License-Identifier: MIT
#include "sim/faults/fault_list.hpp"

#include <algorithm>
#include <iterator>
#include <numeric>

#include "sim/faults/fault_parts.hpp"

namespace benchward::sim {
namespace {

std::vector<FaultDescription> assemble() {
  std::vector<FaultDescription> all;
  for (auto part : {parts::unit_faults(), parts::bench_faults(), parts::interlock_faults(), parts::wire_faults()}) {
    std::move(part.begin(), part.end(), std::back_inserter(all));
  }
  return all;
}

/// Levenshtein distance of two words.
std::size_t edits(std::string const& from, std::string const& to) {
  std::vector<std::size_t> row(to.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= from.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= to.size(); ++j) {
      std::size_t const replaced = diagonal + (from[i - 1] == to[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row[to.size()];
}

bool has_applied_test(Winding const& winding) { return winding.applied_kv.has_value(); }

bool word_fits(std::string const& word, Unit const& unit) {
  if (word == "all") return true;
  if (word == "single_phase") return unit.phases == 1;
  if (word == "three_phase") return unit.phases == 3;
  if (word == "dual_voltage") return unit.hv.dual.has_value();
  if (word == "tapped") return !unit.hv.taps.empty();
  if (word == "strapped") return !unit.straps.empty();
  if (word == "arresters") return !unit.arresters.empty();
  if (word == "breaker") return unit.breaker.has_value();
  if (word == "center_tapped") return unit.lv_form == LowVoltageForm::center_tapped;
  if (word == "applied_hv") return has_applied_test(unit.hv);
  if (word == "applied_lv") return has_applied_test(unit.lv);
  if (word == "lv_neutral")
    return unit.phases == 3 && unit.lv_neutral != NeutralKind::none && unit.lv_neutral != NeutralKind::inner;
  return word == unit.vector_group;
}

}  // namespace

std::vector<FaultDescription> const& fault_list() {
  static std::vector<FaultDescription> const all = assemble();
  return all;
}

FaultDescription const* find_fault(std::string const& name) {
  auto const& all = fault_list();
  auto const found = std::find_if(all.begin(), all.end(), [&](auto const& entry) { return entry.name == name; });
  return found == all.end() ? nullptr : &*found;
}

std::string nearest_fault(std::string const& name) {
  auto const& all = fault_list();
  auto const found = std::min_element(
      all.begin(), all.end(), [&](auto const& a, auto const& b) { return edits(name, a.name) < edits(name, b.name); });
  return found->name;
}

bool applies_to(FaultDescription const& fault, Unit const& unit) {
  return std::all_of(fault.applies_to.begin(), fault.applies_to.end(),
                     [&](auto const& word) { return word_fits(word, unit); });
}

Promise promise_for(FaultDescription const& fault, Unit const& unit) {
  for (auto const& exception : parts::exceptions()) {
    if (exception.fault != fault.name) continue;
    if (exception.fits(unit)) return {exception.outcome, exception.reason};
  }
  return {fault.expected_outcome, ""};
}

}  // namespace benchward::sim
