// SPDX-License-Identifier: MIT
// Load loss and impedance. Source: 10 CFR 431 subpart K appendix A 4.5: rated frequency, rated tap, one winding
// shorted; phase error (4-5), scaling by the square of the current, ohmic and stray parts, reference temperature (4-6
// to 4-10).
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "limits/correct/efficiency.hpp"
#include "limits/correct/resistance.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/load_loss_chain.hpp"
#include "limits/uncertainty/monte_carlo.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

/// Relative standard uncertainty of what the bench document states of its bar: clamping differs from time to time, and
/// it warms (common practice, no source).
constexpr double bar_relative_u = 0.10;

// Of the power of the resistivity with which stray loss falls; equation 4-9 takes 1. What runs in steel falls less than
// what runs in the windings. Common practice, no source.
constexpr double stray_power_half_width = 0.1;
constexpr double smallest_current_share = 0.5;  // of rated: IEC 60076-1, from memory; the square law needs no more room
constexpr double full_current_share = 0.98;
constexpr double largest_unbalance_percent = 5.0;  // of the volts: common practice, no source; sound: some 0.02 %
constexpr double largest_change_k = 5.0;           // between before and after: IEEE C57.12.90, from memory
constexpr double low_power_factor = 0.1;           // below it P = S cos(phi + B) is too bent for the linear law
constexpr std::size_t trials = 20'000;

/// Loss over the square of the current, reading after reading. Windings are large: a rise within the seconds of a
/// reading is a contact that heats.
std::string rises_while_held(std::vector<double> const& loss_over_square) {
  constexpr double rise_at_most = 0.004;  // common practice, no source
  if (loss_over_square.size() < 3 || !(loss_over_square.front() > 0.0)) return "";
  double const rise = loss_over_square.back() / loss_over_square.front() - 1.0;
  if (!(rise > rise_at_most)) return "";
  return fmt::format(
      "the loss at equal current rose by {:.2g} % from the first reading to the last: no winding heats that fast, a "
      "contact does. Clean and tighten the shorting bar and the clamps, then measure again",
      100.0 * rise);
}

class LoadLossEvaluation {
 public:
  LoadLossEvaluation(LoadLossReadings const& readings, MeasuredResistances const& resistances,
                     NoLoadForTotals const& no_load, EvaluationContext const& context)
      : readings_(readings), resistances_(resistances), no_load_(no_load), context_(context), values_(context) {}

  Evaluation run() {
    evaluation_.test = "load_loss";
    refusing(evaluation_, [&] {
      if (!prepare()) return;
      auto const linear = load_loss_chain(inputs_, constants_);
      check_plausible(linear);
      results(linear);
    });
    values_.finish(evaluation_);
    return std::move(evaluation_);
  }

 private:
  Unit const& unit() const { return context_.unit; }

  bool prepare() {
    if (!resistances_.hv.known || !resistances_.lv.known) {
      values_.invalid(fmt::format("no resistance of the {} winding is known: measure it before the load loss",
                                  resistances_.hv.known ? "low-voltage" : "high-voltage"));
      return false;
    }
    if (readings_.tap && !unit().hv.taps.empty() && *readings_.tap != unit().hv.rated_tap) {
      values_.invalid(fmt::format("load loss was measured on tap {}; it is of the rated tap, {}", *readings_.tap,
                                  unit().hv.rated_tap));
      return false;
    }
    std::vector<PowerSnapshot const*> snapshots;
    std::vector<double> scaled;  // watts over amperes squared: free of the setting, so that only the scatter is left
    for (auto const& snapshot : readings_.snapshots) {
      snapshots.push_back(&snapshot);
      double watts_sum = 0.0;
      double amperes_sum = 0.0;
      for (auto const& reading : snapshot.active) watts_sum += plain(reading.value);
      for (auto const& reading : snapshot.amperes) amperes_sum += plain(reading.value);
      if (amperes_sum > 0.0) scaled.push_back(watts_sum / (amperes_sum * amperes_sum));
    }
    auto const scatter = relative_scatter(scaled);
    if (auto const why = rises_while_held(scaled); !why.empty()) values_.invalid(why);
    if (auto const why = scatters_too_much(scatter); !why.empty()) values_.invalid(why);
    means_ = mean_power(values_, snapshots, readings_.line_to_line_volts, unit().phases, AverageVolts::not_needed,
                        scatter ? Noise::elsewhere : Noise::stated);
    Uncertain const before = liquid_temperature(values_, readings_.temperature_before);
    bool const after_read = !readings_.temperature_after.top.origin.instrument.empty() ||
                            !readings_.temperature_after.bottom.origin.instrument.empty();
    Uncertain winding_c = before;
    if (after_read) {
      Uncertain const after = liquid_temperature(values_, readings_.temperature_after);
      winding_c = (before + after) / 2.0;
      double const change = after.value() - before.value();
      if (values_.usable() && !(std::abs(change) <= largest_change_k)) {
        values_.invalid(
            fmt::format("the liquid changed by {:.1f} K during the load-loss test, at most 5 K: let the unit "
                        "come to rest and measure again",
                        change));
      }
      temperatures_.push_back({"liquid before", before.value(), "degC"});
      temperatures_.push_back({"liquid after", after.value(), "degC"});
    }
    if (!values_.usable()) return false;
    fill_constants();
    fill_inputs(winding_c, scatter);
    return true;
  }

