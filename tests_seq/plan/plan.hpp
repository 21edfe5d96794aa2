// SPDX-License-Identifier: MIT
#pragma once

/// What is done to one unit on one bench in one stage, in which order, and why: worked out before anybody touches a
/// lead, from unit, limit sheet and bench alone. Data without I/O: the same plan is shown, run, recorded and drawn.

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/roles/connection.hpp"
#include "../../drivers/roles/roles.hpp"
#include "../../limits/rules/limit_sheet.hpp"
#include "../../limits/unit/ratio_plan.hpp"
#include "../../limits/unit/unit.hpp"
#include "../guard/desk.hpp"

namespace benchward {

/// What each kind of step measures with. A procedure takes its own and nothing else of the plan.
struct IdentityWork {};
struct TemperaturesWork {};

struct InsulationWork {
  std::string between;  ///< "H to X+tank"
  Voltage test_voltage;
  Duration hold = seconds(60);
};

/// Ratio on all taps, or phase relation on the rated one: all points of one tap together, a tap after the other.
struct RatioWork {
  std::vector<RatioPlanPoint> points;
  Voltage start;  ///< at most 1 V: size checked here before raising
  Voltage applied;
  std::optional<int> dual_voltage_position;  ///< of the switch, where it is not the ordered one
};

struct PolarityWork {
  std::string join;  ///< "adjacent" or "like_marked"
  std::string tied;  ///< "H1-X1"
  std::string feed_from, feed_to, read_from, read_to;
  Voltage start, applied;
  double expected_ratio = 1.0;  ///< of the whole windings
};

struct ResistancePair {
  std::string from, to;
  bool high_voltage_side = true;
  Current current;      ///< at most 15 % of the winding's rated current (10 CFR 431 subpart K appendix A 3.3)
  Resistance expected;  ///< for the waiting time and the compliance check; zero: not known
};
struct ResistanceWork {
  std::vector<ResistancePair> pairs;
  std::optional<int> tap;
  Duration longest_wait;   ///< for settling, a pair
  Duration least_watch;    ///< of the tail before it counts as settled; zero: the slope alone tells
  Duration longest_decay;  ///< of what the core still gives once the current is off
};

/// How the analyser is wired in a step fed with alternating current.
struct AcWiring {
  PowerAnalyzer::Wiring wiring = PowerAnalyzer::Wiring::single_phase;
  bool line_to_line_volts = false;
  int phases = 1;
  std::string fed;  ///< "X1-X3", "X1,X2,X3"
};

struct NoLoadWork {
  AcWiring wiring;
  Voltage rated;  ///< of the fed winding, line volts
  std::vector<double> percents;
  Frequency frequency;
  Current expected;  ///< exciting current at 100 %: chooses the range
  bool demagnetises = true;
};

struct LoadLossWork {
  AcWiring wiring;
  std::string shorted;
  std::optional<int> tap;
  Current rated, set;  ///< line current; `set` < `rated` where the bench cannot give all of it
  Voltage expected;    ///< impedance volts at `set`
  Voltage ceiling;     ///< of the step: a higher setting is never asked for
  Frequency frequency;
  Duration on_time;  ///< at full current: predicted heating of at most 0.5 K
};

struct AppliedWork {
  std::string winding;  ///< "hv" or "lv"
  Voltage level;
  Frequency frequency;
  Duration hold = seconds(60);
  Duration ramp = seconds(10);
  std::optional<Current> expected;  ///< capacitive, design family's; absent: the operator confirms the measured one
  std::optional<Current> stray;     ///< of leads and cage, at this level
  Current trip;
};

struct InducedWork {
  AcWiring wiring;
  std::string case_name = "twice_rated";
  Voltage level;  ///< on the fed winding, line volts
  Frequency frequency;
  Duration hold;
  Duration ramp = seconds(10);
  Current expected, trip;
};

struct DemagnetiseWork {
  AcWiring wiring;
  Voltage rated;
  Frequency frequency;
  Duration ramp = seconds(5);
};

struct HandCheckWork {
  std::string item;
};
struct ElsewhereWork {
  std::string item;
};

struct AsShippedWork {
  std::optional<int> tap;
  std::vector<AccessoryState> shipped;  ///< as the unit leaves; what is open there is closed for the reading
  RatioWork ratio;                      ///< one point
};

using StepWork =
    std::variant<IdentityWork, TemperaturesWork, InsulationWork, RatioWork, PolarityWork, ResistanceWork, NoLoadWork,
                 LoadLossWork, AppliedWork, InducedWork, DemagnetiseWork, HandCheckWork, ElsewhereWork, AsShippedWork>;

/// Where the step may be done (practice): behind a closed gate or under covers, or in the locked area only.
enum class AreaKind { none, gate_or_covers, locked_area };

struct PlanStep {
  std::string test;  ///< "identity", "temperatures", "insulation_resistance", "ratio", "polarity",
                     ///< "phase_relation", "winding_resistance", "demagnetise", "no_load", "load_loss",
                     ///< "applied", "induced", "hand_check", "elsewhere", "as_shipped"
  Connection connection;
  std::optional<StepEnergy> energy;  ///< absent: nothing is energised
  AreaKind area = AreaKind::none;
  StepWork work;
  Duration predicted;
  std::string reason;       ///< why it is done here and so
  bool keeps_area = false;  ///< the next step is on the same leads and may follow without opening the area
};

struct LeftOut {
  std::string test;
  std::string reason;
};

struct Plan {
  std::string serial, stage, bench;
  std::vector<PlanStep> steps;
  std::vector<LeftOut> left_out;
  std::vector<std::string> why_not;  ///< why this bench cannot test the unit; empty: it can
  bool testable() const { return why_not.empty(); }
  Duration predicted() const;
  int connection_changes() const;  ///< steps before which a person must change leads
  /// The same in the order in which the method standard has its clauses.
  int naive_connection_changes() const;
  /// Rounds through warning, earth and lock that steps on the same leads spare.
  Duration saved_by_unbroken_area() const;
};

/// The stages of a unit's life in order: those of the order, or the one "routine".
std::vector<std::string> stages_of(Unit const& unit);

/// Throws DocumentError (`plan.stage`) for a stage that the order does not have. A bench that cannot is no error: the
/// plan says why not.
Plan make_plan(Unit const& unit, std::string const& stage, LimitSheet const& sheet, Bench const& bench);

/// Compact JSON of a plan: `{"testable": [...], "steps": [...], "left_out": [...]}` needs several benches, so this is
/// the part of one bench: `{"bench","testable","why_not","steps":[{"test","connection","duration_s","reason",...}],
/// "left_out":[...]}`.
std::string plan_json(Plan const& plan);

}  // namespace benchward
