// SPDX-License-Identifier: MIT
// Must not compile: nothing that raises volts or current can be called without a permit.
#include "drivers/roles/roles.hpp"

namespace benchward {

Task<void> raise(AcSource& source, DielectricTester& tester, InsulationMeter& insulation, ResistanceMeter& resistance,
                 RatioMeter& ratio) {
  (void)source;
  (void)tester;
  (void)insulation;
  (void)resistance;
  (void)ratio;
  co_await tester.set(DielectricTester::Setting());
}

}  // namespace benchward
