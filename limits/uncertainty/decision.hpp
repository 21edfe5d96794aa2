// SPDX-License-Identifier: MIT
#pragma once

/// From a value with its uncertainty and a limit to one of the four verdict words.
///
/// simple_acceptance: pass inside the limits, fail outside; the risk at the limit itself is up to 50 %.
/// guard_band (ILAC-G8:09/2019, non-binary, w = factor * U): pass inside by at least w; conditional pass inside, but
///   nearer than w; conditional fail outside by less than w; fail further out.
/// specific_risk (JCGM 106:2012, a normal distribution about the value, prior stated in the rule): with p = probability
///   of conforming and r = the tolerated risk: pass p >= 1 - r; conditional pass p >= 1/2; conditional fail p > r; fail
///   below.
/// A value or uncertainty that is not a number never passes.

#include <optional>

#include "../result.hpp"
#include "../rules/limit_sheet.hpp"

namespace benchward {

/// Probability that the quantity lies within the limits, given the value and its standard uncertainty: normal, flat
/// prior. With no uncertainty: 1 inside (or on) the limits, 0 outside.
double probability_conforming(double value, double standard_uncertainty, std::optional<double> lower,
                              std::optional<double> upper);

/// Coverage of the expanded uncertainty U of every decision: k = 2 with infinite degrees of freedom (EA-4/02, ILAC-G8).
inline constexpr double decision_coverage = 0.95449973610364158;

/// U = k u, k by Student's t at `decision_coverage`.
double expanded_for_decision(Uncertainty const& uncertainty);

/// The rule applied.
Verdict decide(double value, std::optional<Uncertainty> const& uncertainty, std::optional<double> lower,
               std::optional<double> upper, DecisionRule const& rule);

/// The guard-band rule with the guard w = factor * U handed in; w = 0 is simple acceptance.
Verdict decide_with_guard(double value, double guard, std::optional<double> lower, std::optional<double> upper);

/// Global risks for a normal process and a normal measurement (JCGM 106 clause 9.5): shares of all items that are
/// accepted though outside tolerance, and rejected though inside.
struct GlobalRisk {
  double consumer = 0.0;
  double producer = 0.0;
};
GlobalRisk global_risk(double process_mean, double process_deviation, double standard_uncertainty,
                       std::optional<double> lower_tolerance, std::optional<double> upper_tolerance,
                       std::optional<double> lower_acceptance, std::optional<double> upper_acceptance);

/// Worse of two verdicts: fail, conditional fail, not judged, conditional pass, pass.
Verdict worse(Verdict a, Verdict b);

}  // namespace benchward
