// SPDX-License-Identifier: MIT
#include "limits/rules/limit_sheet.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace benchward {

Limit SheetLine::limit_at(double test_hz) const {
  Limit at_frequency = limit;
  if (!per_frequency || !(test_hz > 0.0)) return at_frequency;
  auto const& [cycles, least_s, most_s] = *per_frequency;
  at_frequency.lower = std::min(most_s, std::max(least_s, cycles / test_hz));
  at_frequency.origin = fmt::format("{:.6g} cycles / {:.6g} Hz = {:.6g} s", cycles, test_hz, cycles / test_hz) +
                        (least_s > 0.0 ? fmt::format(", at least {:.6g} s", least_s) : "") +
                        fmt::format(", at most {:.6g} s", most_s);
  return at_frequency;
}

std::vector<SheetLine const*> LimitSheet::lines_of(std::string const& test_name, std::string const& quantity,
                                                   std::string const& at) const {
  std::vector<SheetLine const*> found;
  // Lines that name the place first, then those that hold wherever the quantity occurs.
  for (bool const placed : {true, false}) {
    for (auto const& candidate : lines) {
      if (candidate.test != test_name || candidate.quantity != quantity) continue;
      bool const matches = placed ? (!candidate.at.empty() && candidate.at == at) : candidate.at.empty();
      if (matches) found.push_back(&candidate);
    }
  }
  return found;
}

SheetLine const* LimitSheet::line(std::string const& test_name, std::string const& quantity,
                                  std::string const& at) const {
  auto const found = lines_of(test_name, quantity, at);
  for (auto const* candidate : found) {
    if (!candidate->limit.warns_only) return candidate;
  }
  return found.empty() ? nullptr : found.front();
}

}  // namespace benchward
