// SPDX-License-Identifier: MIT
// Winding resistance by volts and amperes, four-wire. Source: 10 CFR 431 subpart K appendix A 3.3 and 3.4: at least
// four simultaneous readings after settling, R = mean volts / mean amperes (equation 3-4), current at most 15 % of
// rated.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "limits/correct/resistance.hpp"
#include "limits/evaluate/evaluate.hpp"
#include "limits/evaluate/judging.hpp"
#include "limits/evaluate/power_means.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

constexpr std::size_t fewest_readings = 4;
constexpr double settled_within = 0.001;  // slope x remaining time over R
constexpr double current_within = 0.01;   // of the set current: a loose current lead shows here
constexpr double largest_scatter =
    0.005;  // standard deviation over mean; common practice: an open sense lead is far above
constexpr double offset_change_within = 0.005;  // of the volts read: thermal EMF that drifts

struct PairResistance {
  std::string terminals;
  std::optional<int> tap;
  Uncertain ohm, at_c;
  std::vector<Intermediate> steps;
};

PairResistance pair_resistance(MeasuredValues& values, ResistancePoint const& point, EvaluationContext const& context) {
  PairResistance pair;
  pair.terminals = point.terminals;
  pair.tap = point.tap;
  auto const refuse = [&](std::string const& what) {
    values.invalid(fmt::format("resistance {}: {}", point.terminals, what));
    return pair;
  };
  if (point.terminals.empty()) return refuse("the reading names no terminals");
  if (point.volts.size() != point.current.size() || point.volts.size() < fewest_readings) {
    return refuse(fmt::format("{} readings of volts and {} of current; at least four, taken together, are needed",
                              point.volts.size(), point.current.size()));
  }
  Uncertain const offset =
      (values.one(point.offset_before, "voltage") + values.one(point.offset_after, "voltage")) / 2.0;
  Uncertain const mean_volts = values.mean(point.volts, "voltage", Noise::elsewhere);
  Uncertain const mean_amperes = values.mean(point.current, "current", Noise::elsewhere);
  if (!values.usable()) return pair;
  double const offset_change = plain(point.offset_after.value) - plain(point.offset_before.value);

  std::vector<double> ohms_each;
  bool above = false;
  bool below = false;
  for (std::size_t i = 0; i < point.volts.size(); ++i) {
    double const volts_here = plain(point.volts[i].value) - offset.value();
    double const amperes_here = plain(point.current[i].value);
    double const set = point.set_current.in(amperes);
    if (!(std::abs(std::abs(amperes_here) - std::abs(set)) <= current_within * std::abs(set))) {
      return refuse(
          fmt::format("the current reads {:.5g} A, set {:.5g} A: a current lead is loose or the source is at its "
                      "volts limit",
                      amperes_here, set));
    }
    double const ohms_here = volts_here / amperes_here;
    above = above || ohms_here > 0.0;
    below = below || !(ohms_here > 0.0);
    ohms_each.push_back(ohms_here);
  }
  if (above && below) return refuse("the sign of the volts flips: a sense lead is open. Clip it again and measure");
  if (below)
    return refuse("the volts are zero or of the wrong sign: a sense lead is open, or the sense leads are crossed");
  auto const scatter = relative_scatter(ohms_each);
  double const deviation = scatter->of_mean * std::sqrt(static_cast<double>(ohms_each.size()));
  if (!(deviation <= largest_scatter)) {
    return refuse(fmt::format("the readings scatter by {:.2f} %: noise or an open sense lead. Clip again and measure",
                              100.0 * deviation));
  }
  if (!(std::abs(point.predicted_change_relative) <= settled_within)) {
    return refuse(
        fmt::format("not settled: {:.3f} % of change was still to come, at most 0.1 % is allowed. Wait longer",
                    100.0 * std::abs(point.predicted_change_relative)));
  }
  if (!(std::abs(offset_change) <= offset_change_within * std::abs(mean_volts.value()))) {
    return refuse(
        fmt::format("the zero-current volts moved by {:.3g} V between before and after: let the joints reach one "
                    "temperature and measure again",
                    offset_change));
  }
  Uncertain const offset_unknown =
      values.inputs().input("offset/" + point.terminals, 0.0, std::abs(offset_change) / 2.0 / std::sqrt(3.0));
  Uncertain const repeatable =
      1.0 + values.inputs().input("scatter/" + point.terminals + std::to_string(point.tap.value_or(0)), 0.0,
                                  scatter->of_mean, scatter->degrees_of_freedom);
  auto const calibrated = context.calibration.find(point.volts.front().origin.instrument);
  bool const as_resistance =
      calibrated != context.calibration.end() && calibrated->second.channel("resistance") != nullptr;
  if (as_resistance) {
    // The certificate is of the meter's resistance as a whole: its volts and amperes have no errors of their own.
    double mean_ohms = 0.0;
    for (double const one : ohms_each) mean_ohms += one / static_cast<double>(ohms_each.size());
    Uncertain const certified = values.mean_of({mean_ohms}, point.volts.front().origin, "resistance", Noise::elsewhere);
    pair.ohm = certified * repeatable + offset_unknown / std::abs(mean_amperes.value());
  } else {
    pair.ohm = (mean_volts - offset + offset_unknown) / mean_amperes * repeatable;
  }
  pair.at_c = liquid_temperature(values, point.temperature);
  pair.steps = {{"mean volts", mean_volts.value(), "V"},
                {"zero-current volts, mean of before and after", offset.value(), "V"},
                {"mean current", mean_amperes.value(), "A"},
                {"settling", point.settling.in(seconds), "s"},
                {"predicted change", 100.0 * point.predicted_change_relative, "%"},
                {"scatter of one reading", 100.0 * deviation, "%"},
                {"winding temperature", pair.at_c.value(), "degC"}};
  return pair;
}

