// SPDX-License-Identifier: MIT
// Whether a bench is built for a unit, and whether its instruments are certain enough for what the unit's tests must
// tell. Source of the accuracies: 10 CFR 431 subpart K appendix A 2.3 (power loss 3.0 %, voltage, current and
// resistance 0.5 %, temperature 1.0 degC), IEEE C57.12.90 (ratio 0.1 %, from memory); taken as expanded, k = 2.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "tests_seq/plan/step_builder.hpp"

namespace benchward::planning {

namespace {

constexpr double coverage = 2.0;
constexpr double loss_percent = 3.0, electrical_percent = 0.5, temperature_k = 1.0, ratio_percent = 0.1;
/// The whole tolerance over the expanded uncertainty: below it a reading tells nothing (common practice, no source).
constexpr double least_ratio_of_uncertainties = 2.0;

ChannelCalibration const* channel_of(Bench const& bench, char const* role, char const* quantity) {
  auto const* instrument = bench.in_role(role);
  return instrument == nullptr ? nullptr : instrument->calibration.channel(quantity);
}

/// Standard uncertainty relative to the value, without what averages out.
double relative_u(ChannelCalibration const& channel) {
  return std::hypot(channel.relative_u, channel.noise_relative_u);
}

void check_channel(StepBuilder& at, char const* role, char const* quantity, char const* test, double allowed_percent) {
  auto const* channel = channel_of(at.bench, role, quantity);
  if (channel == nullptr) return;
  double const expanded = 100.0 * coverage * relative_u(*channel);
  if (expanded <= allowed_percent) return;
  at.refuse(
      fmt::format("{}: the bench's {} is uncertain by {:.2g} % (k = 2), at most {:.2g} %: test uncertainty ratio "
                  "too small",
                  test, quantity, expanded, allowed_percent));
}

/// Load loss at this unit's power factor: the phase error of the system times tan phi comes on top of the gain's.
void check_load_loss(StepBuilder& at) {
  auto const* channel = channel_of(at.bench, "power_analyzer", "power");
  if (channel == nullptr) return;
  double const impedance = at.unit.guarantees.impedance_percent.value_or(5.0);
  double const watts_here = at.unit.guarantees.load_loss ? at.unit.guarantees.load_loss->in(watts) : 0.0;
  double const resistance = watts_here / (10.0 * at.unit.rated_power.in(kilovolt_amperes));
  double const tangent = resistance > 0.0 && impedance > resistance
                             ? std::sqrt(impedance * impedance / (resistance * resistance) - 1.0)
                             : 5.0;
  double const expanded = 100.0 * coverage * std::hypot(relative_u(*channel), channel->phase_u_rad * tangent);
  if (expanded <= loss_percent) return;
  at.refuse(fmt::format(
      "load_loss: the bench's watts are uncertain by {:.2g} % (k = 2) at this unit's power factor of {:.2g}, "
      "at most {:.2g} %: test uncertainty ratio too small",
      expanded, 1.0 / std::hypot(1.0, tangent), loss_percent));
}

/// The order's own tolerance on the ratio against the meter.
void check_ratio(StepBuilder& at) {
  check_channel(at, "ratio_meter", "ratio", "ratio", ratio_percent);
  auto const* channel = channel_of(at.bench, "ratio_meter", "ratio");
  auto const* line = at.sheet.line("ratio", "ratio_error_percent");
  if (channel == nullptr || line == nullptr || !line->limit.upper) return;
  double const expanded = 100.0 * coverage * relative_u(*channel);
  if (*line->limit.upper >= least_ratio_of_uncertainties * expanded) return;
  at.refuse(fmt::format(
      "ratio: the limit of {:.2g} % is {:.2g} times the meter's uncertainty of {:.2g} % (k = 2), at least {:.2g} are "
      "needed: test uncertainty ratio too small",
      *line->limit.upper, *line->limit.upper / expanded, expanded, least_ratio_of_uncertainties));
}

void check_temperature(StepBuilder& at) {
  auto const* channel = channel_of(at.bench, "thermometer_scanner", "temperature");
  if (channel == nullptr) return;
  double const expanded = coverage * std::hypot(channel->offset_u, channel->noise_u);
  if (expanded <= temperature_k) return;
  at.refuse(fmt::format(
      "temperatures: the thermometers are uncertain by {:.2g} K (k = 2), at most {:.2g} K: test uncertainty ratio too "
      "small",
      expanded, temperature_k));
}

}  // namespace

void check_envelope(StepBuilder& at) {
  Envelope const& envelope = at.bench.envelope;
  if (std::find(envelope.phases.begin(), envelope.phases.end(), at.unit.phases) == envelope.phases.end()) {
    at.refuse(fmt::format("the bench is not built for {}-phase units", at.unit.phases == 1 ? "single" : "three"));
  }
  double const kva = at.unit.rated_power.in(kilovolt_amperes);
  if (kva > envelope.rated_power.in(kilovolt_amperes) * (1.0 + 1e-9)) {
    at.refuse(fmt::format("the unit has {:.6g} kVA, the bench is built for {:.6g} kVA", kva,
                          envelope.rated_power.in(kilovolt_amperes)));
  }
  if (at.unit.rated_frequency < envelope.lowest || envelope.highest < at.unit.rated_frequency) {
    at.refuse(fmt::format("the unit has {:.4g} Hz, the bench's source {:.4g} to {:.4g} Hz", at.rated_hz(),
                          envelope.lowest.in(hertz), envelope.highest.in(hertz)));
  }
}

void check_uncertainties(StepBuilder& at) {
  check_ratio(at);
  check_temperature(at);
  check_channel(at, "resistance_meter", "resistance", "winding_resistance", electrical_percent);
  check_channel(at, "power_analyzer", "voltage", "no_load", electrical_percent);
  check_channel(at, "power_analyzer", "current", "load_loss", electrical_percent);
  check_channel(at, "power_analyzer", "power", "no_load", loss_percent);
  check_load_loss(at);
}

}  // namespace benchward::planning
