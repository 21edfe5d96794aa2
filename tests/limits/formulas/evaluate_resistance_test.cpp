// SPDX-License-Identifier: MIT
#include <fmt/format.h>

#include <catch2/catch.hpp>

#include "tests/limits/formulas/evaluate_support.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

ResistancePoint point(std::string terminals, double ohm, double set_a = 10.0, double offset_v = 2e-6) {
  ResistancePoint out;
  out.terminals = std::move(terminals);
  out.set_current = amperes(set_a);
  out.offset_before = out.offset_after = reading(volts(offset_v), "ohm_meter", "voltage");
  for (int i = 0; i < 5; ++i) {
    double const wobble = 1.0 + 1e-5 * (i - 2);
    out.volts.push_back(reading(volts(ohm * set_a * wobble + offset_v), "ohm_meter", "voltage"));
    out.current.push_back(reading(amperes(set_a), "ohm_meter", "current"));
  }
  out.settling = seconds(12.0);
  out.predicted_change_relative = 2e-4;
  out.temperature = liquid(21.0, 20.0);
  return out;
}

Bench three_phase() {
  Bench bench;
  bench.unit = pad_three_phase();
  bench.sheet.lines = {line("winding_resistance", "unbalance_percent", {}, 2.0, "hv")};
  return bench;
}

ResistanceReadings good_readings() {
  auto const parallel = [](double a, double b) { return a * b / (a + b); };
  double const a = 3.00, b = 3.03, c = 2.99;  // the delta's windings 1-2, 2-3, 3-1
  return {{point("H1-H2", parallel(a, b + c)), point("H2-H3", parallel(b, c + a)), point("H3-H1", parallel(c, a + b)),
           point("X1-X0", 1.00e-3, 40.0), point("X2-X0", 1.01e-3, 40.0), point("X3-X0", 0.99e-3, 40.0)}};
}

}  // namespace

TEST_CASE("phases of a closed delta are solved, totals follow the regulation, the offset is out",
          "[limits][evaluate][resistance]") {
  auto const bench = three_phase();
  auto const out = evaluate_winding_resistance(good_readings(), bench.context());
  CHECK_FALSE(out.invalid_reason);
  CHECK(find(out, "phase_resistance_ohm", "hv, phase 1-2")->value == Approx(3.00).epsilon(1e-6));
  CHECK(find(out, "phase_resistance_ohm", "hv, phase 2-3")->value == Approx(3.03).epsilon(1e-6));
  CHECK(find(out, "phase_resistance_ohm", "lv, phase 3")->value == Approx(0.99e-3).epsilon(1e-6));
  CHECK(find(out, "unbalance_percent", "hv")->value == Approx(100.0 * 0.04 / (9.02 / 3.0)).epsilon(1e-6));
  CHECK(find(out, "unbalance_percent", "hv")->verdict == Verdict::pass);
  CHECK(find(out, "unbalance_percent", "lv")->verdict == Verdict::not_judged);
  auto const totals = measured_resistances(good_readings(), bench.context());
  CHECK(totals.hv.known);
  CHECK(totals.lv.total.in(ohms) == Approx(3.00e-3).epsilon(1e-6));
  CHECK(totals.hv.total.in(ohms) == Approx(3.0 * 3.0067).epsilon(1e-3));
  CHECK(totals.hv.at.in(celsius) == Approx(20.5));
  CHECK(totals.hv.relative_u == Approx(std::hypot(2e-4, 2e-4)).epsilon(0.02));  // gains of volts and amperes, shared
  CHECK(totals.instrument == "ohm_meter");
}

TEST_CASE("the unbalance has the noise of its readings, not the meter's gain", "[limits][evaluate][resistance]") {
  auto const out = evaluate_winding_resistance(good_readings(), three_phase().context());
  auto const& unbalance = *find(out, "unbalance_percent", "hv");
  REQUIRE(unbalance.uncertainty);
  // 5 readings that scatter by 1.58e-5: 7e-6 of the mean each; the gain 2.8e-4 would be 0.03 % if it counted.
  CHECK(unbalance.uncertainty->standard > 0.0005);
  CHECK(unbalance.uncertainty->standard < 0.004);
}

