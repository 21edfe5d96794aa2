// SPDX-License-Identifier: MIT
#include "limits/evaluate/ratio_points.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace benchward {

std::string MeasuredRatio::at() const {
  std::string const pair = plan.hv_pair + ":" + plan.lv_pair;
  return plan.tap ? fmt::format("tap {}, {}", *plan.tap, pair) : pair;
}

double ratio_tolerance_percent(EvaluationContext const& context) {
  for (auto const* line : context.sheet.lines_of("ratio", "ratio_error_percent")) {
    if (!line->limit.warns_only && line->limit.upper) return *line->limit.upper;
  }
  return 0.5;
}

namespace {

/// More than this is no loading of a sound core by a ratio meter, and is not corrected away.
constexpr double most_drop_corrected_percent = 0.1;

/// Share of the most that lies in phase with the applied volts. Winding impedance and exciting current both lag by 45
/// to 85 degrees, so that the cosine of their difference is 0.77 to 1; the split of the impedance between the windings
/// is half and half within a fifth (common practice, no source).
constexpr double share_in_phase = 0.85, share_u = 0.15;

/// The meter's exciting current drops volts in the fed winding before the flux sees them, so that the reading lies
/// above the turns ratio. What the winding's half of the impedance can drop at most, in percent of the applied volts
/// (the equivalent circuit of any textbook).
std::optional<double> most_drop_percent(RatioPoint const& point, Unit const& unit) {
  if (!point.exciting_current.good() || !unit.guarantees.impedance_percent) return std::nullopt;
  double const line_volts = unit.hv.rated.in(volts);
  // Two of three limbs' windings carry the current of a line-to-line pair of a wye; of a delta two thirds of it flows
  // in the one. Both come to twice the base impedance.
  bool const to_neutral = point.hv_pair.find("H0") != std::string::npos;
  double const base_ohm =
      (unit.phases == 3 && !to_neutral ? 2.0 : 1.0) * line_volts * line_volts / unit.rated_power.in(volt_amperes);
  double const half_ohm = 0.5 * *unit.guarantees.impedance_percent / 100.0 * base_ohm;
  double const applied = point.applied.value.in(volts);
  if (!(applied > 0.0)) return std::nullopt;
  return 100.0 * std::abs(point.exciting_current.value.in(amperes)) * half_ohm / applied;
}

}  // namespace

std::vector<SilentPair> pairs_without_volts(RatioReadings const& readings, Unit const& unit) {
  auto const points_of = [&](RatioPlanPoint const& plan) {
    std::vector<RatioPoint const*> points;
    for (auto const& point : readings.points) {
      bool const same_tap = point.tap == plan.tap || (!point.tap && plan.tap == unit.hv.rated_tap);
      if (same_tap && point.hv_pair == plan.hv_pair && point.lv_pair == plan.lv_pair) points.push_back(&point);
    }
    return points;
  };
  auto const plans = ratio_plan(unit);
  std::vector<SilentPair> found;
  for (auto const& plan : plans) {
    auto const points = points_of(plan);
    bool const silent = !points.empty() && std::all_of(points.begin(), points.end(), [](RatioPoint const* point) {
      return point->applied.good() && point->ratio.quality == Quality::bad;
    });
    if (!silent) continue;
    std::set<std::string> unproven;
    for (auto const* pair : {&plan.hv_pair, &plan.lv_pair}) {
      auto const dash = pair->find('-');
      unproven.insert(pair->substr(0, dash));
      if (dash != std::string::npos) unproven.insert(pair->substr(dash + 1));
    }
    bool another_reads = false;
    for (auto const& other : plans) {
      if (other.tap != plan.tap) continue;
      auto const others = points_of(other);
      if (!std::any_of(others.begin(), others.end(), [](RatioPoint const* point) { return point->ratio.good(); }))
        continue;
      another_reads = true;
      for (auto const* pair : {&other.hv_pair, &other.lv_pair}) {
        auto const dash = pair->find('-');
        unproven.erase(pair->substr(0, dash));
        if (dash != std::string::npos) unproven.erase(pair->substr(dash + 1));
      }
    }
    if (another_reads) found.push_back({plan, unproven.empty()});
  }
  return found;
}

