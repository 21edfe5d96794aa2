// SPDX-License-Identifier: MIT
#pragma once

/// The physical model of one transformer under test: coils on the limbs of a core, insulation, liquid. It knows nothing
/// of tests, instruments or limits; a bench lays a Network on its terminals and asks what the circuit does.
///
/// How a bench uses it, each 10 ms of simulated time:
///   AC:   set the sources' volts in the Network; solve_ac(network); read node waves, currents, powers; advance(dt).
///   DC:   step_dc(network, dt).
///   insulation meter: step_insulation(connection, dt).
///   nothing connected: rest(dt).
/// A sudden cut of AC: interrupt(angle) once, then rest(dt). Exactly one of advance, step_dc, step_insulation, rest
/// moves the unit's time in a step.
///
/// Not thread-safe: one thread at a time. Same seed, same build: same numbers.

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "../../limits/unit/unit.hpp"
#include "network.hpp"
#include "wave.hpp"

namespace benchward::sim {

/// The unit's data cannot belong to one transformer. The words name the data that conflict and by how much.
class UnsolvableUnit : public std::invalid_argument {
 public:
  using std::invalid_argument::invalid_argument;
};

/// How the unit came out of the factory.
struct Manufacture {
  std::uint64_t seed = 1;
  bool nominal = false;  ///< true: exactly the guaranteed data (no spread, no margin), for checks against data sheets
};

/// Answer to solve_ac. Node indices as in the Network (0 = earth).
struct AcSolution {
  std::vector<Wave> node;                     ///< volts to earth
  std::vector<Wave> emf_current;              ///< delivered, in the order of Network::emfs
  std::vector<Wave> branch_current;           ///< from `from` to `to`, in the order of Network::branches
  std::vector<double> emf_watts;              ///< delivered at the source's terminals (behind its impedance)
  std::array<Wave, 3> limb_volts_per_turn{};  ///< of the flux in each limb
  std::array<double, 3> limb_flux_peak{};     ///< 1 = rated volts' flux peak (design)
  int limbs = 1;
  bool converged = true;           ///< false: the core is so deep in saturation that the waves are rough
  bool arrester_conducts = false;  ///< a fitted arrester is over its volts
  Wave between(Node a, Node b) const { return node[static_cast<std::size_t>(a)] - node[static_cast<std::size_t>(b)]; }
};

/// Answer to step_dc, at the end of the step.
struct DcSolution {
  std::vector<double> node_volts;
  std::vector<double> node_volts_peak;  ///< highest magnitude within the step (inductive kick)
  std::vector<double> emf_amperes, branch_amperes, current_source_amperes;
  std::vector<bool> current_source_limited;  ///< at its compliance
  std::array<double, 3> limb_flux{};         ///< 1 = rated volts' flux peak
  double stored_joules = 0.0;                ///< that the windings can still give back
  double between(Node a, Node b) const {
    return node_volts[static_cast<std::size_t>(a)] - node_volts[static_cast<std::size_t>(b)];
  }
};

/// Insulation meter or dielectric DC on whole windings. A winding is driven through the meter's own resistance,
/// earthed, or left alone.
enum class WindingTie { driven, earthed, guarded, free };
struct InsulationConnection {
  WindingTie hv = WindingTie::free, lv = WindingTie::earthed;
  double volts = 0.0;  ///< of the meter, to the tank
  double source_ohm = 1e5;
};
struct InsulationReading {
  double meter_amperes = 0.0;  ///< through the driven winding(s), without what flows to a guarded one
  double hv_volts = 0.0, lv_volts = 0.0;
  double stored_joules = 0.0;  ///< capacitive, both windings
};

enum class Insulation { hv_to_earth, lv_to_earth, hv_to_lv, hv_turn, lv_turn };
struct Breakdown {
  Insulation where;
  int count = 0;        ///< breakdowns up to now
  bool arcing = false;  ///< an arc stands now
};

/// One setting of a defect. `value` has the unit that unit_fault_list() gives; nothing = its default.
struct UnitFaultKind {
  std::string name;  ///< "shorted-turn"
  std::string parameter, unit;
  double default_value = 0.0, lowest = 0.0, highest = 0.0;
  std::string effect;
  bool three_phase_only = false, single_phase_only = false;
};
/// Every defect a unit can be given, in a fixed order.
std::vector<UnitFaultKind> const& unit_fault_list();

struct Temperatures {
  double hv_c = 25.0, lv_c = 25.0;  ///< mean winding temperatures
  double oil_top_c = 25.0, oil_bottom_c = 25.0;
  double core_c = 25.0, ambient_c = 25.0;
};

class UnitModel {
 public:
  /// Throws UnsolvableUnit.
  explicit UnitModel(Unit const& unit, Manufacture const& manufacture = {});
  ~UnitModel();
  UnitModel(UnitModel&&) noexcept;
  UnitModel& operator=(UnitModel&&) noexcept;

