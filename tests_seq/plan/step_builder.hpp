// SPDX-License-Identifier: MIT
#pragma once

/// What the makers of steps share: unit, terminals, limits, bench, and the plan that grows. Not installed: inner part
/// of the plan.

#include <optional>
#include <string>
#include <vector>

#include "plan.hpp"
#include "terminals.hpp"

namespace benchward::planning {

/// Which way the low side's straps to the tank stand in a step.
enum class Straps { on, off };

class StepBuilder {
 public:
  StepBuilder(Unit const& of_unit, LimitSheet const& by_sheet, Bench const& on_bench, Plan& plan)
      : unit(of_unit), sheet(by_sheet), bench(on_bench), terminals(of_unit), plan_(plan) {}

  Unit const& unit;
  LimitSheet const& sheet;
  Bench const& bench;
  UnitTerminals const terminals;

  void add(PlanStep step);
  void leave_out(std::string test, std::string reason);
  void refuse(std::string why);
  /// Refuses, and answers false, where the bench has no instrument in the role.
  bool needs(char const* role, char const* test);
  /// Refuses where `value` is above what the bench has; words: "no_load: needs 1320 V of the source, the bench has 600
  /// V".
  void within_envelope(char const* test, char const* what, char const* unit_word, double value, double largest);

  /// Accessories of the unit for a step; arresters are off from the first test to the last.
  std::vector<AccessoryState> accessories(Straps straps) const;
  /// Where the low side is earthed when it is fed: by its own strap where it has one, else by a lead.
  std::vector<std::string> low_side_earth() const;
  /// High-side terminals that stand on earth in a test fed from the low side.
  std::vector<std::string> high_side_earth() const;
  bool high_star_earthed() const;

  double hv_volts() const { return unit.hv.rated.in(volts); }
  double lv_volts() const { return unit.lv.rated.in(volts); }
  double rated_hz() const { return unit.rated_frequency.in(hertz); }
  Current hv_current() const { return unit.rated_line_current(unit.hv); }
  Current lv_current() const { return unit.rated_line_current(unit.lv); }
  std::optional<int> rated_tap() const;
  /// Exciting current of the fed low side at rated volts: the order's, or the planning value of 2 % (its use: ranges
  /// and relays, never a verdict).
  Current exciting_current() const;
  AcWiring low_side_wiring() const;
  AcWiring high_side_wiring() const;
  std::vector<std::vector<std::string>> low_side_feed() const;
  /// Jumpers that every test of the whole low winding needs (halves in series).
  std::vector<std::vector<std::string>> low_side_series() const;

 private:
  Plan& plan_;
};

LiveTerminal live_at(std::string terminal, double volts_to_earth, bool clipped);

/// The connection that no-load and induced test share: low side fed, high side open and live.
Connection low_side_fed(StepBuilder const& at, double fed_volts, char const* name);

/// Connection code and worst volts out of the list of live terminals.
void finish_connection(Connection& connection, std::vector<LiveTerminal> live);
void set_connection_code(StepEnergy& energy, Connection const& connection);

/// Seconds that a round through the secured area costs: warning, earth, feedback, dwell (practice: 13 s).
inline constexpr double round_s = 13.0;
/// Seconds for a person to change leads, and to set a tap (common practice, no source).
inline constexpr double leads_s = 60.0, tap_s = 15.0;

/// Refuses what the bench is not built for: phases, kVA, hertz.
void check_envelope(StepBuilder&);
/// Refuses where the instruments are too uncertain for what the unit's tests must tell.
void check_uncertainties(StepBuilder&);
void add_identity(StepBuilder&);
void add_temperatures(StepBuilder&);
void add_ratio(StepBuilder&);
/// Of a dual-voltage unit: rated tap, in the position that is not ordered; before add_ratio, which leaves the ordered
/// one.
void add_ratio_in_other_position(StepBuilder&);
void add_polarity(StepBuilder&);
void add_phase_relation(StepBuilder&);
void add_insulation_resistance(StepBuilder&);
void add_winding_resistance(StepBuilder&);
void add_load_loss(StepBuilder&);
void add_applied(StepBuilder&);
void add_no_load(StepBuilder&, char const* reason);
void add_induced(StepBuilder&);
void add_hand_checks(StepBuilder&);
void add_elsewhere(StepBuilder&, bool impulse);
void add_as_shipped(StepBuilder&);

}  // namespace benchward::planning
