// SPDX-License-Identifier: MIT
// Must not compile: a permit cannot be copied.
#include "drivers/roles/roles.hpp"

namespace benchward {

Task<void> raise(AcSource& source, DielectricTester& tester, InsulationMeter& insulation, ResistanceMeter& resistance,
                 RatioMeter& ratio, Permit const& permit) {
  (void)source;
  (void)tester;
  (void)insulation;
  (void)resistance;
  (void)ratio;
  Permit const second(permit);
  co_await source.set(second, AcSource::Setting());
}

}  // namespace benchward