  Unit const& unit() const;

  // --- terminals ---
  /// Node of a terminal: "H1", "X0", "H0X0", duplicated bushings ("H1A") too, "tank" and an end on the tank = 0.
  /// Throws std::invalid_argument for a name that this unit has not.
  Node terminal(std::string_view name) const;
  bool has_terminal(std::string_view name) const;
  /// Terminals of its own node, in node order from 1; then "tank" is node 0.
  std::vector<std::string> const& terminals() const;
  std::vector<std::string> hv_terminals() const;
  std::vector<std::string> lv_terminals() const;
  /// An empty network whose extra nodes start behind the unit's terminals, at the unit's rated frequency.
  Network network() const;

  // --- switches a person sets ---
  /// Throws std::invalid_argument for a position that the unit has not.
  void set_tap(int position);
  int tap() const;
  void set_dual_voltage(int position);  ///< 1 = the higher
  void dual_voltage_dead(bool dead);    ///< the switch's handle moves, its contacts do not
  /// Strap "on"/"off", arrester "on"/"off", fuse "fitted"/"blown"/"open", breaker and switch "open"/"closed" (any other
  /// switch word counts as closed; a switch named for the dual voltage takes "1" or "2"). The accessory by its name in
  /// the unit document; "breaker" serves for the breaker. Throws std::invalid_argument, naming those that exist.
  void set_accessory(std::string const& name, std::string const& state);
  std::string accessory(std::string const& name) const;

  // --- circuit ---
  AcSolution const& solve_ac(Network const& network);
  /// Time passes under the last solve_ac: heating, remanence, stress of the insulation.
  void advance(double seconds);
  /// The last AC excitation is cut at this angle of its time axis (radians): flux stays in the core accordingly.
  void interrupt(double angle_rad);
  DcSolution const& step_dc(Network const& network, double seconds);
  InsulationReading step_insulation(InsulationConnection const& connection, double seconds);
  /// De-energised time: cooling, absorption recharge, decay of what flows.
  void rest(double seconds);

  // --- insulation ---
  std::vector<Breakdown> breakdowns() const;  ///< those with count > 0
  bool broken_down() const;
  /// Volts that whole windings hold against earth by direct charge and absorption (0 when earthed).
  double hv_charge_volts() const;
  double lv_charge_volts() const;
  /// Whether the dielectric still holds charge that would come back as volts once an earth is lifted.
  bool holds_charge() const;

  // --- temperature ---
  Temperatures temperatures() const;
  void set_ambient(double celsius_now);
  /// The whole unit at one temperature, as after a long rest.
  void soak(double celsius_now);
  /// Warmer than ambient by this, liquid stratified: as from hot filling.
  void warm(double kelvin_above_ambient);

  // --- core ---
  std::array<double, 3> remanence() const;  ///< flux at no current, 1 = rated flux peak
  void set_remanence(std::array<double, 3> const& of_rated_flux);

  // --- defects ---
  /// Throws std::invalid_argument: unknown name, value out of its range, or not a fault of this kind of unit.
  void set_fault(std::string_view name, std::optional<double> value = std::nullopt);
  void clear_fault(std::string_view name_or_all);

  // --- truth, by closed forms of its own ---
  /// "no_load_loss_w" (rated sine volts, 20 degC), "load_loss_w" (order's reference), "load_loss_55c_w",
  /// "stray_loss_w", "impedance_percent", "exciting_current_percent", "ratio tap P, H1-H3:X1-X0",
  /// "resistance_ohm H1-H3" (20 degC), ... of the unit as built, defects as they are set now (a shorted turn, a
  /// breakdown and an open winding are not in the closed forms).
  std::vector<std::pair<std::string, double>> true_values() const;
  std::optional<double> true_value(std::string_view name) const;

  /// Capacitance between groups, farads: all HV terminals tied against LV and tank ("hv"), LV against HV and tank.
  double capacitance_hv_f() const;
  double capacitance_lv_f() const;
  /// Rated volts of a turn, and turns of the HV winding a phase on the set tap.
  double volts_per_turn() const;
  int hv_turns() const;
  int lv_turns() const;

  /// The parts of the model (internals.hpp). For the checks against ngspice, which write their decks from them; a bench
  /// has no use for them.
  class Internals;
  Internals const& internals() const;

 private:
  std::unique_ptr<Internals> body_;
};

}  // namespace benchward::sim
