// SPDX-License-Identifier: MIT
#include "blame.hpp"

#include <algorithm>

namespace benchward::guard::runs {
namespace {

struct Excuse {
  char const* moment;              ///< part of its text
  std::vector<char const*> needs;  ///< all of these went wrong in the run
};

std::vector<Excuse> const& excuses() {
  static std::vector<Excuse> const list{
      // The lamp is a hardware AND; lit by a fault of its own it lies whatever is commanded. Lit before the earth opens
      // it
      // stands beside the red one through the warning, and the guard refuses (I06): no excuse.
      {"green lamp lit", {"green-lamp-wrong, earth open"}},
      // The bolt breaks, or somebody stands inside who came through no gate, when the earth is open already: the guard
      // trips in the same turn, and the discharge through the resistor takes longer than the chain.
      {"gate unlocked", {"gate-lock-failed, earth open"}},
      {"earth opened with a person inside", {"person-inside, earth open"}},
      {"energised with no warning given", {"gate-lock-failed, earth open"}},
      // The gate is forced before the earth is closed: somebody goes in; or the resistor fails beside it.
      {"earth opened with a person inside", {"gate forced, earth open"}},
      // A resistor that fails while it is not ordered shows nothing until it is.
      {"gate open with", {"gate forced, earth open", "resistor-failed, secured"}},
      {"gate open with", {"gate-opened, earth open", "resistor-failed, secured"}},
      // That a unit broke down is the sequencer's to know: it energises none again without a signed reason. Here the
      // person at the desk does.
      {"energised again a unit marked", {"weak-insulation-between-windings"}},
      {"energised again a unit marked", {"weak-insulation-to-earth"}},
      {"energised again a unit marked", {"bushing-flashover"}},
      // The limit switch says zero and is wrong, and no channel looks at the source's side of the contactors.
      {"source closed away from zero", {"regulator-not-at-zero"}},
      {"volts risen with no command", {"regulator-not-at-zero"}},
      // While nobody says that the set volts are reached, slowly rising volts are a ramp; ceiling and longest time end
      // it.
      // In HOLD a rise of one percent is a trip: no excuse there.
      {"volts risen with no command", {"regulator-runs-on", "reached never said"}},
      // Not wired to the guard; the analyser's readings show it, if anything does.
      {"current transformer's secondary open", {"ct-secondary-open"}},
      // The source is cut with its discharge path broken, or the short that should take the current does not close.
      {"direct current broken", {"short-sticks-open"}},
      {"direct current broken", {"dc-discharge-path-open"}},
      // Cut at full volts the crest stays on the winding; the resistor that should take it off does not engage.
      {"terminal above its insulation's ceiling", {"resistor-failed, earth open"}},
      // The block holds its outputs for a program that is dead.
      {"energised with no live heartbeat", {"watchdog-disabled, earth open", "program killed"}},
      {"energised with no live heartbeat", {"watchdog-disabled, earth open", "block frozen"}},
      {"energised with no live heartbeat", {"watchdog-disabled, earth open", "link dead"}},
      {"energised with no live heartbeat", {"watchdog-disabled, earth open", "program late, earth open"}},
      // A watchdog that is lost after it has cut puts back what the block was told before; nobody is there to see it.
      {"shorting contact opened", {"watchdog-disabled, earth open", "program late, earth open"}},
      // The short that should take the current off does not close, and the block, which nobody reaches, has fallen to
      // its
      // own safe state, where lock and green lamp follow the earth.
      {"gate unlocked", {"short-sticks-open, earth open", "block frozen, earth open"}},
      {"green lamp lit", {"short-sticks-open, earth open", "block frozen, earth open"}},
  };
  return list;
}

}  // namespace

std::string excuse_of(std::string const& moment, std::vector<std::string> const& had) {
  for (auto const& excuse : excuses()) {
    if (moment.find(excuse.moment) == std::string::npos) continue;
    bool const all = std::all_of(excuse.needs.begin(), excuse.needs.end(), [&](char const* need) {
      return std::find(had.begin(), had.end(), need) != had.end();
    });
    if (!all) continue;
    std::string words = excuse.moment;
    for (auto const* need : excuse.needs)
      words += std::string(words.size() == std::string(excuse.moment).size() ? ": " : " and ") + need;
    return words;
  }
  return {};
}

}  // namespace benchward::guard::runs