  void fill_constants() {
    auto const group = parse_vector_group(unit().vector_group);
    bool const three = unit().phases == 3;
    bool const fed_hv = readings_.fed.empty() || readings_.fed.front() != 'X';
    double const hv_line = unit().rated_line_current(unit().hv).in(amperes);
    double const lv_line = unit().rated_line_current(unit().lv).in(amperes);
    auto const winding_current = [&](WindingForm form, double line) {
      return form == WindingForm::delta ? line / std::sqrt(3.0) : line;
    };
    constants_.elements = means_.elements.size();
    constants_.three_phase = three;
    constants_.line_to_line = readings_.line_to_line_volts;
    constants_.rated_current_a = fed_hv ? hv_line : lv_line;
    constants_.rated_volts = (fed_hv ? unit().hv : unit().lv).rated.in(volts);
    constants_.rated_kva = unit().rated_power.in(kilovolt_amperes);
    constants_.hv_winding_a = winding_current(group.hv, hv_line);
    constants_.lv_winding_a = winding_current(group.lv, lv_line);
    constants_.hv_zero_c = inferred_zero_c(unit().hv.metal, unit().standard);
    constants_.lv_zero_c = inferred_zero_c(unit().lv.metal, unit().standard);
    constants_.order_reference_c = unit().reference.load.in(celsius);
    constants_.efficiency_reference_c = unit().reference.efficiency_load.in(celsius);
    constants_.shorted_over_fed_current = fed_hv ? lv_line / hv_line : hv_line / lv_line;
    constants_.bar_known = readings_.shorting_bar.has_value();
    // Sections that only a link joins in series: a second bar in the path of the current.
    bool const linked = unit().lv_form == LowVoltageForm::series_parallel;
    constants_.bars = three || linked ? 2.0 : 1.0;
    if (readings_.shorting_bar_inductance) {
      constants_.bar_reactance_ohm =
          2.0 * std::numbers::pi * unit().rated_frequency.in(hertz)*readings_.shorting_bar_inductance->in(henries);
    }
    for (auto const& element : means_.elements) {
      constants_.phase_error_known = constants_.phase_error_known || element.phase_error_rad.has_value();
    }
  }

