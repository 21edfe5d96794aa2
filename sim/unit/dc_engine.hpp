// SPDX-License-Identifier: MIT
#pragma once

/// Direct current through unit and network, step by step in time (implicit Euler): leakage and saturating, hysteretic
/// core, closed deltas, current sources with a volts limit.

#include <vector>

#include "circuit.hpp"
#include "dense.hpp"
#include "network.hpp"
#include "unit_model.hpp"

namespace benchward::sim {

class DcEngine {
 public:
  /// Longest step of the integration, seconds. A circuit that is opened under current is taken to arc for one step, so
  /// the kick of an opened lead is the flux that falls within 10 ms.
  static constexpr double longest_step_s = 0.01;

  /// `core` holds flux offsets (in its hysteresis banks) and is moved on.
  void step(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3>& core, double hv_c, double lv_c,
            std::uint64_t revision, Network const& network, double seconds);
  DcSolution const& solution() const { return solution_; }
  std::vector<double> const& coil_current() const { return current_; }
  bool flowing(Circuit const& circuit, Design const& design) const;
  void forget();  ///< no current anywhere

 private:
  enum class Mode : char { current, limited, freewheel };
  struct Prepared {
    std::vector<NetworkBranch> branches;
    std::vector<NetworkEmf> emfs;
    std::vector<Node> source_ends;
    std::vector<Mode> modes;
    std::vector<double> freewheel;
    double step_s = 0.0;
    int next_node = 0;
    std::uint64_t revision = ~0ull, used = 0;
    Dense<double> matrix;
    std::vector<double> from_limb;      ///< rows x limbs
    std::vector<double> mmf_from_limb;  ///< limbs x limbs
  };
  Prepared& prepare(Circuit const& circuit, double hv_c, double lv_c, std::uint64_t revision, Network const& network,
                    double step_s, int limbs);
  void substep(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3>& core, double hv_c, double lv_c,
               std::uint64_t revision, Network const& network, double step_s);
  void solve_core(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core, double step_s,
                  std::array<double, 3> const& mmf, std::array<double, 3>& flux) const;

  std::vector<Prepared> cache_;
  std::uint64_t clock_ = 0;
  std::vector<Mode> modes_;
  std::vector<double> current_, right_, full_;
  DcSolution solution_;
};

}  // namespace benchward::sim
