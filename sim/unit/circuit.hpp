// SPDX-License-Identifier: MIT
#pragma once

/// The unit as a circuit: coils on limbs, what stands between coils and bushings (fuses, breaker, switches), straps and
/// arresters, insulation capacitances, arcs. Compiled anew whenever a switch, tap, defect or breakdown changes it.

#include <string>
#include <utility>
#include <vector>

#include "../../limits/unit/unit.hpp"
#include "defects.hpp"
#include "design.hpp"

namespace benchward::sim {

/// Nodes: 0 earth, 1.. terminals, below zero: points inside the tank (-1, -2, ...).
struct CircuitCoil {
  int limb = 0;
  double turns = 0.0;  ///< signed by sense
  double ohm_20 = 0.0;
  Metal metal = Metal::copper;
  bool hv = true;
  int phase = 0, part = 0;
  double leakage_h = 0.0;
  double stray_weight = 0.0;  ///< of the design's stray law, 0 = none
  bool winding = true;        ///< false: a shorted turn
  int start = 0, end = 0;
};

struct CircuitBranch {
  int from = 0, to = 0;
  double ohm = 0.0;
};

/// One entry of the capacitance matrix between nodes: charge at `a` for a volt at `b`.
struct CapacitanceEntry {
  int a = 0, b = 0;
  double farad = 0.0;
};

struct AccessorySetting {
  enum class Kind { strap, arrester, fuse, switch_, breaker } kind = Kind::strap;
  std::string name, terminal, state;
  bool passes() const { return state != "open" && state != "blown" && state != "off"; }
};

struct CircuitState {
  int tap_percent_index = -1;  ///< index into hv.taps, -1 = no taps
  int dual_position = 0;       ///< 0 = not a dual-voltage unit
  std::vector<AccessorySetting> accessories;
  Defects defects;
  std::array<bool, 5> arc{};            ///< by Insulation
  std::vector<bool> arrester_conducts;  ///< by accessory
  double joint_wander = 1.0;            ///< of a poor joint
};

struct Circuit {
  std::vector<CircuitCoil> coils;
  std::vector<CircuitBranch> branches;
  std::vector<CapacitanceEntry> capacitances;
  int internal_nodes = 0;
};

/// Names of the bushings and the node of each.
struct TerminalTable {
  std::vector<std::string> names;                    ///< of nodes 1..
  std::vector<std::pair<std::string, int>> aliases;  ///< every accepted name
  std::vector<int> hv, lv;                           ///< nodes
  int find(std::string_view name) const;             ///< -1 = none
  std::array<int, 3> hv_line{-1, -1, -1}, lv_line{-1, -1, -1};
  int hv_neutral = -1, lv_neutral = -1;      ///< node; -1 = inside
  int middle = -1;                           ///< X2 of a centre tap, X4 of a tapped leg
  int section_end = -1, section_start = -1;  ///< X2 and X3 of a series-parallel winding
};

TerminalTable make_terminals(Unit const& unit, VectorGroup const& group);
Circuit compile(Unit const& unit, Design const& design, TerminalTable const& terminals, CircuitState const& state);
/// Factor of the high-voltage turns against the rated tap, and whole turns.
double hv_turns_now(Unit const& unit, Design const& design, CircuitState const& state, int phase);

}  // namespace benchward::sim
