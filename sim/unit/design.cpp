// SPDX-License-Identifier: MIT
#include "design.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "circuit.hpp"
#include "random.hpp"

namespace benchward::sim {
namespace {

using std::numbers::pi;
using std::numbers::sqrt2;
double const root_three = std::sqrt(3.0);

/// Losses and impedance that a unit of this rating usually has, where the order guarantees none. Fits through the US
/// half-load budgets of 10 CFR 431.196 (2016) split evenly (25 kVA: 66 W and 265 W; 1500 kVA: 1960 W and 7841 W).
double usual_no_load_w(int phases, double kva) {
  return phases == 1 ? 66.0 * std::pow(kva / 25.0, 0.76) : 1960.0 * std::pow(kva / 1500.0, 0.77);
}
double usual_load_w(int phases, double kva) {
  return phases == 1 ? 285.0 * std::pow(kva / 25.0, 0.75) : 8600.0 * std::pow(kva / 1500.0, 0.80);
}
double usual_impedance(int phases, double kva) {  // common practice, no source
  if (phases == 1) return kva <= 50.0 ? 2.0 : (kva <= 167.0 ? 2.6 : 3.2);
  return kva < 150.0 ? 3.0 : (kva <= 500.0 ? 4.0 : 5.75);
}

void need(bool good, std::string const& words) {
  if (!good) throw UnsolvableUnit(words);
}

double ordered_hv_volts(Unit const& unit) {
  if (!unit.hv.dual) return unit.hv.rated.in(volts);
  return (unit.hv.dual->ordered_position == 2 ? unit.hv.dual->lower : unit.hv.dual->higher).in(volts);
}

void solve_ratings(Unit const& unit, Design& d) {
  d.phases = unit.phases;
  need(d.phases == 1 || d.phases == 3, fmt::format("phases: {} is neither 1 nor 3", d.phases));
  d.kva = unit.rated_power.in(kilovolt_amperes);
  d.hz = unit.rated_frequency.in(hertz);
  double const hv = ordered_hv_volts(unit), lv = unit.lv.rated.in(volts);
  need(d.kva > 0.0 && d.hz > 0.0 && hv > 0.0 && lv > 0.0,
       fmt::format("rated power {:.6g} kVA, frequency {:.6g} Hz, volts {:.6g} and {:.6g} must all be above zero", d.kva,
                   d.hz, hv, lv));
  d.form = unit.core_form;
  d.group = parse_vector_group(unit.vector_group, d.phases);
  d.limbs = d.phases;
  bool const halved = unit.lv_form == LowVoltageForm::center_tapped || unit.lv_form == LowVoltageForm::series_parallel;
  need(!(halved && d.phases == 3), "a centre-tapped or series-parallel low voltage belongs to a single-phase unit");
  need(!(unit.lv_form == LowVoltageForm::mid_tapped_leg && d.group.lv != 'd'),
       fmt::format("a tapped leg needs a delta low voltage, the vector group is {}", d.group.text));
  d.parts = halved || d.group.lv == 'z' ? 2 : 1;
  double const va = d.kva * 1e3;
  d.hv_coil_volts = d.group.hv == 'Y' ? hv / root_three : hv;
  d.hv_coil_amperes = va / (d.phases * d.hv_coil_volts);
  d.hv_line_amperes = d.phases == 1 ? va / hv : va / (root_three * hv);
  d.lv_line_amperes = d.phases == 1 ? va / lv : va / (root_three * lv);
  switch (d.group.lv) {
    case 'y':
      d.lv_part_volts = lv / root_three;
      d.lv_part_amperes = d.lv_line_amperes;
      break;
    case 'z':
      d.lv_part_volts = lv / 3.0;
      d.lv_part_amperes = d.lv_line_amperes;
      break;
    case 'd':
      d.lv_part_volts = lv;
      d.lv_part_amperes = d.lv_line_amperes / root_three;
      break;
    default:
      d.lv_part_volts = lv / d.parts;
      d.lv_part_amperes = d.lv_line_amperes;
      break;
  }
  d.hv_metal = unit.hv.metal;
  d.lv_metal = unit.lv.metal;
}

void solve_turns(Unit const& unit, Design& d) {
  double const wanted = d.hv_coil_volts / d.lv_part_volts;
  // Volts a turn grow with the root of the power of a limb; 0.9 to 0.95 for liquid distribution units.
  double const usual = 0.93 * std::sqrt(d.kva / d.limbs);
  bool const even_leg = unit.lv_form == LowVoltageForm::mid_tapped_leg;
  auto const whole = [&](double turns) {
    double const t = even_leg ? 2.0 * std::round(turns / 2.0) : std::round(turns);
    return static_cast<int>(std::max(even_leg ? 2.0 : 1.0, t));
  };
  if (unit.lv.turns) {
    need(*unit.lv.turns > 0 && *unit.lv.turns % d.parts == 0,
         fmt::format("low-voltage turns {}: a winding in {} equal parts needs a multiple of {}", *unit.lv.turns,
                     d.parts, d.parts));
    d.lv_part_turns = *unit.lv.turns / d.parts;
  } else if (unit.hv.turns) {
    d.lv_part_turns = whole(*unit.hv.turns / wanted);
  } else {
    d.lv_part_turns = whole(d.lv_part_volts / usual);
  }
  d.hv_turns = unit.hv.turns ? *unit.hv.turns : static_cast<int>(std::lround(wanted * d.lv_part_turns));
  need(d.hv_turns > 0, fmt::format("high-voltage turns {} must be above zero", d.hv_turns));
  double const got = static_cast<double>(d.hv_turns) / d.lv_part_turns;
  double const off = 100.0 * (got / wanted - 1.0);
  // No standard allows more than 0.5 % between plate and turns; a data set beyond it is two different transformers.
  need(std::abs(off) <= 0.5,
       fmt::format("turns and rated volts conflict: {} high-voltage to {} low-voltage turns give a coil ratio of "
                   "{:.5g}, the rated volts {:.5g} ({:+.2f} %); the nearest high-voltage turns are {}",
                   d.hv_turns, d.lv_part_turns, got, wanted, off, std::lround(wanted * d.lv_part_turns)));
  d.volts_per_turn = d.lv_part_volts / d.lv_part_turns;
  d.flux_peak_wb = sqrt2 * d.volts_per_turn / (2.0 * pi * d.hz);
}

void solve_loads(Unit const& unit, Design& d, RandomStream& random, bool nominal) {
  Guarantees const& g = unit.guarantees;
  std::optional<double> no_load, load, total;
  if (g.no_load_loss) no_load = g.no_load_loss->in(watts);
  if (g.load_loss) load = g.load_loss->in(watts);
  if (g.total_loss) total = g.total_loss->in(watts);
  if (total && no_load) {
    need(*total > *no_load,
         fmt::format("total loss {:.5g} W is not above the no-load loss {:.5g} W", *total, *no_load));
    need(!load || *total - *no_load > 0.5 * *load,
         fmt::format("losses conflict: total {:.5g} W less no-load {:.5g} W leaves {:.5g} W for a load loss guaranteed "
                     "at {:.5g} W",
                     *total, *no_load, *total - *no_load, load.value_or(0.0)));
    load = load ? std::min(*load, *total - *no_load) : *total - *no_load;
  } else if (total && load) {
    need(*total > *load, fmt::format("total loss {:.5g} W is not above the load loss {:.5g} W", *total, *load));
    no_load = *total - *load;
  } else if (total) {
    no_load = 0.2 * *total;
    load = 0.8 * *total;
  }
  double const p0 = no_load.value_or(usual_no_load_w(d.phases, d.kva));
  double const pk = load.value_or(usual_load_w(d.phases, d.kva));
  need(p0 > 0.0 && pk > 0.0, fmt::format("losses must be above zero: no-load {:.5g} W, load {:.5g} W", p0, pk));
  double const z = g.impedance_percent.value_or(std::max(usual_impedance(d.phases, d.kva), 1.3 * pk / (10.0 * d.kva)));

  d.guaranteed_no_load_w = p0;
  d.no_load_loss_w = p0 * (nominal ? 1.0 : random.spread(0.96, 0.015));
  d.load_loss_w = pk * (nominal ? 1.0 : random.spread(0.96, 0.015));
  d.impedance_percent = z * (nominal ? 1.0 : random.spread(1.0, 0.015));
  d.load_reference_c = unit.reference.load.in(celsius);
  d.no_load_reference_c = unit.reference.no_load.in(celsius);

  double const guaranteed_r = pk / (10.0 * d.kva);
  need(guaranteed_r < z,
       fmt::format("load loss and impedance conflict: {:.5g} W of {:.5g} kVA is a resistance of {:.4g} %, which is not "
                   "below the impedance of {:.4g} %",
                   pk, d.kva, guaranteed_r, z));
  double const r = d.load_loss_w / (10.0 * d.kva);
  d.impedance_percent = std::max(d.impedance_percent, nominal ? 0.0 : 1.0005 * r);
  double const x = std::sqrt(d.impedance_percent * d.impedance_percent - r * r);

  // Stray share grows with size: 3 % small single-phase, some 10 % at 1,500 kVA (common practice, no source).
  double const share = (0.03 + 0.10 * d.kva / (d.kva + 500.0)) * (nominal ? 1.0 : random.spread(1.0, 0.08));
  d.stray_loss_w = share * d.load_loss_w;
  double const ohmic = d.load_loss_w - d.stray_loss_w;
  double const hv_part = 0.52;
  double const hv_ohm = hv_part * ohmic / (d.phases * d.hv_coil_amperes * d.hv_coil_amperes);
  double const lv_ohm = (1.0 - hv_part) * ohmic / (d.phases * d.parts * d.lv_part_amperes * d.lv_part_amperes);
  d.hv_ohm_20 = hv_ohm / resistance_factor(d.hv_metal, d.load_reference_c);
  d.lv_part_ohm_20 = lv_ohm / resistance_factor(d.lv_metal, d.load_reference_c);
  if (!nominal && d.phases == 3) {
    // Phases differ by lead lengths: little in wire, more in bars. The mean stays.
    auto const phases_of = [&](double sigma) {
      std::array<double, 3> s{random.spread(1.0, sigma), random.spread(1.0, sigma), random.spread(1.0, sigma)};
      double const mean = (s[0] + s[1] + s[2]) / 3.0;
      for (double& v : s) v /= mean;
      return s;
    };
    d.hv_ohm_spread = phases_of(0.0015);
    d.lv_ohm_spread = phases_of(0.004);
  }
  d.stray = {d.stray_loss_w / (d.phases * d.hv_coil_amperes * d.hv_coil_amperes), d.load_reference_c, d.hv_coil_amperes,
             d.hz};

  // Leakage by reactive power: a coil's share of the total, each coil at its own rated current.
  double const reactive = x / 100.0 * d.kva * 1e3;
  double const omega = 2.0 * pi * d.hz;
  // Interlaced halves couple the halves closely, and put 0.8 of the leakage on the high-voltage side (from memory of
  // the usual three-winding model of centre-tapped units: 0.8 X, 0.4 X, 0.4 X).
  double const hv_reactive = d.parts == 2 && unit.interlaced ? 0.8 : 0.5;
  d.hv_leakage_h = hv_reactive * reactive / (d.phases * omega * d.hv_coil_amperes * d.hv_coil_amperes);
  d.lv_part_leakage_h =
      (1.0 - hv_reactive) * reactive / (d.phases * d.parts * omega * d.lv_part_amperes * d.lv_part_amperes);
}

/// High-voltage line bushings with a fuse or switch between them and the winding; a device that names no terminal
/// stands at each.
int line_bushings_behind_a_device(Unit const& unit, VectorGroup const& group) {
  TerminalTable const terminals = make_terminals(unit, group);
  std::array<bool, 3> behind{};
  auto const place = [&](Accessory const& device) {
    int const at = terminals.find(device.terminal);
    for (std::size_t k = 0; k < behind.size(); ++k)
      behind[k] = behind[k] || (terminals.hv_line[k] > 0 && (at <= 0 || at == terminals.hv_line[k]));
  };
  for (Accessory const& fuse : unit.fuses) place(fuse);
  for (Accessory const& one : unit.switches) place(one);
  return static_cast<int>(std::count(behind.begin(), behind.end(), true));
}

void solve_insulation(Unit const& unit, Design& d, RandomStream& random, bool nominal) {
  double const total = unit.hv.capacitance_to_earth ? unit.hv.capacitance_to_earth->in(farads)
                                                    : (d.phases == 1 ? 0.8e-9 * std::pow(d.kva / 25.0, 0.4)
                                                                     : 2.0e-9 * std::pow(d.kva / 300.0, 0.4));
  double const as_built = total * (nominal ? 1.0 : random.spread(1.0, 0.02));
  d.capacitance_hv_earth_f = 0.35 * as_built;
  d.capacitance_hv_lv_f = 0.65 * as_built;
  d.capacitance_lv_earth_f = unit.lv.capacitance_to_earth
                                 ? std::max(0.1 * unit.lv.capacitance_to_earth->in(farads),
                                            unit.lv.capacitance_to_earth->in(farads)-d.capacitance_hv_lv_f)
                                 : 1.4 * as_built;
  d.capacitance_bushings_f = Design::bushing_f * line_bushings_behind_a_device(unit, d.group);
  double const line_to_earth =
      d.phases == 1 ? d.hv_coil_volts : d.hv_coil_volts / (d.group.hv == 'D' ? root_three : 1.0);
  d.hv_graded = unit.hv_neutral == NeutralKind::on_tank || unit.hv_neutral == NeutralKind::joined;
  // Where the order names no applied test, the insulation is built for the induced level of its clause.
  d.hv_test_volts = unit.hv.applied_kv ? *unit.hv.applied_kv * 1e3 : 1000.0 + 3.46 * line_to_earth;
  d.lv_test_volts =
      unit.lv.applied_kv ? *unit.lv.applied_kv * 1e3 : std::max(10e3, 1000.0 + 2.0 * d.lv_part_volts * d.parts);
}

void solve_heat(Unit const& unit, Design& d) {
  (void)unit;
  // At rated current, 55 degC: copper at 2.5 A/mm2 warms by 2.1 K a minute, aluminium at 1.5 A/mm2 by 1.8.
  auto const rate = [](Metal metal) { return (metal == Metal::copper ? 2.1 : 1.8) / 60.0; };
  d.heating_hv_k_per_s = rate(d.hv_metal);
  d.heating_lv_k_per_s = rate(d.lv_metal);
  d.oil_joule_per_k = 2.5 * 3600.0 * (d.no_load_loss_w + d.load_loss_w) / d.oil_rise_k;
}

/// Joules of capacitive reactive power a second at rated volts, vars, high-voltage side open.
double capacitive_var(Design const& d, bool hv_end_on_tank) {
  double const omega = 2.0 * pi * d.hz;
  double const c = d.capacitance_hv_earth_f + d.capacitance_hv_lv_f;
  double const v = d.hv_coil_volts;
  if (d.phases == 3) {
    // A delta coil's ends are V/sqrt3 from earth and 120 degrees apart: (1 - 1/2 + 1)/3 of V^2/3; a star coil V^2/3.
    double const squares = d.group.hv == 'D' ? v * v / 6.0 : v * v / 3.0;
    double const line_squares = d.group.hv == 'D' ? v * v / 3.0 : v * v;
    return omega * (c * squares + d.capacitance_bushings_f * line_squares);
  }
  double const line = hv_end_on_tank ? v : v / 2.0;
  return omega * (c * (hv_end_on_tank ? v * v / 3.0 : v * v / 12.0) + d.capacitance_bushings_f * line * line);
}

void set_core(Design& d, double m, double loss_scale) {
  double const loss_20 = loss_scale * d.no_load_loss_w / core_temperature_factor(d.no_load_reference_c);
  double const rated_mmf = sqrt2 * d.hv_turns * d.hv_coil_amperes;
  for (int l = 0; l < d.limbs; ++l) {
    CoreLimb& limb = d.core[static_cast<std::size_t>(l)];
    double const weight = d.limb_weight[static_cast<std::size_t>(l)];
    double const watts_here = loss_20 * weight / d.limbs;
    limb.rated_flux_wb = d.flux_peak_wb;
    limb.loss.hysteresis_joules = 0.5 * watts_here / d.hz;
    limb.loss.eddy_siemens = 0.5 * watts_here / (d.volts_per_turn * d.volts_per_turn);
    double inner = 0.0;
    for (int j = 0; j < HysteresisBank::count; ++j)
      inner += HysteresisBank::share[j] * (1.0 - HysteresisBank::limit[j]);
    limb.bank.set_strength(limb.loss.hysteresis_joules / (4.0 * d.flux_peak_wb * inner));
    limb.curve.m = m * weight;
    limb.curve.air = rated_mmf / 0.35;
  }
  if (d.return_limbs) {
    d.return_curve = d.core[0].curve;
    d.return_curve.m *= 0.8;
  }
}

void solve_core(Unit const& unit, Design& d, RandomStream& random, bool nominal) {
  auto const vary = [&](double sigma) { return nominal ? 1.0 : random.spread(1.0, sigma); };
  if (d.limbs == 3 && d.form == CoreForm::three_limb) {
    // Outer limbs carry the yokes: high-low-high.
    d.limb_weight = {1.22 * vary(0.015), 0.56 * vary(0.02), 1.22 * vary(0.015)};
  } else if (d.limbs == 3 && d.form == CoreForm::five_limb) {
    d.limb_weight = {1.04 * vary(0.015), 0.92 * vary(0.015), 1.04 * vary(0.015)};
  } else if (d.limbs == 3) {
    d.limb_weight = {vary(0.02), vary(0.02), vary(0.02)};
  }
  double sum = 0.0;
  for (int l = 0; l < d.limbs; ++l) sum += d.limb_weight[static_cast<std::size_t>(l)];
  for (int l = 0; l < d.limbs; ++l) d.limb_weight[static_cast<std::size_t>(l)] *= d.limbs / sum;

  double const rated_mmf = sqrt2 * d.hv_turns * d.hv_coil_amperes;
  if (d.limbs == 3 && d.form == CoreForm::three_limb) {
    d.zero_sequence_mmf = rated_mmf / 0.6 / 3.0;  // about 60 % zero-sequence magnetising reactance
    d.zero_sequence_loss = 0.25 * d.zero_sequence_mmf;
  }

  double const usual = d.phases == 1 ? 0.7 : 0.6;
  double target = unit.guarantees.exciting_current_percent.value_or(0.0);
  bool const guaranteed = target > 0.0;
  if (d.limbs == 3 && d.form == CoreForm::five_limb) d.return_limbs = true;
  set_core(d, 1e-6, 1.0);
  double const loss_alone = exciting_percent(d, 20.0);
  if (!guaranteed) target = std::max(usual, 1.5 * loss_alone);
  double const guarantee_needs = loss_alone * d.guaranteed_no_load_w / d.no_load_loss_w;
  need(target > guarantee_needs,
       fmt::format(
           "exciting current and no-load loss conflict: {:.4g} % of rated current is not above the {:.4g} % that "
           "the no-load loss of {:.5g} W alone draws",
           target, guarantee_needs, d.guaranteed_no_load_w));
  if (!nominal) target = std::max(target * random.spread(0.90, 0.03), 1.03 * loss_alone);
  double const loss_20 = d.no_load_loss_w / core_temperature_factor(d.no_load_reference_c);
  double loss_scale = 1.0;
  for (int pass = 0; pass < 3; ++pass) {
    double low = 1e-6, high = rated_mmf;
    for (int round = 0; round < 60; ++round) {
      double const middle = std::sqrt(low * high);
      set_core(d, middle, loss_scale);
      (exciting_percent(d, 20.0) < target ? low : high) = middle;
    }
    // Limbs that a common flux drives unequally lose more than the sum of their rated losses.
    loss_scale *= loss_20 / core_watts(d, 1.0, rated_flux(d, 1.0, {1.0, 1.0, 1.0}));
  }
  d.exciting_current_percent = exciting_percent(d, 20.0);
}

}  // namespace

double resistance_factor(Metal metal, double celsius_now) {
  double const alpha = metal == Metal::copper ? 1.0 / 254.5 : 1.0 / 245.0;
  return 1.0 + alpha * (celsius_now - 20.0);
}

double StrayLaw::ohm(double amperes, double frequency_hz, double winding_c) const {
  if (ohm_at_reference <= 0.0) return 0.0;
  double const load = std::clamp(amperes / rated_amperes, 0.01, 20.0);
  return ohm_at_reference * std::pow(load, current_exponent - 2.0) *
         std::pow(frequency_hz / rated_hz, frequency_exponent) *
         std::exp(-temperature_coefficient * (winding_c - reference_c));
}

std::array<std::array<Complex, Wave::harmonic_count>, 3> rated_flux(Design const& d, double loss_factor,
                                                                    std::array<double, 3> const& scale) {
  std::array<std::array<Complex, Wave::harmonic_count>, 3> flux{};
  for (int l = 0; l < d.limbs; ++l)
    flux[static_cast<std::size_t>(l)][0] = std::polar(scale[static_cast<std::size_t>(l)], -2.0 * pi * l / 3.0);
  bool const unpaid =
      d.limbs == 3 && d.group.hv == 'Y' && (d.group.lv == 'z' || (d.group.lv == 'y' && !d.group.lv_neutral));
  if (!unpaid) return flux;
  double const omega = 2.0 * pi * d.hz;
  for (int round = 0; round < 60; ++round) {
    std::array<Complex, Wave::harmonic_count> mean{};
    double slope = 0.0;
    Complex elastic = 0.0;
    for (std::size_t l = 0; l < 3; ++l) {
      LimbResponse const r = respond(d.core[l], flux[l], omega, 0.0, loss_factor, nullptr, nullptr);
      slope += r.mean_slope / 3.0;
      elastic += Complex(r.stiffness, r.loss_force) / 3.0;
      for (std::size_t n = 0; n < Wave::harmonic_count; ++n) mean[n] += r.mmf[n] / 3.0;
    }
    for (int n = 0; n < Wave::harmonic_count; ++n) {
      std::size_t const k = static_cast<std::size_t>(n);
      Complex const yoke = d.return_limbs ? Complex(d.return_curve.slope(0.0) / d.return_area)
                                          : Complex(d.zero_sequence_mmf, d.zero_sequence_loss * Wave::order(n));
      Complex const common = (flux[0][k] + flux[1][k] + flux[2][k]) / 3.0;
      Complex const step = 0.7 * (mean[k] + 3.0 * yoke * common) /
                           (3.0 * yoke + slope + (n == 0 ? elastic : Complex(0.0)) +
                            eddy_mmf_per_flux(d.core[0], omega, n, loss_factor));
      for (std::size_t l = 0; l < 3; ++l) flux[l][k] -= step;
    }
  }
  return flux;
}

double core_watts(Design const& d, double loss_factor,
                  std::array<std::array<Complex, Wave::harmonic_count>, 3> const& flux) {
  double watts_sum = 0.0;
  double const omega = 2.0 * pi * d.hz;
  for (std::size_t l = 0; l < static_cast<std::size_t>(d.limbs); ++l) {
    LimbResponse const r = respond(d.core[l], flux[l], omega, 0.0, loss_factor, nullptr, nullptr);
    double volts_squared = 0.0;
    for (int n = 0; n < Wave::harmonic_count; ++n)
      volts_squared += 0.5 * std::norm(Wave::order(n) * omega * d.flux_peak_wb * flux[l][static_cast<std::size_t>(n)]);
    watts_sum += loss_factor * (d.hz * d.core[l].loss.hysteresis(r.peak) + d.core[l].loss.eddy_siemens * volts_squared);
  }
  if (d.zero_sequence_loss > 0.0) {
    // Tank wall as a delta to the common flux.
    for (int n = 0; n < Wave::harmonic_count; ++n) {
      std::size_t const k = static_cast<std::size_t>(n);
      Complex const sum = flux[0][k] + flux[1][k] + flux[2][k];
      watts_sum +=
          0.5 * d.zero_sequence_loss * Wave::order(n) * Wave::order(n) * omega * d.flux_peak_wb * std::norm(sum);
    }
  }
  return watts_sum;
}

double exciting_percent(Design const& d, double core_celsius, double loss_factor,
                        std::array<double, 3> const& flux_of_limb) {
  double const omega = 2.0 * pi * d.hz;
  using Row = std::array<Complex, Wave::harmonic_count>;
  std::array<Row, 3> mmf{};
  // A tap or a wound-in error changes nothing here: flux is set by the low-voltage side.
  double const vars_a_limb = capacitive_var(d, d.hv_graded && d.phases == 1) / d.limbs;
  auto const flux = rated_flux(d, loss_factor * core_temperature_factor(core_celsius), flux_of_limb);
  for (int l = 0; l < d.limbs; ++l) {
    mmf[static_cast<std::size_t>(l)] =
        respond(d.core[static_cast<std::size_t>(l)], flux[static_cast<std::size_t>(l)], omega, 0.0,
                loss_factor * core_temperature_factor(core_celsius), nullptr, nullptr)
            .mmf;
    mmf[static_cast<std::size_t>(l)][0] -=
        sqrt2 * vars_a_limb / d.volts_per_turn * std::polar(1.0, -2.0 * pi * l / 3.0);
  }
  double const turns = d.group.lv == 'z' ? d.lv_part_turns : d.lv_part_turns * d.parts;
  double sum_rms = 0.0;
  std::array<double, 3> squares{};
  for (int n = 0; n < Wave::harmonic_count; ++n) {
    std::array<Complex, 3> coil{};
    Complex mean = 0.0;
    for (int l = 0; l < d.limbs; ++l) mean += mmf[static_cast<std::size_t>(l)][n] / static_cast<double>(d.limbs);
    if (d.limbs == 1) mean = 0.0;
    Complex share = 1.0;
    if (d.limbs == 3 && (d.group.lv == 'd' || d.group.lv == 'z' || !d.group.lv_neutral)) share = 0.0;
    if (d.limbs == 3 && d.group.lv == 'y' && d.group.lv_neutral && d.group.hv == 'D') {
      // The closed delta and the source's neutral share the sum of the limbs' ampere-turns.
      double const w = omega * Wave::order(n);
      double const a = static_cast<double>(d.hv_turns) / d.lv_part_turns;
      Complex const zh(d.hv_ohm_20, w * d.hv_leakage_h);
      Complex const zl(d.lv_part_ohm_20 * a * a, w * d.lv_part_leakage_h * a * a);
      share = zh / (zh + zl);
    }
    for (int l = 0; l < d.limbs; ++l)
      coil[static_cast<std::size_t>(l)] = (mmf[static_cast<std::size_t>(l)][n] - mean * (1.0 - share)) / turns;
    std::array<Complex, 3> line = coil;
    if (d.group.lv == 'd')
      for (std::size_t p = 0; p < 3; ++p) line[p] = coil[p] - coil[(p + 2) % 3];
    if (d.group.lv == 'z')
      for (std::size_t p = 0; p < 3; ++p) line[p] = (coil[p] - coil[(p + 2) % 3]) / 3.0;
    for (int p = 0; p < d.phases; ++p)
      squares[static_cast<std::size_t>(p)] += 0.5 * std::norm(line[static_cast<std::size_t>(p)]);
  }
  for (int p = 0; p < d.phases; ++p) sum_rms += std::sqrt(squares[static_cast<std::size_t>(p)]);
  return 100.0 * sum_rms / d.phases / d.lv_line_amperes;
}

Design solve_design(Unit const& unit, Manufacture const& manufacture) {
  RandomStream random(manufacture.seed * 0x2545F4914F6CDD1Dull + 0x5EEDull);
  Design d;
  solve_ratings(unit, d);
  solve_turns(unit, d);
  solve_loads(unit, d, random, manufacture.nominal);
  solve_insulation(unit, d, random, manufacture.nominal);
  solve_core(unit, d, random, manufacture.nominal);
  solve_heat(unit, d);
  return d;
}

}  // namespace benchward::sim
