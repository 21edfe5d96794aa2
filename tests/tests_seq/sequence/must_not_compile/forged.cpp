// SPDX-License-Identifier: MIT
// Must not compile: a permit that nobody but the guard may make.
#include "drivers/roles/roles.hpp"

namespace benchward {

Task<void> raise(AcSource& source, DielectricTester& tester, InsulationMeter& insulation, ResistanceMeter& resistance,
                 RatioMeter& ratio) {
  (void)source;
  (void)tester;
  (void)insulation;
  (void)resistance;
  (void)ratio;
  Permit const permit(Permit::Key(), nullptr);
  co_await source.set(permit, AcSource::Setting());
}

}  // namespace benchward
