// SPDX-License-Identifier: MIT
#pragma once

/// What goes wrong in a run, drawn before it begins: faults of the bench, mistakes of people, troubles of the program
/// and its link, each so long after the guard first came into a state.

#include <optional>
#include <string>
#include <vector>

#include "chance.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/guard/states.hpp"

namespace benchward::guard::runs {

enum class Trouble {
  fault,           ///< of the simulator's list
  gate,            ///< somebody opens the gate, by force or from inside where it is locked
  stop_button,     ///< emergency stop pressed, released later
  reset_button,    ///< pressed at any time
  wish,            ///< any request of the desk, at any time
  someone_inside,  ///< through the open gate; shut behind
  source_order,    ///< the source is told to go to a multiple of the step's volts
  source_off,      ///< the source is told to go to zero
  link_dead,       ///< no answer from the block for a while
  block_frozen,    ///< the block answers with an old image and takes no outputs
  program_late,    ///< the guard gets no turn for a while
  program_killed   ///< no further turn; perhaps another program start later
};

struct Event {
  Trouble trouble = Trouble::fault;
  GuardState when = GuardState::unknown;
  double after_s = 0.0;  ///< since the guard first came into `when`
  double lasts_s = 0.0;  ///< 0: to the end
  double value = 0.0;    ///< of the trouble
  std::string name;      ///< of a fault
  std::optional<double> fault_value;
};

/// How the person at the desk behaves.
struct Person {
  double reaction_s = 0.3, start_s = 0.5, hold_s = 2.0, ramp_s = 1.0, share = 1.0;
  bool presses_start = true, says_reached = true, presses_stop = true, holds_area = false, raises_again = false,
       acknowledges = true, releases_lockout = false;
};

struct Script {
  Person person;
  std::vector<Event> events;
};

Script draw_script(Chance& chance, Unit const& unit);
std::string text_of(Script const& script);

}  // namespace benchward::guard::runs
