// SPDX-License-Identifier: MIT
#pragma once

/// A unit model's circuit written as a deck for ngspice, and the answers read back. The deck says the same physics in
/// another program's words: coils as resistor, inductor and a controlled source of the limb's volts per turn; a limb as
/// a node whose volts are volts per turn and into which each coil feeds turns times current (ampere-turns).

#include <complex>
#include <string>
#include <vector>

#include "sim/unit/internals.hpp"
#include "sim/unit/network.hpp"

namespace benchward::sim::spice {

class Deck {
 public:
  /// Frequency domain: limbs as the fundamental admittances that the model found in its last solve_ac.
  static Deck alternating(UnitModel::Internals const& body, Network const& network);
  /// How the sources of a deck in time drive.
  enum class Drive {
    soft_sine,  ///< grown over `growth_s` so that little standing flux is left; stray loss and the tank's part with it
    direct,     ///< a step; the unit as it is to direct current
    sudden_sine,  ///< switched on whole at time zero, on the unit as it is to direct current
  };
  /// Time domain: limbs with their saturation curve and eddy loss (hysteresis must be switched off in `body`'s copy of
  /// the core, as the deck has none), sources as sines or steps.
  static Deck transient(UnitModel::Internals const& body, std::array<CoreLimb, 3> const& core, Network const& network,
                        Drive drive, double growth_s = 1.5);

  /// Phasors of the network's nodes, then of the sources' currents (delivered).
  struct Phasors {
    std::vector<std::complex<double>> node, emf;
  };
  Phasors run_alternating() const;
  /// Columns over time, at equal steps: [time, nodes 1.., currents delivered by the sources]. All three throw
  /// std::runtime_error where ngspice gave no answer.
  std::vector<std::vector<double>> run_transient(double step_s, double end_s, double keep_from_s) const;

  std::string text;

 private:
  double frequency_hz_ = 60.0;
  int nodes_ = 1, emfs_ = 0;
};

}  // namespace benchward::sim::spice