std::vector<MeasuredRatio> measured_ratios(MeasuredValues& values, RatioReadings const& readings,
                                           EvaluationContext const& context, std::vector<SilentPair> const& silent) {
  double const tolerance = ratio_tolerance_percent(context);
  std::vector<MeasuredRatio> measured;
  std::vector<bool> used(readings.points.size(), false);
  auto const is_silent = [&](RatioPlanPoint const& plan) {
    return std::any_of(silent.begin(), silent.end(), [&](SilentPair const& one) {
      return one.plan.tap == plan.tap && one.plan.hv_pair == plan.hv_pair && one.plan.lv_pair == plan.lv_pair;
    });
  };
  for (auto const& plan : ratio_plan(context.unit)) {
    bool const without_volts = is_silent(plan);
    std::vector<double> ratios;
    ReadingOrigin const* origin = nullptr;
    double east = 0.0;
    double north = 0.0;
    MeasuredRatio one;
    one.plan = plan;
    for (std::size_t i = 0; i < readings.points.size(); ++i) {
      auto const& point = readings.points[i];
      // A unit whose readings name no tap is on its rated one.
      bool const same_tap = point.tap == plan.tap || (!point.tap && plan.tap == context.unit.hv.rated_tap);
      if (!same_tap || point.hv_pair != plan.hv_pair || point.lv_pair != plan.lv_pair) continue;
      used[i] = true;
      if (without_volts) continue;  // a finding of its own
      if (point.applied.good() && point.ratio.quality == Quality::bad && point.exciting_current.good()) {
        values.invalid(fmt::format(
            "{}:{}{}: the meter applies {:.4g} V, {:.3g} mA flow and nothing comes back: a lead is off or a "
            "winding is open. Clip the leads again; if it stays, measure the resistance of both pairs",
            point.hv_pair, point.lv_pair, point.tap ? fmt::format(" on tap {}", *point.tap) : "",
            point.applied.value.in(volts), 1e3 * point.exciting_current.value.in(amperes)));
        return {};
      }
      if (!values.good(point.ratio, "turns ratio") || !values.good(point.applied, "applied volts") ||
          !values.good(point.phase, "phase angle")) {
        return {};
      }
      ratios.push_back(point.ratio.value.value());
      double const volts_applied = point.applied.value.in(volts);
      one.least_applied_v = ratios.size() == 1 ? volts_applied : std::min(one.least_applied_v, volts_applied);
      one.most_applied_v = std::max(one.most_applied_v, volts_applied);
      east += std::cos(point.phase.value.in(radians));
      north += std::sin(point.phase.value.in(radians));
      origin = &point.ratio.origin;
      if (auto const drop = most_drop_percent(point, context.unit)) {
        one.most_drop_percent = std::max(one.most_drop_percent.value_or(0.0), *drop);
      }
    }
    if (ratios.empty()) continue;
    one.expected = expected_ratio_by_rule(plan, context.unit, tolerance);
    one.phase_deg = radians(std::atan2(north, east)).in(degrees);
    one.ratio = values.mean_of(ratios, *origin, "ratio", Noise::stated);
    one.measured = one.ratio.value();
    if (one.most_drop_percent) {
      double const most = std::min(*one.most_drop_percent, most_drop_corrected_percent) / 100.0;
      one.ratio = one.ratio * (1.0 - values.inputs().input("ratio/drop in the fed winding at " + one.at(),
                                                           share_in_phase * most, share_u * most));
    }
    if (!(one.ratio.value() > 0.0)) {
      values.invalid(
          fmt::format("the ratio at {} reads {:.6g}: no reading of a transformer", one.at(), one.ratio.value()));
      return {};
    }
    if (one.expected > 1.5 && one.ratio.value() < 1.0) {
      values.invalid(
          fmt::format("the ratio at {} reads {:.4g}, expected {:.6g}: the H and X leads are swapped. Do not "
                      "raise the volts; put the H leads on the high-voltage side",
                      one.at(), one.ratio.value(), one.expected));
      return {};
    }
    measured.push_back(std::move(one));
  }
  for (std::size_t i = 0; i < used.size(); ++i) {
    if (used[i]) continue;
    auto const& point = readings.points[i];
    values.invalid(
        fmt::format("{}:{}{} was measured, but is none of this unit's pairs ({}): wrong plan or wrong unit "
                    "document",
                    point.hv_pair, point.lv_pair, point.tap ? fmt::format(" on tap {}", *point.tap) : "",
                    context.unit.vector_group));
  }
  if (measured.empty()) values.invalid("no ratio was measured");
  return measured;
}

}  // namespace benchward
