// SPDX-License-Identifier: MIT
#pragma once

/// What hangs on the unit's terminals, as a circuit: sources, leads, shorting bars, earths, meters. Plain data, built
/// anew or changed in place for each evaluation; the unit model recognises a network whose elements (source volts
/// apart) are unchanged and then reuses what it has prepared, so keep one Network object a connection and change only
/// `volts` and `set_amperes` as the source moves.

#include <complex>
#include <string>
#include <vector>

namespace benchward::sim {

/// A point of the circuit. 0 is earth: the tank is always earthed. 1.. are the unit's terminals
/// (`UnitModel::terminal`), then come the nodes that `Network::add_node` gave out.
using Node = int;
inline constexpr Node earth = 0;

/// Resistance, inductance and (if not zero) capacitance in series between two nodes: a lead, a shorting bar, a clamp,
/// an earth, a voltmeter's burden, a stray capacitance. Current counts from `from` to `to`.
struct NetworkBranch {
  Node from = earth, to = earth;
  double resistance_ohm = 0.0;
  double inductance_h = 0.0;
  double capacitance_f = 0.0;  ///< 0 = no capacitor in the branch
};

/// A source of alternating volts behind its own impedance: V(to) - V(from) = volts - current * impedance. The current
/// counts as delivered: out of the source at `to`. For step_dc the real part of `volts` is a direct voltage.
struct NetworkEmf {
  Node from = earth, to = earth;
  std::complex<double> volts{};  ///< rms phasor of a sine; harmonics of the source's own below
  double resistance_ohm = 0.0;
  double inductance_h = 0.0;
  double third_harmonic = 0.0, fifth_harmonic = 0.0;  ///< of `volts`, in phase with it: a bent supply
};

/// A direct current source that obeys its volts limit: it delivers `set_amperes` into `to` as long as that needs no
/// more than `compliance_volts` between its ends, else it holds the limit. A diode of its own: it never takes power
/// back; with the set value lowered, current decays through the freewheel path (`freewheel_ohm`, volts reversed).
struct NetworkCurrentSource {
  Node from = earth, to = earth;
  double set_amperes = 0.0;
  double compliance_volts = 0.0;
  double freewheel_ohm = 1.0;
};

struct Network {
  explicit Network(int first_extra_node = 0) : next_node(first_extra_node) {}

  double frequency_hz = 60.0;
  std::vector<NetworkBranch> branches;
  std::vector<NetworkEmf> emfs;
  std::vector<NetworkCurrentSource> current_sources;  ///< step_dc only
  int next_node = 0;

  Node add_node() { return next_node++; }
  /// Each answers the element's index in its vector, and in the solution's.
  int add(NetworkBranch const& branch) {
    branches.push_back(branch);
    return static_cast<int>(branches.size()) - 1;
  }
  int add(NetworkEmf const& emf) {
    emfs.push_back(emf);
    return static_cast<int>(emfs.size()) - 1;
  }
  int add(NetworkCurrentSource const& source) {
    current_sources.push_back(source);
    return static_cast<int>(current_sources.size()) - 1;
  }
  /// A jumper or earth of this many ohms (a bolted bar is not zero: the demo bench's are 20 micro-ohm and up).
  int tie(Node a, Node b, double ohm = 1e-4, double henry = 0.0) { return add(NetworkBranch{a, b, ohm, henry, 0.0}); }
};

}  // namespace benchward::sim
