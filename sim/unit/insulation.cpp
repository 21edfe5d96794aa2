// SPDX-License-Identifier: MIT
#include "insulation.hpp"

#include <algorithm>
#include <cmath>

namespace benchward::sim {

void StressedInsulation::set(double volts63, RandomStream& random) {
  volts63_ = volts63;
  used_ = 0.0;
  bound_ = random.exponential();
}

bool StressedInsulation::stress(double volts, double seconds, RandomStream& random) {
  double const strength = volts63_ * factor_ * scar_;
  double const part = volts / strength;
  if (part < 0.2) return false;  // 0.2^16 is 1e-11 a minute
  double const squared = part * part;
  double const fourth = squared * squared;
  double const eighth = fourth * fourth;
  used_ += eighth * eighth * seconds / 60.0;
  if (used_ < bound_) return false;
  ++count;
  arcing = true;
  scar_ *= 0.8;
  used_ = 0.0;
  bound_ = random.exponential();
  return true;
}

void AbsorbingLeg::set(double farad, double leakage_seconds) {
  farad_ = farad;
  ohm_ = leakage_seconds / farad;
}

void AbsorbingLeg::companion(double step_s, double& siemens, double& amperes) const {
  siemens = 1.0 / ohm_ + farad_ / step_s;
  amperes = -farad_ / step_s * volts_;
  for (std::size_t k = 0; k < part.size(); ++k) {
    double const g = part[k] * farad_ / (seconds[k] + step_s);
    siemens += g;
    amperes -= g * slow_[k];
  }
}

void AbsorbingLeg::advance(double volts, double step_s) {
  for (std::size_t k = 0; k < part.size(); ++k) {
    double const ratio = step_s / seconds[k];
    slow_[k] = (slow_[k] + ratio * volts) / (1.0 + ratio);
  }
  volts_ = volts;
}

double AbsorbingLeg::joules() const {
  double sum = 0.5 * farad_ * volts_ * volts_;
  for (std::size_t k = 0; k < part.size(); ++k) sum += 0.5 * part[k] * farad_ * slow_[k] * slow_[k];
  return sum;
}

void AbsorbingLeg::clear() {
  volts_ = 0.0;
  slow_ = {};
}

InsulationReading DirectInsulation::substep(InsulationConnection const& connection, double step_s) {
  double gh = 0, gl = 0, gb = 0, ih = 0, il = 0, ib = 0;
  hv.companion(step_s, gh, ih);
  lv.companion(step_s, gl, il);
  between.companion(step_s, gb, ib);
  double a11 = gh + gb, a12 = -gb, a22 = gl + gb;
  double r1 = -ih - ib, r2 = -il + ib;
  double const source = 1.0 / std::max(connection.source_ohm, 1.0);
  auto const tie = [&](WindingTie how, double& diagonal, double& right) {
    if (how == WindingTie::driven) {
      diagonal += source;
      right += source * connection.volts;
    } else if (how == WindingTie::earthed || how == WindingTie::guarded) {
      diagonal += 10.0;
    }
  };
  tie(connection.hv, a11, r1);
  tie(connection.lv, a22, r2);
  double const determinant = a11 * a22 - a12 * a12;
  hv_volts = (r1 * a22 - a12 * r2) / determinant;
  lv_volts = (a11 * r2 - a12 * r1) / determinant;
  double const through_between = gb * (hv_volts - lv_volts) + ib;  // from HV to LV
  InsulationReading reading;
  reading.hv_volts = hv_volts;
  reading.lv_volts = lv_volts;
  if (connection.hv == WindingTie::driven) {
    reading.meter_amperes += source * (connection.volts - hv_volts);
    if (connection.lv == WindingTie::guarded) reading.meter_amperes -= through_between;
  }
  if (connection.lv == WindingTie::driven) {
    reading.meter_amperes += source * (connection.volts - lv_volts);
    if (connection.hv == WindingTie::guarded) reading.meter_amperes += through_between;
  }
  hv.advance(hv_volts, step_s);
  lv.advance(lv_volts, step_s);
  between.advance(hv_volts - lv_volts, step_s);
  reading.stored_joules = hv.joules() + lv.joules() + between.joules();
  return reading;
}

InsulationReading DirectInsulation::step(InsulationConnection const& connection, double seconds) {
  // Long waits in steps that grow: absorption is slow.
  double const step_limit = seconds <= 1.0 ? 0.05 : 0.5;
  int const count = std::max(1, static_cast<int>(std::ceil(seconds / step_limit - 1e-9)));
  InsulationReading reading;
  for (int k = 0; k < count; ++k) reading = substep(connection, seconds / count);
  return reading;
}

bool DirectInsulation::quiet() const { return hv.joules() + lv.joules() + between.joules() < 1e-9; }

}  // namespace benchward::sim
