// SPDX-License-Identifier: MIT
#pragma once

/// Second half of every routine test: a pure function from raw readings to results. The same functions serve the test
/// run, `calc`, the recomputation of an old record and a what-if with other limits.

#include <functional>
#include <map>
#include <string>

#include "../calibration.hpp"
#include "../result.hpp"
#include "../rules/limit_sheet.hpp"
#include "../unit/unit.hpp"
#include "readings.hpp"

namespace benchward {

/// What an evaluation needs besides the readings: the unit, its limits, the instruments' calibration by name, the day.
struct EvaluationContext {
  Unit const& unit;
  LimitSheet const& sheet;
  std::map<std::string, Calibration> const& calibration;
  std::string today;  ///< ISO date of the test: calibration due, drift since
};

/// Resistances of both sides, carried from the resistance test to the load-loss evaluation.
struct MeasuredResistances {
  struct Side {
    Resistance total;  ///< by 10 CFR 431 subpart K appendix A 3.4.1: single-phase terminal to terminal;
                       ///< wye (R12+R23+R31)/2; delta 1.5*(R12+R23+R31)
    double relative_u = 0.0;
    Temperature at;
    bool known = false;
  };
  Side hv, lv;
  std::string instrument;
};

Evaluation evaluate_ratio(RatioReadings const&, EvaluationContext const&);
Evaluation evaluate_polarity(PolarityReadings const&, EvaluationContext const&);
Evaluation evaluate_phase_relation(RatioReadings const&, EvaluationContext const&);
Evaluation evaluate_winding_resistance(ResistanceReadings const&, EvaluationContext const&);
/// The totals that the load-loss evaluation uses, out of the same readings.
MeasuredResistances measured_resistances(ResistanceReadings const&, EvaluationContext const&);
Evaluation evaluate_no_load(NoLoadReadings const&, EvaluationContext const&);
/// Load loss, impedance; regulation, total loss and efficiency where the no-load loss is given (corrected, watts).
struct NoLoadForTotals {
  std::optional<double> corrected_w;
  double u_w = 0.0;
};
Evaluation evaluate_load_loss(LoadLossReadings const&, MeasuredResistances const&, NoLoadForTotals const&,
                              EvaluationContext const&);
Evaluation evaluate_applied(AppliedReadings const&, EvaluationContext const&);
Evaluation evaluate_induced(InducedReadings const&, EvaluationContext const&);
Evaluation evaluate_insulation_resistance(InsulationReadings const&, EvaluationContext const&);
Evaluation evaluate_breakdown(BreakdownReading const&, EvaluationContext const&);
Evaluation evaluate_temperatures(TemperatureReadings const&, EvaluationContext const&);

/// Outcome and disposition of an attempt from its evaluations, by the sheet's table; `incomplete` = not every planned
/// step was done.
struct Judgement {
  Outcome outcome = Outcome::not_run;
  Disposition disposition = Disposition::repeat;
  std::string reason;
};
Judgement judge_attempt(std::vector<Evaluation> const&, LimitSheet const&, bool incomplete);

}  // namespace benchward
