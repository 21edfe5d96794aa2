// SPDX-License-Identifier: MIT
// No-load and load loss, impedance, regulation, efficiency, represented value.
#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "limits/correct/efficiency.hpp"
#include "limits/correct/impedance.hpp"
#include "limits/correct/load_loss.hpp"
#include "limits/correct/no_load.hpp"
#include "tests/limits/formulas/external_check.hpp"

using namespace benchward;
using benchward::testing::external;

TEST_CASE("the waveform correction has the limits that the regulation's text names", "[limits][no-load]") {
  // Derived from the words read: k = 1 corrects nothing; at P1 = P2 = 0.5, 1 % is Vrms/Vav = 1.0101, 5 % is 1.0513.
  auto const at = [](double form) { return correct_no_load<double>({100.0, 240.0 * form, 240.0, 20.0}); };
  CHECK(at(1.0).corrected_w == Approx(100.0));
  external("waveform correction limits (derived from appendix A 4.4)", "1 %", -at(1.0101).correction_percent, 1.0,
           0.01);
  external("waveform correction limits (derived from appendix A 4.4)", "5 %", -at(1.0513).correction_percent, 5.0,
           0.01);
  CHECK_FALSE(at(1.0512).retest_required);
  CHECK(at(1.06).retest_required);
  external("waveform factor at k = 1.1025 (from memory, computed)", "factor",
           correct_no_load<double>({1.0, 1.05, 1.0, 20.0}).sine_w, 0.9512485137, 1e-9);
  external("IEC waveform form d = (U' - U)/U' (from memory)", "400 V average, 404 V rms",
           correct_no_load_iec<double>({1000.0, 404.0, 400.0, 20.0}).corrected_w, 990.0, 1e-6);
  CHECK(correct_no_load<double>({100.0, 240.0, 240.0, 30.0}).corrected_w == Approx(100.65));
  CHECK_THROWS_AS(correct_no_load<double>({-1.0, 240.0, 240.0, 20.0}), InputError);
  CHECK_THROWS_AS(correct_no_load<double>({1.0, 240.0, 240.0, 20.0}, 1.5), InputError);
}

TEST_CASE("two points that straddle are interpolated on log-log paper and never extrapolated", "[limits][no-load]") {
  auto const loss = [](double v) { return 60.0 * std::pow(v / 240.0, 2.7); };
  CHECK(interpolate_log_log(238.0, loss(238.0), 242.0, loss(242.0), 240.0) == Approx(60.0).epsilon(1e-12));
  CHECK_THROWS_AS(interpolate_log_log(238.0, 1.0, 239.0, 2.0, 240.0), InputError);
  CHECK_THROWS_AS(interpolate_log_log(240.0, 1.0, 240.0, 2.0, 240.0), InputError);
}

TEST_CASE("published splits of load loss move to the reference temperature as printed", "[limits][load-loss]") {
  // The windings' resistance is given through the printed ohmic loss: R = P / I^2 with one winding at the test
  // temperature.
  auto const moved = [](double total, double ohmic, double k, double from, double to) {
    LoadLossInput<double> in;
    in.measured_w = total;
    in.test_current_a = in.rated_current_a = 1.0;
    in.winding_c = from;
    in.reference_c = to;
    in.windings = {{ohmic, from, k, 1.0}};
    return correct_load_loss(in);
  };
  char const* const book = "load-loss split, 630 W at 20 degC of which 504 W ohmic (textbook)";
  auto const first = moved(630.0, 504.0, 234.5, 20.0, 75.0);
  external(book, "stray at 20 degC", first.stray_w, 126.0, 0.5);
  external(book, "ohmic at 75 degC", first.ohmic_reference_w, 612.92, 0.02);
  external(book, "total at 75 degC", first.corrected_w, 716.53, 0.02);
  char const* const article = "load-loss correction, aluminium, formulas of an open article (inputs invented)";
  auto const second = moved(5000.0, 4500.0, 225.0, 30.0, 75.0);
  external(article, "ohmic at 75 degC", second.ohmic_reference_w, 5294.118, 0.0005);
  external(article, "stray at 75 degC", second.stray_reference_w, 425.0, 0.0005);
  external(article, "total at 75 degC", second.corrected_w, 5719.118, 0.0006);
  auto const third = moved(5000.0, 4500.0, 234.5, 30.0, 75.0);
  external("load-loss correction, copper (from memory, computed)", "total at 75 degC", third.corrected_w, 5692.897563,
           6e-6);
  CHECK(moved(400.0, 504.0, 234.5, 20.0, 75.0).negative_stray);
}

