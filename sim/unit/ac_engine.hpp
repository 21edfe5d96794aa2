// SPDX-License-Identifier: MIT
#pragma once

/// Steady alternating state of unit and network: the linear part (coils, leads, sources, capacitances) is reduced once
/// a connection to what the limbs see of it; the core's few unknowns are then solved by iteration on their odd
/// harmonics.

#include <array>
#include <cstdint>
#include <vector>

#include "circuit.hpp"
#include "dense.hpp"
#include "design.hpp"
#include "network.hpp"
#include "unit_model.hpp"

namespace benchward::sim {

using FluxWave = std::array<Complex, Wave::harmonic_count>;  ///< peak phasors, units of rated flux

/// What the solve needs to know of the unit beyond its circuit.
struct UnitCondition {
  double hv_c = 25.0, lv_c = 25.0;  ///< winding temperatures
  double core_loss_factor = 1.0;    ///< temperature and defects
  double loss_tangent = 0.003;      ///< of the insulation
  std::array<double, 3> flux_offset{};
  std::uint64_t revision = 0;  ///< changes whenever the circuit, or anything above but the flux, does
};

class AcEngine {
 public:
  /// The answer stands in `solution()` and the vectors below until the next call.
  void solve(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3> const& core,
             UnitCondition const& condition, Network const& network);
  AcSolution const& solution() const { return solution_; }
  std::vector<Wave> const& coil_current() const { return coil_current_; }
  std::array<FluxWave, 3> const& flux() const { return flux_; }
  std::array<LimbResponse, 3> const& response() const { return response_; }
  bool excited() const { return excited_; }
  void forget();  ///< the excitation is gone: zero waves

  /// Rows of the linear part, for the deck of a general simulator: series impedance of each coil at the fundamental.
  Complex coil_impedance(Circuit const& circuit, Design const& design, UnitCondition const& condition,
                         double frequency_hz, std::size_t coil) const;

 private:
  struct Harmonic {
    bool ready = false;
    std::vector<Complex> from_emf, from_limb;  ///< per row: volts of each node, then current of each coil, each emf
    std::vector<Complex> branch_admittance;    ///< of the network's branches
    std::vector<Complex> mmf_from_emf, mmf_from_limb;  ///< per limb; limb's volts per turn -> ampere-turns, rms phasors
  };
  struct Prepared {
    std::vector<NetworkBranch> branches;
    std::vector<NetworkEmf> emfs;
    double frequency_hz = 0.0;
    std::uint64_t revision = ~0ull;
    std::uint64_t used = 0;
    int next_node = 0;
    std::vector<double> stray_ohm;  ///< per coil, of the fundamental
    std::array<Harmonic, Wave::harmonic_count> harmonic;
  };

  Prepared& prepare(Network const& network, UnitCondition const& condition, Circuit const& circuit);
  void build(Prepared& prepared, int index, Circuit const& circuit, UnitCondition const& condition);
  bool iterate(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
               UnitCondition const& condition, Network const& network);
  bool newton(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
              UnitCondition const& condition, Network const& network);
  double residual(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
                  UnitCondition const& condition, Network const& network, bool want_slopes);
  void collect(Prepared const& prepared, Circuit const& circuit, Network const& network);
  Complex emf_phasor(NetworkEmf const& emf, int index) const;

  std::vector<Prepared> cache_;
  std::uint64_t clock_ = 0;
  Dense<Complex> matrix_;
  Dense<double> jacobian_;
  std::vector<Complex> column_, emf_now_;
  std::vector<double> step_;
  int limbs_ = 1;
  double omega_ = 1.0, rated_flux_ = 1.0;
  bool excited_ = false;
  double last_drive_ = 0.0;
  std::array<FluxWave, 3> flux_{};
  std::array<FluxWave, 3> residual_{};
  std::array<LimbResponse, 3> response_{};
  LimbResponse return_response_{};
  std::array<SlopeSamples, 4> slopes_{};
  std::array<double, 4> crest_{};
  AcSolution solution_;
  std::vector<Wave> coil_current_;
};

}  // namespace benchward::sim
