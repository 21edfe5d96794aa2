// SPDX-License-Identifier: MIT
#include "sim/faults/fault_parts.hpp"

namespace benchward::sim::parts {
namespace {

struct Row {
  char const* name;
  char const* parameter;
  char const* unit;
  double value, low, high;
  char const* effect;
  char const* outcome;
  bool check = false;
  bool dangerous = false;
};

}  // namespace

/// Faults of the interlock chain, its contactors, lamps and transducers, and of people at the gate. "Energised" means:
/// since contactors of the alternating-current source or the dielectric set last closed.
std::vector<FaultDescription> interlock_faults() {
  Row const rows[] = {
      {"gate-opened", "after energised", "s", 1, 0, 3600, "Somebody escapes through the gate while the unit is live.",
       "ABORTED"},
      {"estop-pressed", "after energised", "s", 1, 0, 3600, "An emergency stop is pressed while the unit is live.",
       "ABORTED"},
      {"supply-fails", "after energised", "s", 1, 0, 3600,
       "A supply phase is lost while the unit is live; the source says it is not healthy.", "INVALID"},
      {"contactor-welded", "contactor of the source in use: 1 or 2", "1", 1, 1, 2,
       "A contactor does not open when told to.", "INVALID", false, true},
      {"contactor-slow-to-close", "pull-in time", "s", 1.5, 0, 60, "The first contactor closes late.", "INVALID"},
      {"contactor-slow-to-open", "drop-out time", "s", 1.5, 0, 60, "The first contactor opens late.", "INVALID", false,
       true},
      {"mirror-contact-stuck", "1 = on", "1", 1, 0, 1, "A mirror contact reads closed though its contactor is open.",
       "INVALID", true},
      {"earth-sticks-closed", "1 = on", "1", 1, 0, 1, "The earth switch does not open.", "INVALID"},
      {"earth-sticks-open", "1 = on", "1", 1, 0, 1, "The earth switch does not close again.", "INVALID", false, true},
      {"earth-contacts-disagree", "1 = on", "1", 1, 0, 1, "The earth switch reads open and closed at once.", "INVALID",
       true},
      {"gate-channel-stuck", "1 = on", "1", 1, 0, 1, "One of the gate's two channels stays open.", "INVALID", true},
      {"estop-channel-stuck", "1 = on", "1", 1, 0, 1, "One of the emergency stop's two channels stays open.", "INVALID",
       true},
      {"gate-lock-failed", "1 = on", "1", 1, 0, 1, "The gate does not lock.", "INVALID"},
      {"red-lamp-failed", "1 = on", "1", 1, 0, 1, "The red lamp is burnt out.", "INVALID", true},
      {"siren-failed", "1 = on", "1", 1, 0, 1, "The siren is mute.", "INVALID", true},
      {"green-lamp-wrong", "1 = on", "1", 1, 0, 1, "The green lamp is lit whatever the bench does.", "INVALID", true,
       true},
      {"watchdog-disabled", "1 = on", "1", 1, 0, 1,
       "The I/O block keeps a watchdog time of zero: it would hold outputs.", "INVALID", true},
      {"strange-owner", "owner number", "1", 4711, 1, 65535, "Another program's owner number stands in the I/O block.",
       "INVALID", true},
      {"reset-button-stuck", "1 = on", "1", 1, 0, 1, "The reset button is stuck pressed.", "PASS"},
      {"resistor-failed", "1 = on", "1", 1, 0, 1, "The discharge resistor does not engage.", "INVALID"},
      {"short-sticks-closed", "1 = on", "1", 1, 0, 1, "The shorting contact of the direct-current path does not open.",
       "INVALID"},
      {"short-sticks-open", "1 = on", "1", 1, 0, 1, "The shorting contact of the direct-current path does not close.",
       "INVALID", false, true},
      {"voltage-channel-dead", "1 = on", "1", 1, 0, 1, "The guard's voltage transducer reads zero, whatever is there.",
       "INVALID"},
      {"voltage-channel-noisy", "noise", "V", 40, 0, 1000, "The guard's voltage transducer is noisy.", "INVALID", true},
      {"current-channel-dead", "1 = on", "1", 1, 0, 1, "The guard's current transducer reads zero.", "INVALID"},
      {"voltage-relay-stuck", "1 = on", "1", 1, 0, 1, "The voltage relay says 'no voltage' at all times.", "PASS"},
      {"hook-not-home", "1 = on", "1", 1, 0, 1, "An earth stick or an unused lead is not on its home hook.", "INVALID",
       true},
      {"person-inside", "1 = on", "1", 1, 0, 1, "A personal key is missing: somebody may be inside.", "INVALID", true},
      {"ground-continuity-lost", "1 = on", "1", 1, 0, 1, "The ground monitor finds the tank's earth open.", "INVALID",
       true},
      {"supply-not-healthy", "1 = on", "1", 1, 0, 1, "Supply phase missing or sequence reversed.", "INVALID", true},
  };
  std::vector<FaultDescription> list;
  for (auto const& row : rows) {
    list.push_back({row.name,
                    "interlock",
                    row.parameter,
                    row.unit,
                    row.value,
                    row.low,
                    row.high,
                    row.effect,
                    {"all"},
                    row.outcome,
                    "",
                    row.check,
                    row.dangerous});
  }
  return list;
}

}  // namespace benchward::sim::parts
