// SPDX-License-Identifier: MIT
#pragma once

/// The guard's states and the few words that its freestanding part and the rest of the program share.
/// Freestanding: enumerations only.

#include <cstdint>

namespace benchward {

/// How a step is stopped when nothing is wrong. Past the bound, and on every trip, the contactors open at once.
enum class StopWay : std::uint8_t {
  plain,          ///< regulator to zero
  dielectric,     ///< to one quarter within 5 s, then open
  direct_current  ///< short closed, current decays, shorting contact stays closed
};

/// The guard's states (README.md: S0 to S10, ST, SX).
enum class GuardState : std::uint8_t {
  unknown,
  safe_earthed,
  securing,
  warning,
  armed,
  closing,
  ramp_up,
  hold,
  ramp_down,
  discharge,
  earthing,
  tripped,
  lockout
};
inline constexpr int guard_state_count = 13;

/// EN 50191's four area statuses.
enum class AreaStatus : std::uint8_t { out_of_operation, ready_for_operation, ready_to_switch_on, in_operation };

}  // namespace benchward
