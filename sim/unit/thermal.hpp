// SPDX-License-Identifier: MIT
#pragma once

/// Temperatures of windings, liquid and core, as a few lumped bodies.

#include "design.hpp"
#include "unit_model.hpp"

namespace benchward::sim {

class ThermalBody {
 public:
  /// Currents squared as parts of rated squared, mean over the phases; total loss in watts.
  void advance(Design const& design, double hv_load_squared, double lv_load_squared, double loss_w, double seconds);
  void soak(double celsius_now);
  /// As from hot filling: all of it this much above ambient, the liquid in layers.
  void warm(double above_ambient);
  Temperatures now;

 private:
  void refresh();
  double oil_mean_c_ = 25.0;
  double layer_k_ = 0.0;  ///< top less bottom
};

}  // namespace benchward::sim
