// SPDX-License-Identifier: MIT
#pragma once

/// Which coil sits on which limb between which ends, for a vector group in the notation of IEC 60076-1 ("Dyn1", "Yzn5",
/// "Ii0"). Found by search over the ways a winder can connect the coils, until the phasors show the clock number.

#include <string>
#include <vector>

namespace benchward::sim {

/// Ends of coils before bushings, straps and fuses are thought of.
enum class WindingEnd : int {
  line_1 = 0,
  line_2 = 1,
  line_3 = 2,
  neutral = 3,
  middle_1 = 4,
  middle_2 = 5,
  middle_3 = 6
};

struct CoilPlace {
  int limb = 0;   ///< 0, 1, 2
  int sense = 1;  ///< -1: wound or connected the other way round
  bool hv = true;
  int phase = 0;  ///< terminal the coil serves
  int part = 0;   ///< half of a divided winding
  WindingEnd start = WindingEnd::line_1, end = WindingEnd::neutral;
};

struct VectorGroup {
  char hv = 'I', lv = 'i';  ///< I, Y, D / i, y, d, z
  bool hv_neutral = false, lv_neutral = false;
  int clock = 0;
  std::string text;
};

/// Throws UnsolvableUnit where the text is no vector group, or does not fit the number of phases.
VectorGroup parse_vector_group(std::string const& text, int phases);
/// `halves`: the low-voltage winding of each phase is in two parts with a middle end (single-phase only; a zigzag
/// always is). Throws UnsolvableUnit where no connection has that clock number (odd clock for Dd, even for Dy).
std::vector<CoilPlace> place_coils(VectorGroup const& group, bool halves);

}  // namespace benchward::sim
