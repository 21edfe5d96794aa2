// SPDX-License-Identifier: MIT
#include "drivers/roles/connection.hpp"

#include <algorithm>
#include <array>
#include <stdexcept>

namespace benchward {
namespace {

constexpr std::array<char const*, terminal_count> terminal_names{"H0", "H1", "H2", "H3", "X0",
                                                                 "X1", "X2", "X3", "X4", "tank"};

/// Groups as sets of sets: neither the order of the groups nor that inside one is a lead that somebody moves.
std::vector<std::vector<std::string>> as_sets(std::vector<std::vector<std::string>> groups) {
  for (auto& group : groups) std::sort(group.begin(), group.end());
  std::sort(groups.begin(), groups.end());
  return groups;
}

std::vector<std::string> as_set(std::vector<std::string> names) {
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

std::vector<std::string> states_of(std::vector<AccessoryState> const& accessories) {
  std::vector<std::string> list;
  for (auto const& entry : accessories) list.push_back(entry.name + "=" + entry.state);
  return as_set(std::move(list));
}

}  // namespace

Terminal terminal_named(std::string const& name) {
  // A bushing that is H0 and X0 in one stands as H0; terminal_bits gives both. H1A and H1B of a loop feed are H1.
  if (name == "H0X0") return Terminal::H0;
  for (int index = 0; index < terminal_count; ++index) {
    std::string const plain = terminal_names[static_cast<std::size_t>(index)];
    if (name == plain || (plain != "tank" && (name == plain + "A" || name == plain + "B"))) {
      return static_cast<Terminal>(index);
    }
  }
  throw std::invalid_argument("\"" + name +
                              "\" is not a terminal; known are H0, H1, H2, H3, X0, X1, X2, X3, X4, H0X0, tank");
}

std::string name_of(Terminal terminal) { return terminal_names.at(static_cast<std::size_t>(terminal)); }

std::uint16_t terminal_bits(std::vector<std::string> const& names) {
  unsigned bits = 0;
  for (auto const& entry : names) {
    // Tied terminals are written "H2+H3".
    for (std::size_t from = 0; from <= entry.size();) {
      auto const to = std::min(entry.find('+', from), entry.size());
      auto const name = entry.substr(from, to - from);
      bits |= 1u << static_cast<unsigned>(terminal_named(name));
      if (name == "H0X0") bits |= 1u << static_cast<unsigned>(Terminal::X0);
      from = to + 1;
    }
  }
  return static_cast<std::uint16_t>(bits);
}

bool same_leads(Connection const& a, Connection const& b) {
  return a.instrument == b.instrument && a.feed == b.feed && a.measure == b.measure &&
         as_sets(a.tie) == as_sets(b.tie) && as_sets(a.short_bar) == as_sets(b.short_bar) &&
         as_set(a.earth) == as_set(b.earth) && states_of(a.accessories) == states_of(b.accessories);
}

}  // namespace benchward
