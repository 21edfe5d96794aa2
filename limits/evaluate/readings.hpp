// SPDX-License-Identifier: MIT
#pragma once

/// The raw readings of each routine test: what `tests_seq/procedures/` measures and `limits/evaluate/` evaluates.
/// Names of terminals as on the unit (H1, X0); a pair is "H1-H3", tied terminals "H1-H2+H3".

#include <optional>
#include <string>
#include <vector>

#include "../reading.hpp"

namespace benchward {

/// Temperatures before or during a test, and how they stand for the winding's (10 CFR 431 subpart K appendix A 3.2.1).
struct TemperatureReadings {
  std::string mode;  ///< "own_sensors", "witness_unit", "family_resistance", "wall_sensor"
  Reading<Temperature> top, bottom, ambient;
  std::optional<Duration> rest;  ///< without excitation and current under liquid
  std::optional<TemperatureRise> top_change_in_one_hour;
};

struct RatioPoint {
  std::optional<int> tap;        ///< tap position; absent = no taps
  std::string hv_pair, lv_pair;  ///< "H1-H3", "X1-X0"
  std::optional<std::string> shorted, fed_return_tie;
  Reading<Voltage> applied;  ///< on the high-voltage pair
  Reading<Number> ratio;     ///< applied over read volts, of the pair
  Reading<Angle> phase;      ///< of the read volts against the applied volts
  Reading<Current> exciting_current;
};
struct RatioReadings {
  std::vector<RatioPoint> points;
  std::optional<int> dual_voltage_position;  ///< of the switch, where it is not the ordered one
};

/// One join of the polarity test. `join`: "adjacent" or "like_marked".
struct PolarityReadings {
  std::string join;
  std::string tied, read_across;
  Reading<Voltage> applied, across;
};

/// One terminal pair, four-wire.
struct ResistancePoint {
  std::string terminals;  ///< "H1-H3"
  std::optional<int> tap;
  Current set_current;
  Reading<Voltage> offset_before, offset_after;  ///< voltage channel at zero current
  std::vector<Reading<Voltage>> volts;           ///< the settled readings, at least four, taken together with ...
  std::vector<Reading<Current>> current;         ///< ... these
  Duration settling;                             ///< from current on to the first recorded reading
  double predicted_change_relative = 0.0;        ///< slope x remaining time over R, at the first recorded reading
  TemperatureReadings temperature;
};
struct ResistanceReadings {
  std::vector<ResistancePoint> points;
};

/// One snapshot of the analyser: what must have been read together.
struct PowerSnapshot {
  std::string star_point;                                  ///< "neutral", "floating", "single_phase"
  std::vector<Reading<Voltage>> volts_rms, volts_average;  ///< per element; average scaled to rms of a sine
  std::vector<Reading<Current>> amperes;
  std::vector<Reading<ActivePower>> active;
  Reading<Frequency> frequency;
};

/// No-load loss and exciting current at one percentage of rated volts.
struct NoLoadPoint {
  double percent = 100.0;
  std::string fed;                       ///< "X1-X3", "X1,X2,X3"
  std::vector<PowerSnapshot> snapshots;  ///< at the set volts, or the two straddling points in turn
  bool line_to_line_volts = false;       ///< what volts_* are of: line to line, or line to neutral
};
struct NoLoadReadings {
  std::vector<NoLoadPoint> points;
  TemperatureReadings temperature;
  double core_temperature_c_if_known = 0.0;
  bool core_temperature_known = false;
};

struct LoadLossReadings {
  std::string fed, shorted;
  std::optional<int> tap;
  std::vector<PowerSnapshot> snapshots;
  bool line_to_line_volts = false;
  TemperatureReadings temperature_before, temperature_after;
  Duration on_time;
  /// Of the bar with its clamps between neighbouring terminals; its loss and reactance are deducted where the bench
  /// states them.
  std::optional<Resistance> shorting_bar;
  std::optional<Inductance> shorting_bar_inductance;
};

/// Applied-voltage test of one winding.
struct AppliedReadings {
  std::string winding;                    ///< "hv" or "lv"
  std::vector<Reading<Voltage>> level;    ///< crest/sqrt(2) on the tested winding, through the hold
  std::vector<Reading<Current>> current;  ///< capacitive current through the hold
  Reading<Frequency> frequency;
  Duration held;
  bool broke_down = false;               ///< collapse, over-current, or cannot reach the level
  std::string what_happened;             ///< in words, when it did
  std::optional<Current> stray_current;  ///< of leads and cage, measured or declared, deducted
};

struct InducedReadings {
  std::string fed;
  std::string case_name = "twice_rated";    ///< or "line_to_ground"
  std::optional<PowerSnapshot> at_quarter;  ///< on the way up, at a quarter of the level
  std::vector<PowerSnapshot> snapshots;     ///< through the hold
  bool line_to_line_volts = false;
  Reading<Frequency> frequency;
  Duration held;
  bool broke_down = false;
  std::string what_happened;
  std::optional<Current> expected_current;  ///< exciting current at this level and frequency: of the design family, or
                                            ///< of a unit of it that was tested before
};

struct InsulationReadings {
  std::string between;  ///< "H to X+tank"
  Reading<Voltage> test_voltage;
  std::optional<Reading<Resistance>> at_15_s, at_60_s, at_10_min;
  TemperatureReadings temperature;
};

/// An over-current trip, voltage collapse or failure to reach voltage in a step that names it as a failure: what was
/// seen at that moment (house rule: with the bench proven clean this is a statement about the unit).
struct BreakdownReading {
  std::string test;
  std::string cause;  ///< the guard's first cause, in words
  Voltage at_volts;
  Current at_amperes;
  Duration after;  ///< since the ramp began
  bool bench_proven_clean = false;
};

}  // namespace benchward
