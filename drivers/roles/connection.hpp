// SPDX-License-Identifier: MIT
#pragma once

/// What is connected to a unit for a step, as data: the same words go to the person, the panel's drawing, the guard's
/// connection code, the record and (simulated) the hands at the bench.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace benchward {

/// Terminals of a unit, "tank" included. Duplicated bushings of loop feed units (H1A, H1B) are one terminal here.
enum class Terminal : std::uint8_t { H0, H1, H2, H3, X0, X1, X2, X3, X4, tank };
inline constexpr int terminal_count = 10;

/// "H1" -> Terminal::H1; throws std::invalid_argument naming the word.
Terminal terminal_named(std::string const& name);
std::string name_of(Terminal terminal);
/// Bit set of terminals, bit n = Terminal n: the guard's connection code.
std::uint16_t terminal_bits(std::vector<std::string> const& names);

struct AccessoryState {
  std::string name;   ///< the accessory's name in the unit document
  std::string state;  ///< "on", "off", "closed", "open", or a switch position
};

struct LiveTerminal {
  std::string terminal;
  double volts_to_earth = 0.0;  ///< expected highest in this step
  bool clipped = false;         ///< false: live though nothing is clipped to it
};

/// One connection. `feed`: one list a source output, in the order of the source's leads (A, B, C, N): {"H1","H2"} is
/// lead A on H1 and lead B on H2; a lead on tied terminals stands on the first of the tie. `measure`: the instrument's
/// second set of leads (voltage leads of the ratio meter, sense leads of the resistance meter), in its lead order.
struct Connection {
  std::string name;        ///< "Load loss: feed H1-H2, short X1-X3"
  std::string instrument;  ///< role word of what feeds: "ratio_meter", "resistance_meter",
                           ///< "ac_source", "dielectric_tester", "insulation_meter", "none"
  std::vector<std::vector<std::string>> feed;
  std::vector<std::vector<std::string>> measure;
  std::vector<std::vector<std::string>> tie;        ///< jumpers
  std::vector<std::vector<std::string>> short_bar;  ///< shorting bars
  std::vector<std::string> earth;                   ///< terminals earthed besides the tank
  std::vector<std::string> open;                    ///< insulated, clear, to be treated as live
  std::vector<AccessoryState> accessories;
  std::vector<LiveTerminal> live;
  double worst_volts = 0.0;  ///< highest at any terminal, fed or not
  std::optional<int> tap;    ///< a position of the tap changer (0 may be one); absent = no taps
};

/// Whether a person must change a lead, jumper, bar or earth to go from one to the other.
bool same_leads(Connection const& a, Connection const& b);

}  // namespace benchward