/// "H1-H0X0" -> 1, 0.
std::pair<int, int> terminal_numbers(std::string const& pair) {
  auto const number = [](std::string const& text) {
    return text.size() >= 2 && text[1] >= '0' && text[1] <= '9' ? text[1] - '0' : -1;
  };
  auto const dash = pair.find('-');
  if (dash == std::string::npos) return {-1, -1};
  return {number(pair.substr(0, dash)), number(pair.substr(dash + 1))};
}

struct SideResistance {
  bool hv = true;
  std::optional<int> tap;
  bool on_rated_tap = true;
  Uncertain total, at_c;
  std::optional<std::array<Uncertain, 3>> phases;
  std::array<std::string, 3> phase_names;
  std::optional<std::string> broken;  ///< of a delta: the winding that is open, "2-3"
};

/// The winding of a closed delta without which the three readings are explained: its terminals read the sum of the
/// other two readings, and nothing else does.
std::optional<std::string> broken_delta_winding(std::array<double, 3> const& reading_ohm) {
  constexpr double within = 0.03;  // of the largest reading; a winding six times the others is 17 % off
  std::array<char const*, 3> const names{"1-2", "2-3", "3-1"};
  for (std::size_t k = 0; k < 3; ++k) {
    double const others = reading_ohm[(k + 1) % 3] + reading_ohm[(k + 2) % 3];
    if (std::abs(reading_ohm[k] - others) <= within * reading_ohm[k]) return names[k];
  }
  return std::nullopt;
}