TEST_CASE("load loss goes with the square of the current, and each winding with its own metal", "[limits][load-loss]") {
  LoadLossInput<double> in;
  in.measured_w = 50.0;
  in.test_current_a = 0.5;
  in.rated_current_a = 1.0;
  in.winding_c = 25.0;
  in.reference_c = 85.0;
  in.windings = {{100.0, 25.0, 234.5, 1.0}, {0.01, 25.0, 225.0, 90.0}};
  auto const out = correct_load_loss(in);
  CHECK(out.at_rated_current_w == Approx(200.0));
  CHECK(out.ohmic_w == Approx(181.0));
  CHECK(out.ohmic_reference_w == Approx(100.0 * 319.5 / 259.5 + 81.0 * 310.0 / 250.0));
  CHECK(out.stray_reference_w == Approx(19.0 * (229.0 + 25.0) / (229.0 + 85.0)));  // mixed metals: 229
  CHECK(stray_zero_c(std::vector<LoadLossWinding<double>>{in.windings[1]}) == 225.0);
}

TEST_CASE("one sign of the phase error everywhere: above zero means that the system reads too much",
          "[limits][load-loss]") {
  // One minute of arc at a power factor: derived by hand, agreeing with B tan(phi).
  struct Row {
    double power_factor, percent, allowed;
  };
  double const minute = 3.14159265358979323846 / 180.0 / 60.0;
  for (auto const& row : {Row{0.5, 0.05, 0.005}, Row{0.2, 0.14, 0.005}, Row{0.1, 0.29, 0.005}, Row{0.05, 0.58, 0.005},
                          Row{0.02, 1.45, 0.005}}) {
    double const truth = row.power_factor;
    double const read = std::cos(std::acos(truth) - minute);  // reads too much
    external("one minute of phase error (derived by hand)", fmt::format("power factor {}", row.power_factor),
             100.0 * (read / truth - 1.0), row.percent, row.allowed);
    CHECK(correct_phase_error(read, 1.0, minute) == Approx(truth).epsilon(1e-12));
  }
  // Wattmeter with an inductive pressure coil: 0.39 % at power factor 0.45 (textbook). B = w L / R.
  double const b = 2.0 * 3.14159265358979323846 * 50.0 * 0.025 / 4000.0;
  double const read = std::cos(std::acos(0.45) - b) * std::cos(b);
  external("wattmeter pressure-coil error at 0.45 (textbook)", "percent", 100.0 * (read / 0.45 - 1.0), 0.39, 0.005);
  CHECK_THROWS_AS(correct_phase_error(1.01, 1.0, 0.0), InputError);
  CHECK(correct_phase_error(-0.2, 1.0, minute) == Approx(std::cos(std::acos(-0.2) + minute)));
}

TEST_CASE("published open- and short-circuit tests give the printed circuits", "[limits][impedance]") {
  struct Row {
    char const* source;
    VoltageCurrentPower open, shorted;
    double r, r_allowed, x, x_allowed;
  };
  // Sources: worked examples of textbooks of electric machines; X is compared where the book does not round R first.
  for (auto const& row : {
           Row{"75 kVA 4600/230 V (Hubert, example 2.14)",
               {230, 13.04, 521},
               {160.8, 16.3, 1200},
               0.01601 * 4600 * 4600 / 75000,
               0.006,
               0.03108 * 4600 * 4600 / 75000,
               0.006},
           Row{"10 kVA 2200/220 V (textbook, examples 2.2 and 2.3)",
               {220, 2.5, 100},
               {150, 4.55, 215},
               10.4,
               0.05,
               31.3,
               0.05},
           Row{"20 kVA 2300/230 V (textbook)", {230, 1, 100}, {50, 8.7, 250}, 3.3, 0.05, 4.7, 0.02},
           Row{"20 kVA 2200/220 V (textbook)", {220, 4.2, 148}, {86, 10.5, 360}, 3.2653, 5e-5, 7.5114, 5e-5},
           Row{"12 kVA 400/200 V, x 4 to the HV side (textbook)",
               {200, 1.3, 120},
               {22, 30, 200},
               0.2222,
               0.0005,
               0.6987,
               0.0005},
           Row{"25 kVA 2200/220 V (textbook)", {220, 1, 100}, {40, 5, 150}, 6.0, 0.05, 5.3, 0.05},
       }) {
    auto const circuit = equivalent_circuit(row.open, row.shorted);
    external("short-circuit tests of textbooks", std::string(row.source) + " R", circuit.series_resistance_ohm, row.r,
             row.r_allowed);
    external("short-circuit tests of textbooks", std::string(row.source) + " X", circuit.series_reactance_ohm, row.x,
             row.x_allowed);
  }
  auto const hubert = equivalent_circuit({230, 13.04, 521}, {160.8, 16.3, 1200});
  external("open-circuit tests of textbooks", "Hubert 2.14 R_fe", hubert.core_resistance_ohm, 101.54, 0.005);
  external("open-circuit tests of textbooks", "Hubert 2.14 X_m (book rounds the current)",
           hubert.magnetizing_reactance_ohm, 17.97, 0.07);
  auto const small = equivalent_circuit({220, 0.75, 75}, {16, 11.3636, 80});
  external("open-circuit tests of textbooks", "5 kVA 220/440 V R_0", small.core_resistance_ohm, 645.0, 0.6);
  external("open-circuit tests of textbooks", "5 kVA 220/440 V X_0", small.magnetizing_reactance_ohm, 328.0, 2.0);
  CHECK_THROWS_AS(equivalent_circuit({220, 1, 300}, {16, 11, 80}), InputError);
}

