// SPDX-License-Identifier: MIT
// No-load loss and exciting current. Source: 10 CFR 431 subpart K appendix A 4.4. The volts are set by the
// average-sensing voltmeter; rated volts within 0.25 %, or two points that straddle them, interpolated on log-log
// paper, never extrapolated (loss goes as the 2nd to 3.5th power of the volts near rated flux).
#include "limits/correct/no_load.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/power_means.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

// On a source of no impedance all harmonics of the exciting current flow through it. The reactance of source and leads
// sends part of the third (and its multiples) round another path where the unit has one: a closed delta, a zigzag, the
// air beside a three-limb core. The current read is then too small, never too large, so what is known of it is put
// right and the rest is its uncertainty (JCGM 100:2008, 3.2.4 and 4.3.7). Reckoned, common practice, no source: third
// harmonic a third of the fundamental (h^2 = 0.1), a source with leads of up to a fifth of the unit's own reactance, so
// up to a sixth of the harmonic on the other path, and h^2 / 6 = 0.016 less root mean square, anything between as
// likely.
constexpr double third_harmonic_lost_at_most = 0.016;

constexpr double setting_within = 0.0025;
constexpr double straddle_within = 0.05;  // points further away than 5 % say little of the rated point
constexpr double loss_exponent = 2.75;    // of volts, near rated flux: middle of 2 to 3.5
// The same of the exciting current, of the flux (volts over frequency): anything from 4 to 8 (from memory).
constexpr double current_exponent = 6.0;
constexpr double current_exponent_half_width = 2.0;
constexpr double core_half_width_k = 10.0;  // appendix A: the core must be known within +-10 degC

/// Volts that the fed winding should have, on the basis on which they are read, and its rated current.
struct FedWinding {
  double volts, amperes;
};

FedWinding fed_winding(NoLoadPoint const& point, Unit const& unit) {
  bool const hv = !point.fed.empty() && point.fed.front() == 'H';
  auto const& winding = hv ? unit.hv : unit.lv;
  double rated = winding.rated.in(volts);
  double current = unit.rated_line_current(winding).in(amperes);
  if (unit.phases == 3) {
    if (!point.line_to_line_volts) rated /= std::sqrt(3.0);
  } else if (!hv) {
    bool const half =
        (unit.lv_form == LowVoltageForm::center_tapped && (point.fed == "X1-X2" || point.fed == "X2-X3")) ||
        (unit.lv_form == LowVoltageForm::series_parallel && (point.fed == "X1-X2" || point.fed == "X3-X4"));
    if (half) {
      rated /= 2.0;
      current *= 2.0;
    }
  }
  return {rated * point.percent / 100.0, current};
}

/// Whether harmonics that are in phase on all limbs have a path besides the source that feeds a star with its neutral.
bool third_harmonic_has_another_path(Unit const& unit, std::string const& fed) {
  if (unit.phases != 3) return false;
  bool const hv_fed = !fed.empty() && fed.front() == 'H';
  auto const group = parse_vector_group(unit.vector_group);
  auto const fed_form = hv_fed ? group.hv : group.lv;
  auto const other = hv_fed ? group.lv : group.hv;
  bool const neutral = (hv_fed ? unit.hv_neutral : unit.lv_neutral) != NeutralKind::none;
  if (fed_form == WindingForm::delta || !neutral) return false;
  return other == WindingForm::delta || other == WindingForm::zigzag || fed_form == WindingForm::zigzag ||
         unit.core_form == CoreForm::three_limb;
}

/// One set point: mean of its snapshots, waveform and temperature corrected.
struct SetPoint {
  PowerMeans means;
  NoLoadCorrected<Uncertain> loss;
};

