// SPDX-License-Identifier: MIT
#include "thermal.hpp"

#include <algorithm>
#include <cmath>

namespace benchward::sim {
namespace {
constexpr double winding_to_oil_s = 420.0;
constexpr double oil_to_air_s = 2.5 * 3600.0;
constexpr double layers_s = 1.5 * 3600.0;
constexpr double core_to_oil_s = 900.0;
}  // namespace

void ThermalBody::refresh() {
  now.oil_top_c = oil_mean_c_ + 0.5 * layer_k_;
  now.oil_bottom_c = oil_mean_c_ - 0.5 * layer_k_;
}

void ThermalBody::advance(Design const& design, double hv_load_squared, double lv_load_squared, double loss_w,
                          double seconds) {
  // Steps well below the fastest time constant; a resting unit takes the long ones.
  int const count = std::max(1, static_cast<int>(std::ceil(seconds / 30.0)));
  double const h = seconds / count;
  for (int k = 0; k < count; ++k) {
    double const hv_rate = design.heating_hv_k_per_s * hv_load_squared * resistance_factor(design.hv_metal, now.hv_c) /
                           resistance_factor(design.hv_metal, 55.0);
    double const lv_rate = design.heating_lv_k_per_s * lv_load_squared * resistance_factor(design.lv_metal, now.lv_c) /
                           resistance_factor(design.lv_metal, 55.0);
    now.hv_c += h * (hv_rate - (now.hv_c - oil_mean_c_) / winding_to_oil_s);
    now.lv_c += h * (lv_rate - (now.lv_c - oil_mean_c_) / winding_to_oil_s);
    now.core_c += h * (-(now.core_c - oil_mean_c_) / core_to_oil_s);
    oil_mean_c_ += h * (loss_w / design.oil_joule_per_k - (oil_mean_c_ - now.ambient_c) / oil_to_air_s);
    double const steady_layer = 12.0 * loss_w / (design.no_load_loss_w + design.load_loss_w);
    layer_k_ += h * (steady_layer - layer_k_) / layers_s;
  }
  refresh();
}

void ThermalBody::soak(double celsius_now) {
  now.hv_c = now.lv_c = now.core_c = celsius_now;
  oil_mean_c_ = celsius_now;
  layer_k_ = 0.0;
  refresh();
}

void ThermalBody::warm(double above_ambient) {
  soak(now.ambient_c + above_ambient);
  layer_k_ = 0.35 * above_ambient;
  refresh();
}

}  // namespace benchward::sim