/// Total and phases of one side out of its pairs; nothing, with the reason noted, where the pairs do not give it.
std::optional<SideResistance> side_resistance(MeasuredValues& values, std::vector<PairResistance const*> const& pairs,
                                              bool hv, EvaluationContext const& context) {
  auto const& unit = context.unit;
  SideResistance side;
  side.hv = hv;
  side.at_c = pairs.front()->at_c;
  auto const find = [&](int a, int b) -> PairResistance const* {
    for (auto const* pair : pairs) {
      auto const [from, to] = terminal_numbers(pair->terminals);
      if ((from == a && to == b) || (from == b && to == a)) return pair;
    }
    return nullptr;
  };
  if (unit.phases == 1) {
    PairResistance const* const whole = hv || unit.lv_form == LowVoltageForm::plain     ? pairs.front()
                                        : unit.lv_form == LowVoltageForm::center_tapped ? find(1, 3)
                                                                                        : find(1, 4);
    if (whole != nullptr) {
      side.total = whole->ohm;
      return side;
    }
    bool const tapped = unit.lv_form == LowVoltageForm::center_tapped;
    auto const* const first = find(1, 2);
    auto const* const second = tapped ? find(2, 3) : find(3, 4);
    if (first == nullptr || second == nullptr) {
      values.invalid(fmt::format("the low-voltage winding needs its resistance as a whole or both of its parts"));
      return std::nullopt;
    }
    side.total = first->ohm + second->ohm;
    return side;
  }
  auto const group = parse_vector_group(unit.vector_group);
  WindingForm const form = hv ? group.hv : group.lv;
  auto const *r10 = find(1, 0), *r20 = find(2, 0), *r30 = find(3, 0);
  if (r10 != nullptr && r20 != nullptr && r30 != nullptr) {
    side.phases = {r10->ohm, r20->ohm, r30->ohm};
    side.phase_names = {"1", "2", "3"};
    side.total = r10->ohm + r20->ohm + r30->ohm;
    return side;
  }
  auto const *r12 = find(1, 2), *r23 = find(2, 3), *r31 = find(3, 1);
  if (r12 == nullptr || r23 == nullptr || r31 == nullptr) {
    values.invalid(fmt::format("the {} winding needs all three line pairs, or all three lines to the neutral",
                               hv ? "high-voltage" : "low-voltage"));
    return std::nullopt;
  }
  bool const delta = form == WindingForm::delta;
  std::array<Uncertain, 3> const readings{r12->ohm, r23->ohm, r31->ohm};
  if (delta) {
    side.broken = broken_delta_winding({r12->ohm.value(), r23->ohm.value(), r31->ohm.value()});
    if (side.broken) {
      side.total = 1.5 * (r12->ohm + r23->ohm + r31->ohm);
      return side;
    }
  }
  auto const solved = phase_resistances(readings, delta ? ThreePhaseConnection::delta : ThreePhaseConnection::wye);
  side.phases = solved.phase_ohm;
  side.phase_names =
      delta ? std::array<std::string, 3>{"1-2", "2-3", "3-1"} : std::array<std::string, 3>{"1", "2", "3"};
  side.total = solved.total_ohm;
  return side;
}

struct AllResistances {
  std::vector<PairResistance> pairs;
  std::vector<SideResistance> sides;
};

AllResistances all_resistances(MeasuredValues& values, ResistanceReadings const& readings,
                               EvaluationContext const& context) {
  AllResistances all;
  if (readings.points.empty()) values.invalid("no resistance was measured");
  for (auto const& point : readings.points) {
    all.pairs.push_back(pair_resistance(values, point, context));
    if (!values.usable()) return all;
  }
  std::map<std::pair<bool, std::optional<int>>, std::vector<PairResistance const*>> groups;
  for (auto const& pair : all.pairs) {
    bool const hv = !pair.terminals.empty() && pair.terminals.front() == 'H';
    groups[{!hv, hv ? pair.tap : std::nullopt}].push_back(&pair);  // high voltage first
  }
  for (auto const& [key, pairs] : groups) {
    auto side = side_resistance(values, pairs, !key.first, context);
    if (!side) return all;
    side->tap = key.second;
    side->on_rated_tap = !key.second || *key.second == context.unit.hv.rated_tap;
    all.sides.push_back(std::move(*side));
  }
  return all;
}

double zero_c(SideResistance const& side, EvaluationContext const& context) {
  auto const& unit = context.unit;
  return inferred_zero_c(side.hv ? unit.hv.metal : unit.lv.metal, unit.standard);
}

}  // namespace

