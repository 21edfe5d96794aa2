// SPDX-License-Identifier: MIT
#pragma once

/// Everything that the panel shows, as one value, and its JSON (web/src/snapshot.ts has the same shape; checked in the
/// tests). A view: nothing is decided from it.

#include <optional>
#include <string>
#include <vector>

#include "drivers/roles/operator.hpp"
#include "limits/result.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/guard/desk.hpp"
#include "tests_seq/plan/plan.hpp"

namespace benchward::panel {

struct ShownStep {
  std::string test, name, reason;
  std::string state = "ahead";  ///< "done", "now", "ahead", "failed", "invalid", "stopped", "stands"
  double predicted_s = 0.0;
  bool new_leads = false;
};

struct ShownReading {
  std::string name, unit;
  double value = 0.0;
  std::optional<double> lower, upper;  ///< of the limit sheet, in the reading's unit
  std::string limit_of;                ///< the quantity that the sheet limits, in words; empty: no limit beside it
};

struct ShownEnd {
  Outcome outcome = Outcome::not_run;
  Disposition disposition = Disposition::repeat;
  std::string reason, record_id;
  std::vector<std::string> finished, repeat;
  bool record_kept = true;
};

/// One way to go about the unit, to be chosen before it is begun.
struct ShownWay {
  std::string key, kind, stage, words, waits;
  int steps = 0, stands = 0;
};

struct ShownRun {
  Unit unit;
  std::string stage;
  std::string phase = "identified";  ///< "identified", "connect", "making_ready", "running", "ended"
  int step = 0;
  std::vector<ShownStep> steps;
  std::optional<Connection> connection;
  std::optional<ShownReading> reading;
  std::optional<double> hold_left_s;
  std::vector<Evaluation> evaluations;
  std::optional<ShownEnd> end;
  std::string act;             ///< what a person does now, in words
  std::string needs_a_reason;  ///< why this unit is not tested again without one; empty: it may be
  std::vector<ShownWay> ways;
  std::string way;                 ///< key of the chosen one
  std::string why_not_for_record;  ///< empty: the bench was proven by its check object
};

struct ShownUnit {
  std::string serial, rating, order;
};

struct ShownShiftLine {
  std::string serial, outcome, disposition, reason, record_id;
  double minutes = 0.0;
  bool simulated = false;
};

struct PanelState {
  std::string now, bench;
  bool simulated = false;
  double time_scale = 1.0;
  GuardStatus guard;
  std::optional<std::string> holder;  ///< name of who has the controls
  int holder_panel = 0;               ///< and at which panel; 0: nobody
  std::vector<ShownUnit> units;
  std::optional<ShownRun> run;
  std::optional<Question> question;
  int question_number = 0;
  std::string closed;  ///< why no unit is taken at all any more; empty: units are taken
  std::vector<ShownShiftLine> shift;
};

/// "500 kVA, 3-phase, 12470 / 480 V, Dyn1, 60 Hz".
std::string rating_of(Unit const& unit);
/// The unit's terminals for the drawing, in their order on the tank.
std::vector<std::string> terminals_of(Unit const& unit);
/// A step's test as the operator says it: "No-load loss", "Winding resistance".
std::string test_in_words(std::string const& test);

std::string snapshot_json(PanelState const& state);

}  // namespace benchward::panel
