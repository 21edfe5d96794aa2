// SPDX-License-Identifier: MIT
// The control: the same calls with a permit in hand compile.
#include "drivers/roles/roles.hpp"

namespace benchward {

Task<void> raise(AcSource& source, DielectricTester& tester, InsulationMeter& insulation, ResistanceMeter& resistance,
                 RatioMeter& ratio, Permit const& permit) {
  co_await source.set(permit, AcSource::Setting());
  co_await tester.set(permit, DielectricTester::Setting());
  co_await insulation.start(permit, volts(500));
  co_await resistance.set_current(permit, amperes(1));
  co_await ratio.measure(permit, RatioMeter::Request());
}

}  // namespace benchward
