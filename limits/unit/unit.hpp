// SPDX-License-Identifier: MIT
#pragma once

/// The unit document: rating plate, order and genealogy of the transformer under test. Plain data; read from JSON by
/// `limits/documents/unit_document.hpp`.

#include <optional>
#include <string>
#include <vector>

#include "../quantity.hpp"

namespace benchward {

enum class Metal { copper, aluminum };
enum class CoreForm { three_limb, five_limb, shell, three_single_cores };
enum class Construction { pad_mounted, submersible, overhead };
enum class LeadPlacement { additive, subtractive };
enum class StandardFamily { ieee, iec };

/// How the neutral end of a wye, or the second end of a one-bushing single-phase winding, leaves the tank.
enum class NeutralKind {
  none,         ///< no neutral (delta, or single-phase with two bushings)
  own_bushing,  ///< H0 or X0 of its own
  joined,       ///< H0 and X0 are one bushing (H0X0) or joined inside
  on_tank,      ///< the winding's end is on the tank: it is always earthed
  inner         ///< star point not brought out
};

/// How the sections of the low-voltage winding are brought out.
enum class LowVoltageForm {
  plain,            ///< one voltage
  center_tapped,    ///< X1-X2-X3, halves in series, X2 the middle (single-phase 240/120 V)
  series_parallel,  ///< two sections X1-X2 and X3-X4 for series or parallel
  mid_tapped_leg    ///< delta with the leg between X1 and X3 tapped in the middle (X4; X2 is then the high leg)
};

struct Tap {
  int position = 0;      ///< as marked on the tap changer
  double percent = 0.0;  ///< of the rated volts; + is more high-voltage turns
};

/// The two voltages of a dual-voltage high-voltage winding with an outside switch; position 1 is the higher.
struct DualVoltage {
  Voltage higher;
  Voltage lower;
  int ordered_position = 1;
};

struct Winding {
  Voltage rated;  ///< line to line if three-phase, the winding's if single-phase
  Metal metal = Metal::copper;
  std::optional<int> turns;  ///< in series, per phase, on the rated tap, if the design data say
  std::optional<double> bil_kv;
  std::optional<double> applied_kv;  ///< applied-voltage test level; absent where the order sets none
  bool has_tap_changer = false;
  std::vector<Tap> taps;  ///< strictly falling percent; empty = no taps
  int rated_tap = 0;      ///< a position of `taps`
  std::optional<DualVoltage> dual;
  std::optional<Capacitance> capacitance_to_earth;  ///< design-family value for the applied test's window
};

struct Bushing {
  std::string name;         ///< "H1", "X0", "H0X0"
  std::string kind;         ///< "well", "dead_front", "live_front", "porcelain", "spade", "stud"
  bool duplicated = false;  ///< loop feed: a second bushing of the same phase, live with it (H1A, H1B)
};

/// A fitted accessory whose state matters to a step.
struct Accessory {
  std::string name;
  std::string terminal;       ///< strap: the terminal strapped to the tank; arrester, fuse: the terminal it serves
  std::string shipped_state;  ///< "on"/"off" (strap, arrester), "fitted", "closed"/"open", or a switch position
};

struct Guarantees {
  std::optional<ActivePower> no_load_loss;
  std::optional<ActivePower> load_loss;  ///< at the order's load-loss reference temperature
  std::optional<ActivePower> total_loss;
  std::optional<double> impedance_percent;
  std::optional<double> exciting_current_percent;
};

struct Genealogy {
  std::string core_lot, coils, winder, tank;
};

struct ReferenceTemperatures {
  Temperature no_load = celsius(20.0);
  Temperature load = celsius(85.0);             ///< the order's and the report's
  Temperature efficiency_load = celsius(55.0);  ///< 10 CFR 431 subpart K appendix A 2.2, liquid-immersed
};

/// What the order adds to, or takes from, the routine sequence.
struct OrderOptions {
  std::vector<std::string> stages;              ///< empty = one `routine` run
  std::vector<double> no_load_percents{100.0};  ///< of rated volts
  bool insulation_resistance = false;
  bool no_load_after_dielectric = false;
  std::vector<std::string> hand_checks;  ///< items; each blocks release
  std::vector<std::string> elsewhere;    ///< results of other stations, e.g. "impulse"; each blocks release
};

/// One transformer.
struct Unit {
  std::string note;
  std::string serial, order, customer, design;
  std::string manufactured_on;           ///< ISO date; decides the regulation's edition
  std::optional<std::string> filled_at;  ///< RFC 3339
  int phases = 1;
  ApparentPower rated_power;
  Frequency rated_frequency;
  std::string vector_group;  ///< "Dyn1", "Ii0", ...: IEC 60076-1 notation
  LeadPlacement lead_placement = LeadPlacement::subtractive;
  Construction construction = Construction::pad_mounted;
  CoreForm core_form = CoreForm::shell;
  StandardFamily standard = StandardFamily::ieee;
  std::string liquid, cooling;
  TemperatureRise average_rise = kelvins(65.0);
  ReferenceTemperatures reference;
  Winding hv, lv;
  LowVoltageForm lv_form = LowVoltageForm::plain;
  bool interlaced = false;
  NeutralKind hv_neutral = NeutralKind::none;
  NeutralKind lv_neutral = NeutralKind::none;
  std::optional<double> neutral_insulation_kv;  ///< of the HV neutral; absent = graded/earthed
  Guarantees guarantees;
  std::vector<Bushing> bushings;
  std::vector<Accessory> straps, arresters, fuses, switches;
  std::optional<Accessory> breaker;
  Genealogy genealogy;
  OrderOptions options;

  bool submersible() const { return construction == Construction::submersible; }
  /// Rated line current of a side: S/V single-phase, S/(sqrt(3) V) three-phase.
  Current rated_line_current(Winding const& winding) const {
    double const divisor = phases == 3 ? std::sqrt(3.0) : 1.0;
    return amperes(rated_power.in(volt_amperes) / (divisor * winding.rated.in(volts)));
  }
};

}  // namespace benchward
