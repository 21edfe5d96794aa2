// SPDX-License-Identifier: MIT
#pragma once

/// Vector groups by phasors. A group is not looked up in a table of cases: its windings are laid out as coils on limbs,
/// and what a measurement shows follows from the coils.
///
/// Conventions. IEC 60076-1 notation: capital = high voltage, clock number * 30 degrees = low voltage lags high
/// voltage, H1 at twelve o'clock, phases 1, 2, 3 in positive sequence. Terminals H1..H3, H0 and X1..X3, X0. A pair is
/// named so that the two are in phase when fed as named: "H1-H3" with "X1-X0" for Dyn1.
///
/// Ideal coils: the volts of a coil are turns times flux change of its limb. A closed delta makes its coils' sum zero,
/// a short makes a coil's volts zero. A pair is accepted only where those conditions alone, whatever the limbs'
/// reluctances, fix the ratio: a small linear problem in the three limb fluxes.

#include <array>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace benchward {

/// The notation is not one of a two-winding transformer, or no transformer has that group (Dyn2).
class VectorGroupError : public std::invalid_argument {
 public:
  using std::invalid_argument::invalid_argument;
};

enum class WindingForm { single, delta, wye, zigzag };

struct VectorGroup {
  WindingForm hv = WindingForm::single;
  WindingForm lv = WindingForm::single;
  bool hv_neutral = false;  ///< brought out, by the notation (YN, ZN)
  bool lv_neutral = false;  ///< (yn, zn)
  int clock = 0;            ///< 0 to 11
  int phases() const { return hv == WindingForm::single ? 1 : 3; }
  double displacement_degrees() const { return clock * 30.0; }
};

/// "Dyn1", "YNyn0", "Dd0", "Yd11", "Yzn5", "Ii0", "Ii6". Throws VectorGroupError, saying what is wrong.
VectorGroup parse_vector_group(std::string_view notation);

/// How one low-voltage phase is compared with the high-voltage side.
struct PhasePair {
  std::string lv;                      ///< "X1-X0"
  std::string hv;                      ///< "H1-H3"
  double factor = 1.0;                 ///< (hv/lv volts of the pair so fed) / (hv/lv line-voltage ratio)
  std::optional<std::string> shorted;  ///< low-voltage pair to be shorted: "X3-X1" (Yd without neutral)
  std::optional<std::string> feed;     ///< where terminals are tied: "H1-H2+H3" (Dz): fed between H1 and H2, H3 tied
  int phase = 1;                       ///< 1, 2, 3
};

/// The pairs of all phases, one per low-voltage phase (of Ii: one). A zigzag is read to its neutral, whether or not the
/// notation has the n, unless `zigzag_neutral_reachable` says that the point cannot be connected.
std::vector<PhasePair> phase_pairs(VectorGroup const& group, bool zigzag_neutral_reachable = true);

/// Volts between terminals of the two sides with one pair of like-numbered terminals tied (H1-X1 by default) and H fed
/// with symmetrical three-phase volts, in units of the volts H1-H2. `lv_over_hv` = ratio of the line volts. Keys are
/// "H2-X2", "H2-X3", "H3-X2", "H3-X3" (for the tie H1-X1) and "H1-H2" = 1 for reference.
std::map<std::string, double> phase_check_volts(VectorGroup const& group, double lv_over_hv, int tied_phase = 1);

/// Turns of a coil over turns of a coil, as the pair reads it: for whole-turn rules. Turns are those in series per
/// phase on each side (of a zigzag both halves); the result is the ratio of `pair`.
double pair_ratio_from_turns(VectorGroup const& group, PhasePair const& pair, double hv_turns, double lv_turns);

}  // namespace benchward