  void fill_inputs(Uncertain const& winding_c, std::optional<RelativeScatter> const& scatter) {
    LoadLossPositions const at{constants_.elements};
    inputs_.assign(at.count(), Uncertain(0.0));
    for (std::size_t k = 0; k < constants_.elements; ++k) {
      inputs_[at.volts(k)] = means_.elements[k].volts_rms;
      inputs_[at.amperes(k)] = means_.elements[k].amperes;
      inputs_[at.watts(k)] = means_.elements[k].measured_w;
      if (means_.elements[k].phase_error_rad) inputs_[at.phase_error(k)] = *means_.elements[k].phase_error_rad;
    }
    auto& sources = values_.inputs();
    inputs_[at.repeatability()] = Uncertain(1.0);
    if (scatter) {
      inputs_[at.repeatability()] +=
          sources.input("load loss/scatter", 0.0, scatter->of_mean, scatter->degrees_of_freedom);
    }
    auto const resistance = [&](char const* name, MeasuredResistances::Side const& side) {
      double const ohm = side.total.in(ohms);
      return sources.input(name, ohm, side.relative_u * ohm);
    };
    inputs_[at.hv_ohm()] = resistance("resistance/hv", resistances_.hv);
    inputs_[at.lv_ohm()] = resistance("resistance/lv", resistances_.lv);
    // The same thermometer was there when the resistances were measured: its systematic errors are shared.
    auto const& sensor = readings_.temperature_before.top.origin;
    inputs_[at.hv_c()] = values_.mean_of({resistances_.hv.at.in(celsius)}, sensor, "temperature", Noise::stated);
    inputs_[at.lv_c()] = values_.mean_of({resistances_.lv.at.in(celsius)}, sensor, "temperature", Noise::stated);
    inputs_[at.hv_c()] += resistances_.hv.at.in(celsius)-inputs_[at.hv_c()].value();  // it was corrected already
    inputs_[at.lv_c()] += resistances_.lv.at.in(celsius)-inputs_[at.lv_c()].value();
    inputs_[at.winding_c()] = winding_c;
    inputs_[at.stray_law()] =
        sources.input("stray loss/power of the resistivity", 0.0, stray_power_half_width / std::sqrt(3.0));
    if (readings_.shorting_bar) {
      double const ohm = readings_.shorting_bar->in(ohms);
      inputs_[at.bar_ohm()] = sources.input("shorting bar", ohm, bar_relative_u * ohm);
    }
  }

  /// (largest - smallest) / mean of the three phases; 0 where fewer are read.
  double spread_percent(Uncertain PowerElement::*quantity) const {
    if (means_.elements.size() != 3) return 0.0;
    double lowest = 0.0, highest = 0.0, sum = 0.0;
    for (auto const& element : means_.elements) {
      double const value = (element.*quantity).value();
      lowest = sum == 0.0 ? value : std::min(lowest, value);
      highest = std::max(highest, value);
      sum += value;
    }
    return sum > 0.0 ? 100.0 * (highest - lowest) / (sum / 3.0) : 0.0;
  }

  void check_plausible(LoadLossValues<Uncertain> const& out) {
    check_frequency(values_, means_.frequency_hz, unit().rated_frequency);
    if (double const volts = spread_percent(&PowerElement::volts_rms); volts > largest_unbalance_percent) {
      values_.invalid(fmt::format(
          "the volts of the three phases differ by {:.3g} % of their mean, at most {:.2g} %: a feed lead is "
          "loose or the source's phases are not alike. Clean and tighten the clamps, then measure again",
          volts, largest_unbalance_percent));
    }
    double const share = out.amperes.value() / constants_.rated_current_a;
    if (!(share >= smallest_current_share)) {
      values_.invalid(
          fmt::format("test current {:.5g} A is {:.0f} % of rated: at least 50 % are needed for scaling by the "
                      "square",
                      out.amperes.value(), 100.0 * share));
    } else if (share < full_current_share && unit().standard == StandardFamily::ieee) {
      evaluation_.warnings.push_back(
          fmt::format("load loss was measured at {:.1f} % of rated current and scaled by the "
                      "square; stray loss in steel parts does not follow the square exactly",
                      100.0 * share));
    }
    double const power_factor = out.true_w.value() / out.apparent_va.value();
    if (constants_.elements == 3 && power_factor > low_power_factor) {
      for (std::size_t k = 0; k < 3; ++k) {
        if (means_.elements[k].measured_w.value() >= 0.0) continue;
        evaluation_.question = fmt::format(
            "Element {} of the wattmeter reads {:.5g} W, negative, at a power factor of "
            "{:.2f}: is its current transformer reversed?",
            k + 1, means_.elements[k].measured_w.value(), power_factor);
      }
    }
    if (out.order.negative_stray) {
      values_.invalid(
          fmt::format("stray loss is negative ({:.5g} W: measured {:.6g} W at rated current, ohmic {:.6g} W at "
                      "{:.1f} degC): an error of measurement. Look at the resistances (sense clips), the "
                      "winding temperature and the wattmeter's scale and polarity",
                      out.order.stray_w.value(), out.order.at_rated_current_w.value(), out.order.ohmic_w.value(),
                      inputs_[LoadLossPositions{constants_.elements}.winding_c()].value()));
    }
  }

