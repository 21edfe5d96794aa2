// SPDX-License-Identifier: MIT
#pragma once

/// Levels, durations and currents of the dielectric tests.
/// Sources: twice rated volts, 7200 cycles and 60 s (IEEE C57.12.90, from memory); 120 f_rated / f_test seconds,
/// at least 15 (IEC 60076-3: the formula from a maker's page, the 15 s from memory); line-to-ground level
/// 1000 V + 3.46 V_winding with a ceiling (IEEE C57.12.38-2014, extract read).

#include <optional>
#include <string>

#include "../unit/unit.hpp"
#include "scalar.hpp"

namespace benchward {

enum class InducedCase { twice_rated, line_to_ground };

struct InducedInput {
  StandardFamily standard = StandardFamily::ieee;
  double rated_v = 0.0;  ///< of the fed winding
  double rated_hz = 0.0;
  double test_hz = 0.0;
  InducedCase level = InducedCase::twice_rated;
  std::optional<double> winding_v;  ///< of the high-voltage winding; needed for line_to_ground
  std::optional<double> ceiling_v;  ///< by basic impulse level; absent = none
};

struct InducedTest {
  double test_v;  ///< on the fed winding
  double duration_s;
  double lowest_test_hz;  ///< rated_hz * test_v / rated_v: flux at rated
};

/// Throws InputError naming `test_hz` where it is below the lowest frequency by more than 1e-9 relative.
InducedTest induced_test(InducedInput const& in);

/// I = 2 pi f C V.
Current capacitive_current(Voltage level, Frequency frequency, Capacitance capacitance);

}  // namespace benchward
