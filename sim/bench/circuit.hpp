// SPDX-License-Identifier: MIT
#pragma once

/// From what hands have clipped where to the network that hangs on the unit's terminals. Pure wiring: no time here.

#include <optional>
#include <string>
#include <vector>

#include "../../drivers/bench/bench_io.hpp"
#include "../../drivers/roles/connection.hpp"
#include "../faults/fault_set.hpp"
#include "../unit/unit_model.hpp"
#include "simulation_parameters.hpp"

namespace benchward::sim {

/// Switches of the bench that are part of the circuit.
struct CircuitSwitches {
  bool source_on = false;  ///< contactors of the path in use closed
  bool earth_closed = true;
  bool resistor_on = true;
  bool short_closed = true;
  bool flashed_over = false;  ///< an arc stands at the fed bushing, outside the tank
  bool operator==(CircuitSwitches const&) const = default;
};

/// Which source the connection's leads come from. "none" and an unknown word: SourcePath::none.
SourcePath path_of(std::string const& instrument_role);

/// Terminals that the feed and measure leads are clipped to.
bool is_clipped(Connection const& connection, std::string const& terminal);

/// The alternating-current circuit of a source on the unit.
struct AlternatingCircuit {
  Network network;
  std::vector<int> emf;          ///< a phase each
  std::vector<Node> at_source;   ///< source-side end of each phase's lead
  std::vector<Node> at_unit;     ///< terminal of each phase's lead
  Node neutral = earth;          ///< of the source
  bool neutral_on_unit = false;  ///< lead N is clipped: the analyser's star point is a real neutral
  Node neutral_terminal = earth;
  std::vector<int> bars;  ///< branches
};

/// What the source is set to, for the circuit's sake.
struct SourceBuild {
  int phases = 1;
  double frequency_hz = 60.0;
  double impedance_ohm = 0.0, x_over_r = 1.0;
};

/// What heat has made of bar and contact: factors of their cold resistance.
struct BarHeat {
  double bar = 1.0, contact = 1.0;
};

class CircuitBuilder {
 public:
  CircuitBuilder(UnitModel const& unit, SimulationParameters const& parameters, FaultSet const& faults)
      : unit_(unit), parameters_(parameters), faults_(faults) {}

  AlternatingCircuit source(Connection const& connection, CircuitSwitches switches, SourceBuild const& build,
                            BarHeat heat) const;
  AlternatingCircuit dielectric(Connection const& connection, CircuitSwitches switches, SourceBuild const& build,
                                double rated_hz) const;

  struct RatioCircuit {
    Network network;
    int emf = 0;
    Node fed_from = earth, fed_to = earth, read_from = earth, read_to = earth;
  };
  /// Terminals "H1", tied ones "H2+H3"; `shorted` "X3-X1". Nothing: a terminal is not clipped, or the unit has it not.
  struct RatioSelection {
    std::string feed_from, feed_to, read_from, read_to, shorted;
  };
  std::optional<RatioCircuit> ratio(Connection const& connection, CircuitSwitches switches,
                                    RatioSelection const& selection) const;

  struct DirectCircuit {
    Network network;
    Node from = earth, to = earth;  ///< terminals of the selected pair
    int lead = -1;                  ///< branch that carries the winding's current from the source
    int short_contact = -1;
    int current_source = -1;
  };
  std::optional<DirectCircuit> direct(Connection const& connection, CircuitSwitches switches, std::string const& from,
                                      std::string const& to) const;

  InsulationConnection insulation(Connection const& connection, CircuitSwitches switches, double volts) const;

  /// Node of a terminal's name, earth for the tank; nothing if the unit has it not.
  std::optional<Node> node(std::string const& terminal) const;

 private:
  /// Ties, bars and earths that hands have put on.
  std::vector<int> lay_jumpers(Network& network, Connection const& connection, BarHeat heat) const;
  void lay_switches(Network& network, std::vector<Node> const& at_source, CircuitSwitches switches) const;

  UnitModel const& unit_;
  SimulationParameters const& parameters_;
  FaultSet const& faults_;
};

}  // namespace benchward::sim