  /// Standard uncertainty of one output by Monte Carlo: every source drawn, the whole chain run on plain numbers.
  MonteCarloResult by_trials(double (*output)(LoadLossValues<double> const&)) {
    std::vector<InputDistribution> distributions;
    for (std::size_t i = 0; i < values_.inputs().count(); ++i) {
      double const freedom = values_.inputs().degrees_of_freedom(i);
      InputDistribution source;
      source.scale = 1.0;
      // Student's t has a variance from 3 degrees of freedom on; below, the normal distribution stands in.
      if (freedom >= 3.0 && freedom < infinite_degrees_of_freedom) {
        source.kind = InputDistribution::Kind::student;
        source.degrees_of_freedom = freedom;
      }
      distributions.push_back(source);
    }
    auto const model = [&](double const* draws) {
      std::vector<double> trial(inputs_.size());
      for (std::size_t i = 0; i < inputs_.size(); ++i) {
        double value = inputs_[i].value();
        for (auto const& term : inputs_[i].terms()) value += term.contribution * draws[term.source];
        trial[i] = value;
      }
      return output(load_loss_chain(trial, constants_));
    };
    MonteCarloPlan plan;
    plan.trials = trials;
    plan.trials_per_block = trials / 10;
    return monte_carlo(distributions, model, plan);
  }

  void results(LoadLossValues<Uncertain> const& out) {
    double const power_factor = out.true_w.value() / out.apparent_va.value();
    bool const bent = constants_.phase_error_known && power_factor < low_power_factor && values_.uncertainty_known() &&
                      values_.usable();
    auto const loss = [&](char const* quantity, LoadLossCorrected<Uncertain> const& corrected, double reference_c,
                          double (*output)(LoadLossValues<double> const&)) {
      auto result = make_result("load_loss", quantity, fmt::format("{:.4g} degC", reference_c), "W");
      values_.put(result, corrected.corrected_w);
      result.measured = out.measured_w.value();
      result.intermediates = steps(out, corrected, reference_c);
      if (bent) {
        auto const drawn = by_trials(output);
        result.intermediates.push_back({"standard uncertainty, linear", result.uncertainty->standard, "W"});
        result.intermediates.push_back({"standard uncertainty, Monte Carlo (taken)", drawn.standard_uncertainty, "W"});
        result.intermediates.push_back({"mean of the trials", drawn.mean, "W"});
        result.uncertainty->standard = drawn.standard_uncertainty;
      }
      add_judged(evaluation_, result, context_);
    };
    loss("corrected_load_loss_w", out.order, constants_.order_reference_c,
         [](LoadLossValues<double> const& trial) { return trial.order.corrected_w; });
    loss("load_loss_55c_w", out.efficiency, constants_.efficiency_reference_c,
         [](LoadLossValues<double> const& trial) { return trial.efficiency.corrected_w; });

    add("stray_loss_w", "", "W", out.order.stray_w);
    auto impedance =
        make_result("load_loss", "impedance_percent", fmt::format("{:.4g} degC", constants_.order_reference_c), "%");
    // Where the bench states no reactance of bar and clamps, some tenths of a percent of the unit's stand in the
    // reading (common practice, no source).
    double const bar_percent = constants_.bars *
                               std::pow(constants_.rated_current_a * constants_.shorted_over_fed_current, 2) *
                               constants_.bar_reactance_ohm / (10.0 * constants_.rated_kva);
    double const of_bar =
        readings_.shorting_bar_inductance ? bar_relative_u * bar_percent : 0.0015 * out.impedance.z.value();
    Uncertain const with_bar =
        out.impedance_reference_percent + values_.inputs().input("impedance/reactance of bar and clamps", 0.0, of_bar);
    values_.put(impedance, with_bar);
    impedance.measured = out.impedance.z.value();
    impedance.intermediates = {{"Z at test temperature", out.impedance.z.value(), "%"},
                               {"R at test temperature", out.impedance.r.value(), "%"},
                               {"X", out.impedance.x.value(), "%"}};
    add_judged(evaluation_, impedance, context_);

    Uncertain const r_percent = out.order.corrected_w / (10.0 * constants_.rated_kva);
    add("regulation_percent", "power factor 1", "%", regulation_percent(r_percent, out.impedance.x, 1.0));
    add("regulation_percent", "power factor 0.8 lagging", "%", regulation_percent(r_percent, out.impedance.x, 0.8));
    if (!no_load_.corrected_w) return;
    Uncertain const no_load = values_.inputs().input("no-load loss", *no_load_.corrected_w, no_load_.u_w);
    add("total_loss_w", fmt::format("{:.4g} degC", constants_.order_reference_c), "W", no_load + out.order.corrected_w);
    auto const half = efficiency(constants_.rated_kva, no_load, out.efficiency.corrected_w);
    auto result = make_result("load_loss", "efficiency_percent", "50 % load", "%");
    values_.put(result, half.efficiency_percent);
    result.intermediates = {
        {"no-load loss", no_load.value(), "W"},
        {"load loss at the efficiency's reference temperature", out.efficiency.corrected_w.value(), "W"},
        {"total loss at half load", half.total_loss_w.value(), "W"}};
    result.remark = "of this unit; the regulation judges a basic model by its represented value";
    add_judged(evaluation_, result, context_);
  }

