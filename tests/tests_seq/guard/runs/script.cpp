// SPDX-License-Identifier: MIT
#include "script.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "sim/faults/fault_list.hpp"
#include "tests_seq/guard/guard.hpp"

namespace benchward::guard::runs {
namespace {

using S = GuardState;

// Faults that neither the guard nor anything that it commands can feel: meters that read wrong, units that are built
// wrong. They stay with the runs of the whole program.
bool concerns_the_guard(sim::FaultDescription const& fault) {
  if (fault.where == "interlock") return true;
  static constexpr std::array<std::string_view, 19> names{
      "regulator-not-at-zero", "regulator-sticks", "regulator-runs-on", "self-excitation", "store-stays-charged",
      "shaft-still-turning", "source-trips-early", "dc-discharge-path-open", "meter-left-on-hv", "shorting-bar-missing",
      "shorting-bar-left-on", "soft-supply", "wrong-frequency", "current-lead-loose", "ct-secondary-open",
      // of the unit: currents and breakdowns that the guard must answer
      "shorted-turn", "weak-insulation-to-earth", "weak-insulation-between-windings", "bushing-flashover"};
  return std::find(names.begin(), names.end(), fault.name) != names.end();
}

std::vector<sim::FaultDescription const*> faults_for(Unit const& unit) {
  std::vector<sim::FaultDescription const*> list;
  for (auto const& fault : sim::fault_list()) {
    if (concerns_the_guard(fault) && sim::applies_to(fault, unit)) list.push_back(&fault);
  }
  return list;
}

// Moments before, while and after the unit is energised; most of them while.
S some_state(Chance& chance) {
  static constexpr std::array states{
      S::unknown, S::safe_earthed, S::securing,  S::warning,   S::warning,   S::armed,    S::armed,
      S::closing, S::closing,      S::ramp_up,   S::ramp_up,   S::ramp_up,   S::hold,     S::hold,
      S::hold,    S::ramp_down,    S::ramp_down, S::discharge, S::discharge, S::earthing, S::tripped};
  return states[chance.below(states.size())];
}

Event some_fault(Chance& chance, Unit const& unit) {
  auto const list = faults_for(unit);
  auto const& fault = *list[chance.below(list.size())];
  Event event;
  event.trouble = Trouble::fault;
  event.name = fault.name;
  if (chance.in(0.5) && fault.highest > fault.lowest && fault.unit != "1") {
    // Around the default, inside what the fault can be.
    event.fault_value = std::clamp(fault.default_value * chance.between(0.3, 3.0), fault.lowest, fault.highest);
  }
  return event;
}

Event some_mistake(Chance& chance) {
  Event event;
  switch (chance.below(8)) {
    case 0:
    case 1:
      event.trouble = Trouble::gate;
      event.lasts_s = chance.between(0.1, 8.0);
      break;
    case 2:
      event.trouble = Trouble::stop_button;
      event.lasts_s = chance.between(0.2, 10.0);
      break;
    case 3:
      event.trouble = Trouble::reset_button;
      break;
    case 4:
    case 5:
      event.trouble = Trouble::wish;
      event.value = static_cast<double>(1 + chance.below(request_count - 1));
      break;
    case 6:
      event.trouble = Trouble::someone_inside;
      event.lasts_s = chance.between(0.5, 10.0);
      break;
    default:
      event.trouble = chance.in(0.7) ? Trouble::source_order : Trouble::source_off;
      event.value = chance.between(0.2, 1.6);
      break;
  }
  return event;
}

Event some_program_trouble(Chance& chance) {
  Event event;
  switch (chance.below(4)) {
    case 0:
      event.trouble = Trouble::link_dead;
      event.lasts_s = chance.between(0.02, 4.0);
      break;
    case 1:
      event.trouble = Trouble::block_frozen;
      event.lasts_s = chance.between(0.05, 4.0);
      break;
    case 2:
      event.trouble = Trouble::program_late;
      event.lasts_s = chance.between(0.05, 3.0);
      break;
    default:
      event.trouble = Trouble::program_killed;
      event.lasts_s = chance.in(0.5) ? chance.between(0.2, 6.0) : 0.0;
      break;
  }
  return event;
}

}  // namespace

Script draw_script(Chance& chance, Unit const& unit) {
  Script script;
  auto& person = script.person;
  person.reaction_s = chance.between(0.05, 1.0);
  person.start_s = chance.between(0.0, 3.0);
  person.hold_s = chance.between(0.2, 5.0);
  person.ramp_s = chance.between(0.3, 4.0);
  person.share = chance.in(0.9) ? 1.0 : chance.between(0.3, 1.3);
  person.presses_start = !chance.in(0.02);
  person.says_reached = !chance.in(0.05);
  person.presses_stop = !chance.in(0.05);
  person.holds_area = chance.in(0.2);
  person.raises_again = chance.in(0.1);
  person.acknowledges = !chance.in(0.1);
  person.releases_lockout = chance.in(0.3);

  auto const count = chance.in(0.08) ? 0 : chance.in(0.5) ? 1 : chance.in(0.6) ? 2 : 3;
  for (int n = 0; n < count; ++n) {
    auto const kind = chance.share();
    auto event = kind < 0.5    ? some_fault(chance, unit)
                 : kind < 0.78 ? some_mistake(chance)
                               : some_program_trouble(chance);
    event.when = some_state(chance);
    event.after_s = chance.in(0.5) ? chance.between(0.0, 0.5) : chance.between(0.0, 5.0);
    if (event.trouble == Trouble::fault && chance.in(0.3)) event.lasts_s = chance.between(0.05, 10.0);
    script.events.push_back(std::move(event));
  }
  return script;
}

std::string text_of(Script const& script) {
  static constexpr std::array trouble_words{"fault",       "gate opened",   "emergency stop", "reset pressed",
                                            "desk's wish", "person inside", "source ordered", "source to zero",
                                            "link dead",   "block frozen",  "program late",   "program killed"};
  auto const& p = script.person;
  std::string text = fmt::format(
      "person: reaction {:.2f} s, START after {:.2f} s{}, ramp {:.2f} s to {:.2f}, hold {:.2f} s{}{}{}{}{}{}",
      p.reaction_s, p.start_s, p.presses_start ? "" : " (never)", p.ramp_s, p.share, p.hold_s,
      p.says_reached ? "" : ", never says reached", p.presses_stop ? "" : ", never stops",
      p.holds_area ? ", holds the area" : "", p.raises_again ? ", raises again" : "",
      p.acknowledges ? "" : ", never acknowledges", p.releases_lockout ? ", releases a lockout" : "");
  for (auto const& e : script.events) {
    text += fmt::format("\n  {} {}{} {:.3f} s after state {} began, for {:.3f} s, value {:.3f}",
                        trouble_words[static_cast<std::size_t>(e.trouble)], e.name,
                        e.fault_value ? fmt::format("={:.4g}", *e.fault_value) : "", e.after_s,
                        static_cast<int>(e.when), e.lasts_s, e.value);
  }
  return text;
}

}  // namespace benchward::guard::runs
