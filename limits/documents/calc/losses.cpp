// SPDX-License-Identifier: MIT
#include <cmath>

#include "limits/correct/impedance.hpp"
#include "limits/correct/load_loss.hpp"
#include "limits/correct/no_load.hpp"
#include "limits/correct/resistance.hpp"
#include "limits/documents/calc/topic.hpp"
#include "limits/documents/unit_words.hpp"

namespace benchward::documents {
namespace {

void no_load_loss(ObjectReader& in, JsonWriter& out) {
  NoLoadInput<double> reading{};
  reading.measured_w = in.number("measured_w", "a number of watts", above(0.0));
  reading.rms_v = in.number("rms_v", "a number of volts", above(0.0));
  reading.average_v =
      in.number("average_v", "a number of volts (average times 1.11, as the meter shows it)", above(0.0));
  double const eddy = in.number_or("eddy_fraction", 0.5, "a fraction", between(0.0, 1.0));
  double const reference = in.number_or("reference_c", 20.0, "a number of degrees Celsius", between(-273.15, 1000.0));
  reading.core_c = in.number_or("core_c", 20.0, "a number of degrees Celsius", between(-273.15, 1000.0));
  auto const rated = in.optional_number("rated_v", "a number of volts", above(0.0));
  in.finish();
  auto const found = correct_no_load(reading, eddy, reference);
  out.field("k", found.k).field("sine_w", found.sine_w);
  out.field("correction_percent", std::abs(found.correction_percent)).field("corrected_w", found.corrected_w);
  out.field("retest_required", found.retest_required);
  if (rated) out.field("voltage_error_percent", 100.0 * (reading.average_v - *rated) / *rated);
}

void load_loss(ObjectReader& in, JsonWriter& out) {
  LoadLossInput<double> reading{};
  reading.measured_w = in.number("measured_w", "a number of watts", above(0.0));
  reading.test_current_a = in.number("test_current_a", "a number of amperes", above(0.0));
  reading.rated_current_a = in.number("rated_current_a", "a number of amperes", above(0.0));
  reading.winding_c = in.number("winding_c", "a number of degrees Celsius");
  reading.reference_c = in.number("reference_c", "a number of degrees Celsius");
  for (auto& winding_in : in.objects("windings")) {
    LoadLossWinding<double> winding{};
    winding.total_resistance_ohm = winding_in.number("total_resistance_ohm", "a number of ohms", above(0.0));
    winding.measured_at_c = winding_in.number("measured_at_c", "a number of degrees Celsius");
    winding.zero_c = inferred_zero_c(winding_in.word("metal", words::metals), StandardFamily::ieee);
    winding.rated_phase_current_a = winding_in.number("rated_phase_current_a", "a number of amperes", above(0.0));
    winding_in.finish();
    reading.windings.push_back(winding);
  }
  auto const apparent = in.optional_number("apparent_power_va", "a number of volt-amperes", above(0.0));
  auto const phase = in.optional_number("phase_error_rad", "a number of radians", between(-1.0, 1.0));
  in.finish();
  if (apparent.has_value() != phase.has_value()) {
    in.fail("document.missing-key", apparent ? "phase_error_rad" : "apparent_power_va",
            "the phase-angle correction needs `apparent_power_va` and `phase_error_rad`: give both or neither");
  }
  // "measured more than volts times amperes" is refused inside.
  if (apparent) reading.measured_w = correct_phase_error(reading.measured_w, *apparent, *phase);
  auto const found = correct_load_loss(reading);
  out.field("at_rated_current_w", found.at_rated_current_w).field("ohmic_w", found.ohmic_w);
  out.field("stray_w", found.stray_w).field("ohmic_reference_w", found.ohmic_reference_w);
  out.field("stray_reference_w", found.stray_reference_w).field("corrected_w", found.corrected_w);
  out.field("negative_stray", found.negative_stray);
}

void impedance(ObjectReader& in, JsonWriter& out) {
  ImpedanceInput<double> reading{};
  reading.impedance_voltage_v = in.number("impedance_voltage_v", "a number of volts", above(0.0));
  reading.rated_voltage_v = in.number("rated_voltage_v", "a number of volts", above(0.0));
  reading.test_current_a = in.number("test_current_a", "a number of amperes", above(0.0));
  reading.rated_current_a = in.number("rated_current_a", "a number of amperes", above(0.0));
  reading.load_loss_w = in.number("load_loss_w", "a number of watts", at_least(0.0));
  reading.rated_kva = in.number("rated_kva", "a number of kVA", above(0.0));
  auto const reference = in.optional_number("load_loss_reference_w", "a number of watts", at_least(0.0));
  in.finish();
  auto const found = impedance_percent(reading);
  out.field("z_percent", found.z).field("r_percent", found.r).field("x_percent", found.x);
  if (reference) out.field("z_reference_percent", reference_impedance_percent(found.x, *reference, reading.rated_kva));
}

VoltageCurrentPower read_test(ObjectReader in) {
  VoltageCurrentPower test;
  test.voltage_v = in.number("voltage_v", "a number of volts", above(0.0));
  test.current_a = in.number("current_a", "a number of amperes", above(0.0));
  test.power_w = in.number("power_w", "a number of watts", above(0.0));
  in.finish();
  if (!(test.power_w < test.voltage_v * test.current_a)) {
    in.fail("calc.out-of-range", "power_w", "not below volts times amperes: not a possible reading");
  }
  return test;
}

void circuit(ObjectReader& in, JsonWriter& out) {
  auto const open = read_test(in.object("open"));
  auto const shorted = read_test(in.object("short"));
  in.finish();
  auto const found = equivalent_circuit(open, shorted);
  out.field("core_resistance_ohm", found.core_resistance_ohm);
  out.field("magnetizing_reactance_ohm", found.magnetizing_reactance_ohm);
  out.field("series_impedance_ohm", found.series_impedance_ohm);
  out.field("series_resistance_ohm", found.series_resistance_ohm);
  out.field("series_reactance_ohm", found.series_reactance_ohm);
}

void regulation(ObjectReader& in, JsonWriter& out) {
  double const r = in.number("r_percent", "a number of percent", between(0.0, 100.0));
  double const x = in.number("x_percent", "a number of percent", between(0.0, 100.0));
  double const power_factor = in.number("power_factor", "a number", between(0.0, 1.0));
  bool const leading = in.boolean_or("leading", false);
  double const load = in.number_or("load_fraction", 1.0, "a fraction of rated load", between(0.0, 10.0));
  in.finish();
  out.field("regulation_percent", regulation_percent(r, x, power_factor, leading, load));
}

}  // namespace

std::vector<Topic> loss_topics() {
  return {
      {{"no-load-loss",
        "no-load loss corrected for wave form, then for temperature",
        "10 CFR 431 subpart K appendix A, equations 4-1 and 4-2 (symbols and limits read, forms derived; 0.00065 per "
        "kelvin from memory)",
        {{"measured_w", "W", "required"},
         {"rms_v", "V", "required"},
         {"average_v", "V, scaled to rms of a sine", "required"},
         {"eddy_fraction", "1", "0.5"},
         {"core_c", "degC", "20"},
         {"reference_c", "degC", "20"},
         {"rated_v", "V", "optional"}},
        {{"k", "1", "always"},
         {"sine_w", "W", "always"},
         {"correction_percent", "%, magnitude", "always"},
         {"corrected_w", "W", "always"},
         {"retest_required", "true or false", "always"},
         {"voltage_error_percent", "%", "with rated_v"}}},
       no_load_loss},
      {{"load-loss",
        "load loss at rated current and reference temperature, ohmic and stray parts apart",
        "10 CFR 431 subpart K appendix A, equations 4-5 to 4-10 (symbols and conditions read, forms derived)",
        {{"measured_w", "W", "required"},
         {"test_current_a", "A", "required"},
         {"rated_current_a", "A", "required"},
         {"winding_c", "degC", "required"},
         {"reference_c", "degC", "required"},
         {"windings/total_resistance_ohm", "ohm", "required"},
         {"windings/measured_at_c", "degC", "required"},
         {"windings/metal", "words: copper, aluminum", "required"},
         {"windings/rated_phase_current_a", "A", "required"},
         {"apparent_power_va", "VA, at the test current", "with phase_error_rad"},
         {"phase_error_rad", "rad, > 0 reads too much for a lagging load", "with apparent_power_va"}},
        {{"at_rated_current_w", "W", "always"},
         {"ohmic_w", "W", "always"},
         {"stray_w", "W", "always"},
         {"ohmic_reference_w", "W", "always"},
         {"stray_reference_w", "W", "always"},
         {"corrected_w", "W", "always"},
         {"negative_stray", "true = an error of measurement", "always"}}},
       load_loss},
      {{"impedance",
        "impedance voltage in percent, with its parts",
        "textbook algebra; IEEE C57.12.90 (from memory)",
        {{"impedance_voltage_v", "V, at the test current", "required"},
         {"rated_voltage_v", "V", "required"},
         {"test_current_a", "A", "required"},
         {"rated_current_a", "A", "required"},
         {"load_loss_w", "W, at rated current and test temperature", "required"},
         {"rated_kva", "kVA", "required"},
         {"load_loss_reference_w", "W, at reference temperature", "optional"}},
        {{"z_percent", "%", "always"},
         {"r_percent", "%", "always"},
         {"x_percent", "%", "always"},
         {"z_reference_percent", "%", "with load_loss_reference_w"}}},
       impedance},
      {{"equivalent-circuit",
        "equivalent circuit out of open- and short-circuit test",
        "textbook algebra",
        {{"open/voltage_v", "V", "required"},
         {"open/current_a", "A", "required"},
         {"open/power_w", "W", "required"},
         {"short/voltage_v", "V", "required"},
         {"short/current_a", "A", "required"},
         {"short/power_w", "W", "required"}},
        {{"core_resistance_ohm", "ohm, side of the open test", "always"},
         {"magnetizing_reactance_ohm", "ohm, side of the open test", "always"},
         {"series_impedance_ohm", "ohm, side of the short test", "always"},
         {"series_resistance_ohm", "ohm, side of the short test", "always"},
         {"series_reactance_ohm", "ohm, side of the short test", "always"}}},
       circuit},
      {{"regulation",
        "voltage regulation at a load, exact",
        "textbook algebra, exact form; rated secondary volts at the load",
        {{"r_percent", "%", "required"},
         {"x_percent", "%", "required"},
         {"power_factor", "1", "required"},
         {"leading", "true or false", "false"},
         {"load_fraction", "1", "1"}},
        {{"regulation_percent", "%", "always"}}},
       regulation},
  };
}

}  // namespace benchward::documents