TEST_CASE("published percent impedances agree, and move with temperature through R alone", "[limits][impedance]") {
  auto const z = impedance_percent<double>({33.0, 1100.0, 5000.0 / 1100.0, 5000.0 / 1100.0, 85.0, 5.0});
  external("5 kVA 1100/110 V short-circuit test (textbook)", "r", z.r, 1.7, 0.05);
  external("5 kVA 1100/110 V short-circuit test (textbook)", "x", z.x, 2.47, 0.005);
  // 60 ohm and 100 ohm at 30 degC, aluminium, give 106.6897 ohm at 75 degC: as percent of a 10 kVA, 1000 V base.
  double const r30 = 60.0, x = 80.0, r75 = r30 * 300.0 / 255.0;
  external("impedance at 75 degC, aluminium (open article, inputs invented)", "Z",
           reference_impedance_percent(x, 10.0 * 10.0 * r75, 10.0), 106.6897, 5e-5);
  CHECK(impedance_percent<double>({16.5, 1100.0, 2.5, 5.0, 85.0, 5.0}).z == Approx(3.0));
  CHECK_THROWS_AS(impedance_percent<double>({1.0, 1100.0, 5.0, 5.0, 85.0, 5.0}), InputError);
}

TEST_CASE("published regulations agree", "[limits][regulation]") {
  struct Row {
    char const* source;
    double r, x, pf;
    bool leading;
    double load, percent, allowed;
  };
  for (auto const& row : {
           Row{"0.013, 0.038 pu at 0.75 lagging (Hubert)", 1.3, 3.8, 0.75, false, 1.0, 3.51, 0.01},
           Row{"0.013, 0.038 pu at 0.75 leading (Hubert)", 1.3, 3.8, 0.75, true, 1.0, -1.47, 0.005},
           Row{"75 kVA at 0.75 lagging (Hubert 2.14)", 1.60085, 3.1086, 0.75, false, 1.0, 3.26, 0.01},
           Row{"10 kVA, 3/4 load, 0.6 lagging (textbook)", 10.4 * 4.55 / 22.0, 31.3 * 4.55 / 22.0, 0.6, false, 0.75,
               4.85, 0.02},
           Row{"10 kVA, 3/4 load, 0.6 leading (textbook)", 10.4 * 4.55 / 22.0, 31.3 * 4.55 / 22.0, 0.6, true, 0.75,
               -2.82, 0.02},
           Row{"20 kVA at unity (textbook)", 3.3 * 8.7 / 23.0, 4.7 * 8.7 / 23.0, 1.0, false, 1.0, 1.26, 0.02},
           Row{"20 kVA at 0.7 lagging (textbook)", 3.3 * 8.7 / 23.0, 4.7 * 8.7 / 23.0, 0.7, false, 1.0, 2.14, 0.02},
           Row{"20 kVA at 0.8 lagging, exact (textbook)", 3.2653 * 9.0909 / 22.0, 7.5114 * 9.0909 / 22.0, 0.8, false,
               1.0, 2.955, 0.01},
           Row{"25 % overload at unity (textbook)", 1.7, 2.47, 1.0, false, 1.25, 2.17, 0.005},
           Row{"three-term formula, R 1 % X 6 % at 0.8 (read, computed)", 1.0, 6.0, 0.8, false, 1.0, 4.4882, 0.005},
       }) {
    external("regulation examples of textbooks", row.source,
             regulation_percent(row.r, row.x, row.pf, row.leading, row.load), row.percent, row.allowed);
  }
  CHECK_THROWS_AS(regulation_percent(1.0, 6.0, 1.2), InputError);
}

