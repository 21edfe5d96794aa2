// SPDX-License-Identifier: MIT
#include "tests_seq/sequence/breakdown_signs.hpp"

#include <catch2/catch.hpp>

#include "drivers/bench/bench_document.hpp"
#include "limits/documents/unit_document.hpp"

using namespace benchward;

namespace {

std::string demo(std::string const& file) { return std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/" + file; }

/// 500 kVA, 480 V: its short-circuit impedance is some 20 milliohms on the low side.
struct NoLoadOf500 {
  Unit unit = read_unit(demo("units/three-phase-pad-500kva-dyn1.json"));
  Bench bench = read_bench(demo("benches/01-scaled.json"));
  PlanStep step;
  TripRecord trip;
  NoLoadOf500() {
    step.test = "no_load";
    trip.happened = true;
    trip.current = amperes(31.0);
  }
  bool bar(std::vector<RampPoint> const& ramp) const { return less_than_a_short_inside(unit, bench, step, ramp, trip); }
};

}  // namespace

TEST_CASE("A bar that is on draws more than a short inside from the first volts on", "[sequence]") {
  NoLoadOf500 test;
  test.trip.output = volts(0.4);
  CHECK(test.bar({}));
  CHECK(test.bar({{volts(0.2), amperes(15.0)}}));
  CHECK(test.bar({{volts(0.2), amperes(0.0)}}));
}

TEST_CASE("A held current without volts, after the source cut off by itself, is no bar where the ramp drew less",
          "[sequence]") {
  NoLoadOf500 test;
  test.trip.output = volts(0.002);
  std::vector<RampPoint> const ramp{{volts(60.0), amperes(17.0)}, {volts(101.0), amperes(29.0)}};
  CHECK_FALSE(test.bar(ramp));
  CHECK(volts_of_trip(ramp, test.trip).in(volts) == 101.0);
  test.trip.output = volts(106.8);
  CHECK_FALSE(test.bar(ramp));
  CHECK(volts_of_trip(ramp, test.trip).in(volts) == 106.8);
  CHECK(volts_of_trip({}, test.trip).in(volts) == 106.8);
  test.trip.in_state = GuardState::ramp_down;
  test.trip.output = volts(40.0);
  CHECK(volts_of_trip(ramp, test.trip).in(volts) == 40.0);
}
