// SPDX-License-Identifier: MIT
#include "limits/correct/dielectric.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace benchward {

InducedTest induced_test(InducedInput const& in) {
  require_positive(in.rated_v, "rated_v");
  require_positive(in.rated_hz, "rated_hz");
  require_positive(in.test_hz, "test_hz");
  double multiple = 2.0;
  if (in.level == InducedCase::line_to_ground) {
    if (in.standard != StandardFamily::ieee) {
      throw InputError("case",
                       "the line-to-ground level is one of the IEEE standards; it needs \"standard\": \"ieee\"");
    }
    if (!in.winding_v) throw InputError("winding_v", "the line-to-ground level needs the high-voltage winding's volts");
    require_positive(*in.winding_v, "winding_v");
    double level = 1000.0 + 3.46 * *in.winding_v;
    if (in.ceiling_v) {
      require_positive(*in.ceiling_v, "ceiling_v");
      level = std::min(level, *in.ceiling_v);
    }
    multiple = level / *in.winding_v;
  }
  InducedTest out{};
  out.test_v = multiple * in.rated_v;
  out.lowest_test_hz = in.rated_hz * multiple;
  if (in.test_hz < out.lowest_test_hz * (1.0 - 1e-9)) {
    throw InputError("test_hz", fmt::format("{} Hz would saturate the core; at {} times rated volts at least {} Hz",
                                            in.test_hz, multiple, out.lowest_test_hz));
  }
  if (in.standard == StandardFamily::ieee) {
    out.duration_s = std::min(60.0, 7200.0 / in.test_hz);
  } else {
    out.duration_s = std::clamp(120.0 * in.rated_hz / in.test_hz, 15.0, 60.0);
  }
  return out;
}

Current capacitive_current(Voltage level, Frequency frequency, Capacitance capacitance) {
  constexpr double two_pi = 6.28318530717958647692;
  return amperes(two_pi * frequency.in(hertz)*capacitance.in(farads)*level.in(volts));
}

}  // namespace benchward