SetPoint corrected(MeasuredValues& values, std::vector<PowerSnapshot const*> const& snapshots, NoLoadPoint const& point,
                   Uncertain const& core_c, EvaluationContext const& context) {
  SetPoint set;
  std::vector<double> scaled;  // of each snapshot, freed from the setting, so that only its scatter is left
  for (auto const* snapshot : snapshots) {
    double watts_sum = 0.0;
    double average = 0.0;
    for (auto const& reading : snapshot->active) watts_sum += plain(reading.value);
    for (auto const& reading : snapshot->volts_average) average += plain(reading.value);
    if (average > 0.0) scaled.push_back(watts_sum / std::pow(average, loss_exponent));
  }
  auto const scatter = relative_scatter(scaled);
  if (auto const why = scatters_too_much(scatter); !why.empty()) values.invalid(why);
  set.means = mean_power(values, snapshots, point.line_to_line_volts, context.unit.phases, AverageVolts::needed,
                         scatter ? Noise::elsewhere : Noise::stated);
  if (!values.usable()) return set;
  Uncertain measured = set.means.watts;
  if (scatter) {
    measured =
        measured * (1.0 + values.inputs().input(fmt::format("no-load/scatter at {}", set.means.volts_average.value()),
                                                0.0, scatter->of_mean, scatter->degrees_of_freedom));
  }
  NoLoadInput<Uncertain> const in{measured, set.means.volts_rms, set.means.volts_average, core_c};
  set.loss = context.unit.standard == StandardFamily::iec
                 ? correct_no_load_iec(in)
                 : correct_no_load(in, 0.5, context.unit.reference.no_load.in(celsius));
  if (set.loss.retest_required) {
    values.invalid(
        fmt::format("waveform: rms {:.6g} V against average {:.6g} V asks for a correction of {:.2f} %: improve "
                    "the source and test again",
                    set.means.volts_rms.value(), set.means.volts_average.value(), set.loss.correction_percent));
  }
  check_frequency(values, set.means.frequency_hz, context.unit.rated_frequency);
  return set;
}

double average_volts(PowerSnapshot const& snapshot) {
  double sum = 0.0;
  for (auto const& reading : snapshot.volts_average) sum += plain(reading.value);
  return sum / static_cast<double>(std::max<std::size_t>(1, snapshot.volts_average.size()));
}

class NoLoadPointEvaluation {
 public:
  NoLoadPointEvaluation(MeasuredValues& values, NoLoadPoint const& point, Uncertain const& core_c,
                        EvaluationContext const& context)
      : values_(values), point_(point), core_c_(core_c), context_(context), fed_(fed_winding(point, context.unit)) {}

  void run(Evaluation& evaluation) {
    std::vector<PowerSnapshot const*> all, below, above;
    bool near = true;
    for (auto const& snapshot : point_.snapshots) {
      double const set = average_volts(snapshot);
      near = near && std::abs(set / fed_.volts - 1.0) <= setting_within;
      all.push_back(&snapshot);
      (set <= fed_.volts ? below : above).push_back(&snapshot);
    }
    if (all.empty()) {
      values_.invalid(fmt::format("no snapshot of the no-load test at {:.4g} % of rated volts", point_.percent));
      return;
    }
    if (near) {
      at_set_volts(all);
    } else if (!below.empty() && !above.empty()) {
      straddled(below, above);
    } else {
      // Readings that are not GOOD have no trustworthy volts either: name them first.
      mean_power(values_, all, point_.line_to_line_volts, context_.unit.phases, AverageVolts::needed, Noise::stated);
      values_.invalid(
          fmt::format("average volts {:.6g} V, wanted {:.6g} V within 0.25 %, or two points that straddle them: "
                      "set the volts and test again",
                      average_volts(point_.snapshots.front()), fed_.volts));
    }
    if (values_.usable()) results(evaluation);
  }

 private:
  void at_set_volts(std::vector<PowerSnapshot const*> const& all) {
    auto const set = corrected(values_, all, point_, core_c_, context_);
    if (!values_.usable()) return;
    // What the volts were off, and what is not known of them, is in the uncertainty by the loss's power of the volts.
    Uncertain const& average = set.means.volts_average;
    double const deviation = average.value() / fed_.volts - 1.0;
    Uncertain const unknown = (average - average.value()) / average.value() +
                              values_.inputs().input(fmt::format("no-load/setting at {} %", point_.percent), 0.0,
                                                     std::abs(deviation) / std::sqrt(3.0));
    loss_ = set.loss.corrected_w * (1.0 - loss_exponent * unknown);
    measured_w_ = set.means.measured_w.value();
    measured_a_ = set.means.amperes.value();
    // The current goes with so high a power of the flux that what the source is off by can be read in it.
    double const rated_hz = context_.unit.rated_frequency.in(hertz);
    Uncertain const flux_off = average * (1.0 / fed_.volts) - set.means.frequency_hz * (1.0 / rated_hz);
    current_ = set.means.amperes * (1.0 - current_power() * flux_off);
    current_steps_.push_back({"flux off by", 100.0 * flux_off.value(), "%"});
    note(set, "");
    steps_.push_back({"average volts off by", 100.0 * deviation, "%"});
  }

  Uncertain current_power() {
    return values_.inputs().input("exciting current/power of the flux", current_exponent,
                                  current_exponent_half_width / std::sqrt(3.0));
  }

