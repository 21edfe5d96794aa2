// SPDX-License-Identifier: MIT
#pragma once

/// The unit with its sources and leads, in time. It recomputes the circuit only when something changed by more than
/// what a reader could see; while a regulator ramps, waves between two solutions are scaled.

#include <array>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../faults/fault_set.hpp"
#include "../unit/unit_model.hpp"
#include "circuit.hpp"
#include "supplies.hpp"

namespace benchward::sim {

class Physics {
 public:
  Physics(Bench const& bench, Unit const& unit, SimulationParameters const& parameters, FaultSet const& faults,
          Manufacture manufacture);

  // --- time ---
  /// Moves the unit's time; switches and wiring stand since the last call.
  void advance(std::int64_t now_ns);
  /// The longest that advance may jump.
  std::int64_t next_event_ns() const;
  std::int64_t now_ns() const { return now_ns_; }

  // --- switches, wiring, faults ---
  void set_switches(std::array<bool, max_sources> const& source_on, CircuitSwitches common);
  void ramp_permitted(bool permitted);
  void set_wiring(Connection connection, bool connected);
  void set_unit(Unit const& unit);
  void faults_changed();
  Connection const& wiring() const { return wiring_; }
  bool connected() const { return connected_; }
  SourcePath path() const { return path_; }
  UnitModel& model() { return model_; }
  UnitModel const& model() const { return model_; }
  Unit const& unit() const { return unit_; }

  // --- sources, as their own panels see them ---
  AlternatingSupply& source() { return source_; }
  AlternatingSupply const& source() const { return source_; }
  AlternatingSupply& dielectric() { return dielectric_; }
  AlternatingSupply const& dielectric() const { return dielectric_; }
  DirectSupply& direct() { return direct_; }
  DirectSupply const& direct() const { return direct_; }
  bool source_on(SourcePath path) const { return source_on_[static_cast<std::size_t>(path)]; }
  bool at_zero(SourcePath path) const;
  /// Store of compensation or link capacitors at the source: empty.
  bool store_discharged() const;

  // --- ratio meter ---
  void ratio_select(CircuitBuilder::RatioSelection selection, double volts);
  void ratio_off();
  double ratio_volts() const { return ratio_volts_; }
  struct RatioState {
    bool measuring = false;
    Wave applied, read, current;
  };
  RatioState ratio_state();

  // --- resistance meter ---
  /// False: refused, direct current flows.
  bool direct_select(std::string from, std::string to);
  struct DirectState {
    bool valid = false;
    double volts = 0.0, amperes = 0.0, lead_amperes = 0.0;
    bool limited = false;
  };
  DirectState direct_state() const;

  // --- insulation meter ---
  void insulation_volts(double volts) { insulation_volts_ = volts; }
  double insulation_volts() const { return insulation_volts_; }
  InsulationReading const& insulation_reading() const { return insulation_reading_; }

  // --- alternating current as the analyser sees it: exact ---
  struct PhaseWaves {
    Wave volts, amperes;  ///< volts against the star point in use, at the unit; amperes in the lead
  };
  struct AnalyserView {
    std::vector<PhaseWaves> phases;
    bool neutral = false;
    double frequency_hz = 0.0;
  };
  /// `real_neutral`: star point at lead N, else an artificial one.
  AnalyserView analyser_view(bool real_neutral);

  // --- at the output of the path in use, as the guard's transducers see it ---
  double output_v() const { return output_v_; }
  double output_a() const { return output_a_; }
  double direct_a() const { return direct_a_; }
  double dielectric_level_v() const { return path_ == SourcePath::dielectric ? output_v_ : 0.0; }
  /// Volts to earth of each terminal, in the order of model().terminals(); the highest of them; joules at terminals.
  std::vector<double> const& terminal_volts() const { return terminal_volts_; }
  double highest_v() const { return highest_v_; }
  double stored_joules() const { return stored_joules_; }
  bool arrester_conducts() const { return arrester_conducts_; }

 private:
  enum class Mode { rest, source, dielectric, ratio, direct, insulation };
  Mode mode() const;
  void build();
  void ensure_solved(bool exact);
  void solve(double volts, double hertz);
  void spread(double scale);
  void follow_mode();
  void cut(Mode was);
  void step_direct(double seconds);
  void step_rest(double seconds);
  void read_alternating(double scale);
  void clear_outputs();
  SourceBuild source_build() const;
  void heat_bars(double seconds);
  BarHeat bar_heat() const;

  Bench const& bench_;
  SimulationParameters const& parameters_;
  FaultSet const& faults_;
  Manufacture manufacture_;
  Unit unit_;
  UnitModel model_;
  CircuitBuilder builder_;
  std::mt19937_64 random_;
  Connection wiring_;
  bool connected_ = false;
  SourcePath path_ = SourcePath::none;
  std::array<bool, max_sources> source_on_{};
  CircuitSwitches switches_;
  AlternatingSupply source_, dielectric_;
  DirectSupply direct_;
  CircuitBuilder::RatioSelection ratio_selection_;
  double ratio_volts_ = 0.0, insulation_volts_ = 0.0;
  std::string direct_from_, direct_to_;
  bool was_used_ = false;  // the source has been up since its store was last empty
  std::int64_t now_ns_ = 0;

  Mode standing_ = Mode::rest;  ///< what the outputs below were made by

  // The circuit as built, and the solution it stands on.
  bool built_ = false, solved_ = false;
  Mode built_mode_ = Mode::rest;
  double built_range_v_ = 0.0;
  int built_phases_ = 1;
  AlternatingCircuit alternating_;
  CircuitBuilder::RatioCircuit ratio_circuit_;
  bool ratio_valid_ = false, direct_valid_ = false;
  CircuitBuilder::DirectCircuit direct_circuit_;
  AcSolution const* solution_ = nullptr;
  double solved_volts_ = 0.0, solved_hz_ = 0.0, regulation_ = 1.0, scale_ = 1.0;
  double since_solve_s_ = 0.0, pending_s_ = 0.0;
  double bar_rise_k_ = 0.0, contact_rise_k_ = 0.0;
  BarHeat built_heat_;
  double unit_output_v_ = 0.0, unit_output_a_ = 0.0;  // of the solution, unscaled
  std::vector<double> node_rms_;
  int breakdowns_ = 0;
  double trapped_v_ = 0.0;
  DirectState direct_state_;
  double discharge_ohm_ = 0.05;
  InsulationReading insulation_reading_;

  double output_v_ = 0.0, output_a_ = 0.0, direct_a_ = 0.0;
  std::vector<double> terminal_volts_;
  double highest_v_ = 0.0, stored_joules_ = 0.0;
  bool arrester_conducts_ = false;
};

}  // namespace benchward::sim