  std::vector<Intermediate> steps(LoadLossValues<Uncertain> const& out, LoadLossCorrected<Uncertain> const& corrected,
                                  double reference_c) const {
    LoadLossPositions const at{constants_.elements};
    std::vector<Intermediate> list{{"line volts", out.line_volts.value(), "V"}, {"current", out.amperes.value(), "A"}};
    for (std::size_t k = 0; k < constants_.elements; ++k) {
      list.push_back({fmt::format("watts of element {}", k + 1), means_.elements[k].measured_w.value(), "W"});
    }
    if (constants_.phase_error_known) list.push_back({"phase error B", inputs_[at.phase_error(0)].value(), "rad"});
    list.insert(list.end(), temperatures_.begin(), temperatures_.end());
    for (Intermediate const& one :
         std::initializer_list<Intermediate>{{"apparent power", out.apparent_va.value(), "VA"},
                                             {"measured", out.measured_w.value(), "W"},
                                             {"after the phase error (4-5)", out.true_w.value(), "W"},
                                             {"shorting bar, deducted", out.bar_w.value(), "W"},
                                             {"at rated current", corrected.at_rated_current_w.value(), "W"},
                                             {"winding temperature", inputs_[at.winding_c()].value(), "degC"},
                                             {"ohmic (4-6)", corrected.ohmic_w.value(), "W"},
                                             {"stray (4-7)", corrected.stray_w.value(), "W"},
                                             {"reference temperature", reference_c, "degC"},
                                             {"ohmic at reference (4-8)", corrected.ohmic_reference_w.value(), "W"},
                                             {"stray at reference (4-9)", corrected.stray_reference_w.value(), "W"},
                                             {"corrected (4-10)", corrected.corrected_w.value(), "W"},
                                             {"on-time", readings_.on_time.in(seconds), "s"}}) {
      list.push_back(one);
    }
    return list;
  }

  void add(char const* quantity, std::string const& at, char const* result_unit, Uncertain const& value) {
    auto result = make_result("load_loss", quantity, at, result_unit);
    values_.put(result, value);
    add_judged(evaluation_, result, context_);
  }

  LoadLossReadings const& readings_;
  MeasuredResistances const& resistances_;
  NoLoadForTotals const& no_load_;
  EvaluationContext const& context_;
  MeasuredValues values_;
  Evaluation evaluation_;
  PowerMeans means_;
  LoadLossConstants constants_;
  std::vector<Uncertain> inputs_;
  std::vector<Intermediate> temperatures_;
};

}  // namespace

Evaluation evaluate_load_loss(LoadLossReadings const& readings, MeasuredResistances const& resistances,
                              NoLoadForTotals const& no_load, EvaluationContext const& context) {
  return LoadLossEvaluation(readings, resistances, no_load, context).run();
}

}  // namespace benchward
