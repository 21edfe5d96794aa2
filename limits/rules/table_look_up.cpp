// SPDX-License-Identifier: MIT
#include <fmt/format.h>

#include "limits/rules/limit_set.hpp"

namespace benchward {
namespace {

std::string category_in_words(TableBlock const& block) {
  if (!block.submersible) return "";
  return *block.submersible ? ", submersible" : ", not submersible";
}

bool holds(TableBlock const& block, int phases, std::string const& day, bool submersible) {
  // ISO dates compare as texts.
  if (day < block.from || (block.until && day >= *block.until)) return false;
  if (block.phases && *block.phases != phases) return false;
  return !block.submersible || *block.submersible == submersible;
}

/// On the straight line through two rows.
TableLookup on_line(std::pair<double, double> a, std::pair<double, double> b, double kva, std::string const& unit,
                    std::string const& where, bool inside) {
  double const value = a.second + (kva - a.first) / (b.first - a.first) * (b.second - a.second);
  auto const origin = fmt::format(
      "{}: {} {:g} kVA ({:g} {}) and {:g} kVA ({:g} {}): {:g} + ({:g} - {:g}) / ({:g} - {:g}) x ({:g} - {:g}) = {:.7g} "
      "{}",
      where, inside ? "between" : "on the line through", a.first, a.second, unit, b.first, b.second, unit, a.second,
      kva, a.first, b.first, a.first, b.second, a.second, value, unit);
  return {value, origin, ""};
}

TableLookup within(TableBlock const& block, RegulationTable const& table, double kva) {
  auto const& rows = block.rows;
  auto const where =
      fmt::format("{} {}, made from {}{}", table.name, block.clause, block.from, category_in_words(block));
  auto const exact = [&](std::pair<double, double> const& row) {
    return TableLookup{row.second, fmt::format("{}: {:g} kVA: {:g} {}", where, row.first, row.second, table.unit), ""};
  };
  if (kva < rows.front().first) {
    if (block.holds_below_first_row) {
      return {
          rows.front().second,
          fmt::format("{}: {:g} kVA and below: {:g} {}", where, rows.front().first, rows.front().second, table.unit),
          ""};
    }
    if (block.extrapolates && rows.size() > 1) return on_line(rows[0], rows[1], kva, table.unit, where, false);
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (kva >= rows[i].first && kva <= rows[i].first) return exact(rows[i]);
    if (i > 0 && kva > rows[i - 1].first && kva < rows[i].first) {
      return on_line(rows[i - 1], rows[i], kva, table.unit, where, true);
    }
  }
  if (kva > rows.back().first && block.extrapolates && rows.size() > 1) {
    return on_line(rows[rows.size() - 2], rows.back(), kva, table.unit, where, false);
  }
  return {std::nullopt,
          fmt::format("{}: its rows go from {:g} to {:g} kVA, the unit has {:g} kVA; no requirement in this table",
                      where, rows.front().first, rows.back().first, kva),
          ""};
}

}  // namespace

TableLookup look_up(RegulationTable const& table, int phases, double kva, std::string const& manufactured_on,
                    bool submersible) {
  for (auto const& block : table.blocks) {
    if (block.rows.empty() || !holds(block, phases, manufactured_on, submersible)) continue;
    auto found = within(block, table, kva);
    found.clause = block.clause;
    return found;
  }
  return {std::nullopt,
          fmt::format("{}: no edition for {} phase(s){}, made on {}; no requirement in this table", table.name, phases,
                      submersible ? ", submersible" : "", manufactured_on),
          ""};
}

}  // namespace benchward