TEST_CASE("what the bench did wrong is invalid, and names the pair", "[limits][evaluate][resistance]") {
  auto const bench = three_phase();
  auto const reason = [&](auto change) {
    auto readings = good_readings();
    change(readings.points[1]);
    auto const out = evaluate_winding_resistance(readings, bench.context());
    REQUIRE(out.invalid_reason);
    CHECK_FALSE(measured_resistances(readings, bench.context()).hv.known);
    return *out.invalid_reason;
  };
  CHECK(reason([](ResistancePoint& p) { p.volts[2].value = volts(-0.5); }).find("sense lead is open") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.volts[2].value = p.volts[2].value * 1.05; }).find("scatter") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.current[0].value = amperes(9.5); }).find("current lead is loose") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.predicted_change_relative = 0.004; }).find("not settled") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) {
          p.volts.resize(3);
          p.current.resize(3);
        }).find("at least four") != std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.offset_after.value = volts(0.5); }).find("zero-current") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.volts[0].quality = Quality::bad; }).find("voltage of ohm_meter is BAD") !=
        std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.terminals = "H1-H2"; }).find("all three line pairs") != std::string::npos);
  CHECK(reason([](ResistancePoint& p) { p.temperature.mode = "guess"; }).find("no way") != std::string::npos);
}

TEST_CASE("a poor joint on one phase fails the unbalance limit, and turning the phases turns the result",
          "[limits][evaluate][resistance]") {
  auto const bench = three_phase();
  auto const parallel = [](double a, double b) { return a * b / (a + b); };
  for (std::size_t bad = 0; bad < 3; ++bad) {
    double w[3] = {3.0, 3.0, 3.0};
    w[bad] = 3.2;
    ResistanceReadings readings{{point("H1-H2", parallel(w[0], w[1] + w[2])),
                                 point("H3-H2", parallel(w[1], w[2] + w[0])),
                                 point("H3-H1", parallel(w[2], w[0] + w[1]))}};
    auto const out = evaluate_winding_resistance(readings, bench.context());
    CHECK(find(out, "unbalance_percent", "hv")->value == Approx(100.0 * 0.2 / (9.2 / 3.0)).epsilon(1e-5));
    CHECK(find(out, "unbalance_percent", "hv")->verdict == Verdict::fail);
    char const* const names[3] = {"hv, phase 1-2", "hv, phase 2-3", "hv, phase 3-1"};
    for (std::size_t k = 0; k < 3; ++k) {
      CHECK(find(out, "phase_resistance_ohm", names[k])->value == Approx(k == bad ? 3.2 : 3.0).epsilon(1e-6));
    }
  }
}

TEST_CASE("halves of a centre-tapped winding add up; taps other than the rated one give no total for the load loss",
          "[limits][evaluate][resistance]") {
  Bench bench;
  bench.unit = small_single_phase();
  auto high = point("H1-H2", 20.0, 0.3);
  high.tap = 3;
  auto other = point("H1-H2", 21.0, 0.3);
  other.tap = 1;
  ResistanceReadings const readings{{high, other, point("X1-X2", 5e-3), point("X2-X3", 6e-3)}};
  auto const totals = measured_resistances(readings, bench.context());
  CHECK(totals.hv.total.in(ohms) == Approx(20.0).epsilon(1e-6));
  CHECK(totals.lv.total.in(ohms) == Approx(11e-3).epsilon(1e-6));
  auto const out = evaluate_winding_resistance(readings, bench.context());
  CHECK(find(out, "total_resistance_ohm", "hv, tap 1")->value == Approx(21.0).epsilon(1e-6));
  ResistanceReadings const half{{high, point("X1-X2", 5e-3)}};
  CHECK(evaluate_winding_resistance(half, bench.context()).invalid_reason);
}

TEST_CASE("temperatures count only where the unit is isothermal, as the regulation says",
          "[limits][evaluate][temperature]") {
  Bench bench;
  bench.unit = small_single_phase();
  CHECK_FALSE(evaluate_temperatures(liquid(21.0, 20.0), bench.context()).invalid_reason);
  auto warm = liquid(40.0, 30.0);
  warm.rest = hours(1.0);
  CHECK(evaluate_temperatures(warm, bench.context()).invalid_reason);
  warm.bottom.value = celsius(36.0);
  CHECK(evaluate_temperatures(warm, bench.context()).invalid_reason);
  warm.top_change_in_one_hour = kelvins(1.5);
  auto const stable = evaluate_temperatures(warm, bench.context());
  CHECK_FALSE(stable.invalid_reason);
  CHECK(find(stable, "winding_temperature_c")->value == Approx(38.0));
  // Half of 4 K as half width, and the sensors' shared 0.2 K.
  CHECK(find(stable, "winding_temperature_c")->uncertainty->standard == Approx(std::hypot(2.0 / std::sqrt(3.0), 0.2)));
  warm.mode = "wall_sensor";
  warm.top_change_in_one_hour.reset();
  auto const wall = evaluate_temperatures(warm, bench.context());
  CHECK_FALSE(wall.invalid_reason);
  CHECK(find(wall, "winding_temperature_c")->remark.find("certified figure: no") != std::string::npos);
}