TEST_CASE("published efficiencies agree", "[limits][efficiency]") {
  struct Row {
    char const* source;
    double kva, core, copper, load, pf, percent, allowed;
  };
  for (auto const& row : {
           Row{"500 kVA, 1/4 load, unity (Hubert)", 500, 1800, 8200, 0.25, 1.0, 98.18, 0.01},
           Row{"500 kVA, 1/2 load, unity (Hubert)", 500, 1800, 8200, 0.5, 1.0, 98.48, 0.01},
           Row{"500 kVA, 5/4 load, unity (Hubert)", 500, 1800, 8200, 1.25, 1.0, 97.72, 0.01},
           Row{"500 kVA, 3/4 load, 0.8 (Hubert)", 500, 1800, 8200, 0.75, 0.8, 97.91, 0.015},
           Row{"10 kVA, 3/4 load, 0.6 (textbook)", 10, 100, 10.4 * 4.55 * 4.55, 0.75, 0.6, 95.32, 0.01},
           Row{"20 kVA, full load, 0.8 (textbook)", 20, 148, 360.0 * 9.0909 * 9.0909 / 10.5 / 10.5, 1.0, 0.8, 97.455,
               0.01},
           Row{"50 kVA, full load, unity (textbook)", 50, 350, 630, 1.0, 1.0, 98.08, 0.011},
           Row{"50 kVA, 3/4 load, 0.8 (textbook)", 50, 350, 630, 0.75, 0.8, 97.71, 0.011},
           Row{"200 kVA, half load, 0.85 (textbook)", 200, 1000, 1500, 0.5, 0.85, 98.41, 0.005},
           Row{"50 kVA 3300 V, full load, 0.8 (textbook)", 50, 460, 540, 1.0, 0.8, 97.561, 0.0005},
       }) {
    external("efficiency examples of textbooks", row.source,
             efficiency(row.kva, row.core, row.copper, row.load, row.pf).efficiency_percent, row.percent, row.allowed);
  }
}

TEST_CASE("the permitted loss at half load is that of the regulation's efficiency", "[limits][efficiency]") {
  // 25 kVA single-phase, 98.95 % (10 CFR 431.196(b)(2)): 132.6 W; 1500 kVA three-phase, 99.48 %: 3920.4 W (derived).
  char const* const source = "permitted loss at half load from 10 CFR 431.196(b) (derived by hand)";
  external(source, "25 kVA", efficiency(25.0, 132.6, 0.0).efficiency_percent, 98.95, 0.0005);
  external(source, "25 kVA, split", efficiency(25.0, 66.3, 4.0 * 66.3).efficiency_percent, 98.95, 0.0005);
  external(source, "1500 kVA", efficiency(1500.0, 3920.4, 0.0).efficiency_percent, 99.48, 0.0005);
}

TEST_CASE("the represented value of a sample is bounded, and the highest allowed one is on the bound",
          "[limits][efficiency]") {
  std::vector<double> const sample{98.90, 98.97, 98.93, 98.99, 98.94};
  auto const out = represented_efficiency(sample, 98.95);
  CHECK(out.mean_percent == Approx(98.946));
  CHECK(out.bound_percent == Approx(100.0 / (1.0 + (1.0 + 0.08 / std::sqrt(5.0)) * (100.0 / 98.95 - 1.0))));
  CHECK(out.compliant);
  auto const at_most = represented_efficiency(sample, out.highest_represented_percent);
  CHECK(at_most.bound_percent == Approx(out.mean_percent).epsilon(1e-12));
  CHECK_FALSE(represented_efficiency(sample, out.highest_represented_percent + 1e-6).compliant);
  CHECK_THROWS_AS(represented_efficiency({}, 98.0), InputError);
  CHECK_THROWS_AS(represented_efficiency({100.0}, 98.0), InputError);
}

TEST_CASE("the enforcement sample decides, and its two formulas agree with each other", "[limits][efficiency]") {
  // n = (t S / d)^2 with d = RE - SSD(1): the check of the remembered formulas by their own algebra (derived).
  double const re = 98.95;
  double const d = re - represented_efficiency({re}, re).bound_percent;
  CHECK(d == Approx(re * (8.0 - 0.08 * re) / (108.0 - 0.08 * re)).epsilon(1e-9));
  using Decision = EnforcementSample::Decision;
  CHECK(enforcement_sample({98.95, 98.97, 98.94, 98.96}, 4, re).decision == Decision::compliant);
  CHECK(enforcement_sample({98.70, 98.71, 98.70, 98.71}, 4, re).decision == Decision::not_compliant);
  auto const more = enforcement_sample({98.5, 99.2, 98.8, 99.1}, 4, re);
  CHECK(more.decision == Decision::second_sample);
  CHECK(more.second_sample_tests > 0);
  CHECK_THROWS_AS(enforcement_sample({98.9, 98.9}, 2, re), InputError);
  // t at 97.5 % one-sided, three degrees of freedom: 3.182 (Student's table).
  CHECK((more.sample_discount_percent - more.lower_limit_percent) / more.standard_error == Approx(3.182).epsilon(1e-3));
}