  void straddled(std::vector<PowerSnapshot const*> const& below, std::vector<PowerSnapshot const*> const& above) {
    auto const low = corrected(values_, below, point_, core_c_, context_);
    if (!values_.usable()) return;
    auto const high = corrected(values_, above, point_, core_c_, context_);
    if (!values_.usable()) return;
    Uncertain const& v0 = low.means.volts_average;
    Uncertain const& v1 = high.means.volts_average;
    if (!(v0.value() >= (1.0 - straddle_within) * fed_.volts && v1.value() <= (1.0 + straddle_within) * fed_.volts)) {
      values_.invalid(fmt::format("the two points {:.6g} V and {:.6g} V are further than 5 % from {:.6g} V", v0.value(),
                                  v1.value(), fed_.volts));
      return;
    }
    loss_ = interpolate_log_log(v0, low.loss.corrected_w, v1, high.loss.corrected_w, fed_.volts);
    current_ = interpolate_log_log(v0, low.means.amperes, v1, high.means.amperes, fed_.volts);
    measured_a_ = current_.value();
    measured_w_ = interpolate_log_log(v0.value(), low.means.measured_w.value(), v1.value(),
                                      high.means.measured_w.value(), fed_.volts);
    note(low, "lower point: ");
    note(high, "upper point: ");
    steps_.push_back({"interpolated at", fed_.volts, "V"});
  }

  void note(SetPoint const& set, std::string const& prefix) {
    auto const add = [&](char const* name, double value, char const* unit) {
      steps_.push_back({prefix + name, value, unit});
    };
    add("volts, rms", set.means.volts_rms.value(), "V");
    add("volts, average", set.means.volts_average.value(), "V");
    add("current, mean", set.means.amperes.value(), "A");
    add("frequency", set.means.frequency_hz.value(), "Hz");
    for (std::size_t k = 0; k < set.means.elements.size(); ++k) {
      add(k == 0   ? "watts of element 1"
          : k == 1 ? "watts of element 2"
                   : "watts of element 3",
          set.means.elements[k].measured_w.value(), "W");
    }
    add("measured loss", set.means.measured_w.value(), "W");
    add("after the phase error", set.means.watts.value(), "W");
    add("k = (rms / average)^2", set.loss.k.value(), "1");
    add("waveform correction", set.loss.correction_percent, "%");
    add("at sine wave", set.loss.sine_w.value(), "W");
    add("core temperature", core_c_.value(), "degC");
    add("at reference temperature", set.loss.corrected_w.value(), "W");
  }

  void results(Evaluation& evaluation) {
    bool const rated = std::abs(point_.percent - 100.0) < 1e-9;
    std::string const at = fmt::format("{:.6g} %", point_.percent);
    Lines const lines = rated ? Lines::all : Lines::placed_only;
    auto loss = make_result("no_load", "corrected_no_load_loss_w", at, "W");
    values_.put(loss, loss_);
    loss.measured = measured_w_;
    loss.intermediates = steps_;
    add_judged(evaluation, loss, context_, lines);
    auto current = make_result("no_load", "exciting_current_percent", at, "%");
    current.measured_unit = "A";
    current.measured = measured_a_;
    current.intermediates = {{"mean of the phase currents", measured_a_, "A"},
                             {"rated current of the fed winding", fed_.amperes, "A"}};
    current.intermediates.insert(current.intermediates.end(), current_steps_.begin(), current_steps_.end());
    if (third_harmonic_has_another_path(context_.unit, point_.fed)) {
      constexpr double middle = 0.5 * third_harmonic_lost_at_most;
      current_ = current_ * (1.0 + values_.inputs().input("exciting current/third harmonic beside the source", middle,
                                                          third_harmonic_lost_at_most / std::sqrt(12.0)));
      current.intermediates.push_back({"added for third harmonic beside the source", 100.0 * middle, "%"});
    }
    values_.put(current, 100.0 * current_ / fed_.amperes);
    add_judged(evaluation, current, context_, lines);
  }

  MeasuredValues& values_;
  NoLoadPoint const& point_;
  Uncertain const& core_c_;
  EvaluationContext const& context_;
  FedWinding fed_;
  Uncertain loss_, current_;
  double measured_w_ = 0.0, measured_a_ = 0.0;
  std::vector<Intermediate> steps_, current_steps_;
};

}  // namespace

Evaluation evaluate_no_load(NoLoadReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "no_load";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    Uncertain const core_c =
        readings.core_temperature_known
            ? readings.core_temperature_c_if_known +
                  values.inputs().input("core temperature", 0.0, core_half_width_k / std::sqrt(3.0))
            : liquid_temperature(values, readings.temperature);
    if (readings.points.empty()) values.invalid("no point of the no-load test was measured");
    for (auto const& point : readings.points) {
      if (!values.usable()) return;
      NoLoadPointEvaluation(values, point, core_c, context).run(evaluation);
    }
  });
  values.finish(evaluation);
  return evaluation;
}

}  // namespace benchward
