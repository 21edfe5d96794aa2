// SPDX-License-Identifier: MIT
#pragma once

/// The parts of a UnitModel, together. Open to the checks against ngspice, which build their decks from it.

#include "ac_engine.hpp"
#include "circuit.hpp"
#include "dc_engine.hpp"
#include "design.hpp"
#include "insulation.hpp"
#include "thermal.hpp"
#include "unit_model.hpp"

namespace benchward::sim {

class UnitModel::Internals {
 public:
  Internals(Unit const& unit_data, Manufacture const& manufacture);

  Unit unit;
  Design design;
  TerminalTable terminals;
  CircuitState state;
  bool dual_dead = false;  ///< the dual-voltage switch's contacts stay where they are
  Circuit circuit;
  std::array<CoreLimb, 3> core;   ///< as built, defects included; the banks hold each limb's standing flux
  double core_loss_factor = 1.0;  ///< of defects
  ThermalBody thermal;
  std::array<StressedInsulation, 5> stressed;
  DirectInsulation direct;
  AcEngine ac;
  DcEngine dc;
  RandomStream chance;
  std::uint64_t revision = 1;

  enum class Last { nothing, alternating, direct, insulation } last = Last::nothing;

  void changed() { dirty_ = true; }
  void ready();  ///< compiles what has changed
  UnitCondition condition() const;
  void apply_defects();
  void set_leakage();  ///< follows the liquid's temperature and moisture
  void advance_core(double seconds);
  void stress_by_ac(double seconds);
  void stress(std::array<double, 5> const& volts, double seconds);
  void heat(double seconds);
  bool arresters_moved();
  void relax(int limb);  ///< flux falls to where no current is needed
  void magnetise(int limb, double remanent);
  std::vector<std::pair<std::string, double>> truth() const;

 private:
  bool dirty_ = true;
  double compiled_hv_c_ = -1e9, compiled_lv_c_ = -1e9, compiled_core_c_ = -1e9;
  double joint_clock_ = 0.0;
};

}  // namespace benchward::sim
