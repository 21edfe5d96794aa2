// SPDX-License-Identifier: MIT
#include "limits/rules/limit_sheet.hpp"

namespace benchward {

std::vector<SheetLine const*> LimitSheet::lines_of(std::string const& test, std::string const& quantity,
                                                   std::string const& at) const {
  std::vector<SheetLine const*> found;
  // Lines that name the place first, then those that hold wherever the quantity occurs.
  for (bool const placed : {true, false}) {
    for (auto const& line : lines) {
      if (line.test != test || line.quantity != quantity) continue;
      if (placed ? (!line.at.empty() && line.at == at) : line.at.empty()) found.push_back(&line);
    }
  }
  return found;
}

SheetLine const* LimitSheet::line(std::string const& test, std::string const& quantity, std::string const& at) const {
  auto const found = lines_of(test, quantity, at);
  for (auto const* candidate : found) {
    if (!candidate->limit.warns_only) return candidate;
  }
  return found.empty() ? nullptr : found.front();
}

}  // namespace benchward