Evaluation evaluate_winding_resistance(ResistanceReadings const& readings, EvaluationContext const& context) {
  Evaluation evaluation;
  evaluation.test = "winding_resistance";
  MeasuredValues values(context);
  refusing(evaluation, [&] {
    auto const all = all_resistances(values, readings, context);
    for (auto const& pair : all.pairs) {
      if (!(pair.ohm.value() > 0.0)) continue;
      auto result =
          make_result("winding_resistance", "resistance_ohm",
                      pair.tap ? fmt::format("tap {}, {}", *pair.tap, pair.terminals) : pair.terminals, "ohm");
      values.put(result, pair.ohm);
      result.intermediates = pair.steps;
      add_judged(evaluation, result, context);
    }
    if (!values.usable()) return;
    double const reference = context.unit.reference.load.in(celsius);
    for (auto const& side : all.sides) {
      std::string const name = side.hv ? "hv" : "lv";
      std::string const at = side.on_rated_tap ? name : fmt::format("{}, tap {}", name, *side.tap);
      Lines const lines = side.on_rated_tap ? Lines::all : Lines::placed_only;
      double const factor = resistance_at(1.0, side.at_c.value(), reference, zero_c(side, context));
      if (side.phases) {
        for (std::size_t k = 0; k < 3; ++k) {
          auto phase =
              make_result("winding_resistance", "phase_resistance_ohm", at + ", phase " + side.phase_names[k], "ohm");
          values.put(phase, (*side.phases)[k]);
          phase.intermediates.push_back(
              {fmt::format("at {:.4g} degC", reference), (*side.phases)[k].value() * factor, "ohm"});
          add_judged(evaluation, phase, context, lines);
        }
        auto unbalance = make_result("winding_resistance", "unbalance_percent", at, "%");
        values.put(unbalance, unbalance_percent(*side.phases));
        unbalance.remark = "(largest - smallest) / mean of the phases";
        add_judged(evaluation, unbalance, context, lines);
      }
      if (side.broken) {
        // The broken winding's resistance is beyond all bounds: three times the mean, so 300 % between the phases.
        auto unbalance = make_result("winding_resistance", "unbalance_percent", at, "%");
        unbalance.value = 300.0;
        unbalance.remark = fmt::format(
            "winding {} is open: its terminals read the other two windings in series, as if it were not there",
            *side.broken);
        add_judged(evaluation, unbalance, context, lines);
        continue;
      }
      auto total = make_result("winding_resistance", "total_resistance_ohm", at, "ohm");
      values.put(total, side.total);
      total.intermediates = {{"winding temperature", side.at_c.value(), "degC"},
                             {fmt::format("at {:.4g} degC", reference), side.total.value() * factor, "ohm"}};
      add_judged(evaluation, total, context, lines);
    }
    for (auto const& point : readings.points) {
      auto const& winding = point.terminals.front() == 'H' ? context.unit.hv : context.unit.lv;
      double const largest = 0.15 * context.unit.rated_line_current(winding).in(amperes);
      if (point.set_current.in(amperes) > largest) {
        evaluation.warnings.push_back(
            fmt::format("{}: {:.4g} A is more than 15 % of the rated current ({:.4g} A): the "
                        "winding warms while it is measured",
                        point.terminals, point.set_current.in(amperes), largest));
      }
    }
  });
  values.finish(evaluation);
  return evaluation;
}

MeasuredResistances measured_resistances(ResistanceReadings const& readings, EvaluationContext const& context) {
  MeasuredResistances out;
  Evaluation scratch;
  MeasuredValues values(context);
  refusing(scratch, [&] {
    auto const all = all_resistances(values, readings, context);
    if (!values.usable()) return;
    out.instrument = readings.points.front().volts.front().origin.instrument;
    for (auto const& side : all.sides) {
      if (!side.on_rated_tap || side.broken) continue;
      auto& to = side.hv ? out.hv : out.lv;
      to.total = ohms(side.total.value());
      to.relative_u = values.uncertainty_known() ? side.total.standard() / side.total.value() : 0.0;
      to.at = celsius(side.at_c.value());
      to.known = true;
    }
  });
  return out;
}

}  // namespace benchward
