// SPDX-License-Identifier: MIT
#pragma once

/// A unit's terminals as the plan uses them: which ones stand on which side, how a single-phase winding is entered,
/// what is on the tank whatever anybody does.

#include <string>
#include <vector>

#include "../../limits/unit/unit.hpp"
#include "../../limits/unit/vector_group.hpp"

namespace benchward {

struct UnitTerminals {
  explicit UnitTerminals(Unit const& unit);

  VectorGroup group;
  std::vector<std::string> h_lines;     ///< "H1","H2","H3"; single-phase both ends ("H1","tank" with one bushing)
  std::vector<std::string> h_bushings;  ///< all clips on the high side, neutral last, without "tank"
  std::vector<std::string> x_lines;     ///< line terminals: "X1","X2","X3"; single-phase the winding's ends
  std::vector<std::string> x_bushings;  ///< all clips on the low side, neutral last
  std::string h_neutral, x_neutral;     ///< "H0", "X0", "H0X0"; empty: none to clip on; "tank": on the tank
  bool one_bushing = false;             ///< single-phase, the high-voltage winding's second end is on the tank
  bool joined = false;                  ///< the neutrals of both sides are one
  std::string x_middle;                 ///< "X2" of a centre-tapped winding, "X4" of a mid-tapped leg; else empty
  std::string x_earth;                  ///< where the low side is earthed in no-load and induced: middle or neutral;
                                        ///< empty: it has no such point

  /// Highest volts from a high-side line terminal to earth per line volt with the connection of a no-load test: 1 where
  /// nothing of that side is earthed, 1/sqrt(3) with its neutral on earth, 1 single-phase.
  double h_line_to_earth() const;
};

/// "H2" -> "tank" where the unit has no such bushing because the winding's end is on the tank.
std::string lead_of(UnitTerminals const& terminals, std::string const& name);

/// "H1-H3" -> {"H1","H3"}.
std::pair<std::string, std::string> ends_of(std::string const& pair);

/// Terminals as one word: "H1+H2+H3".
std::string joined_by(std::vector<std::string> const& names, char const* between);

}  // namespace benchward
