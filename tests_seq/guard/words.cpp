// SPDX-License-Identifier: MIT
#include "tests_seq/guard/words.hpp"

#include <array>

namespace benchward {
namespace {

constexpr std::array<std::string_view, guard::condition_count> condition_words{
    "",
    "Emergency stop pressed or faulty",                  // I01
    "Close the gate",                                    // I02
    "Gate is not locked",                                // I03
    "Two channels disagree: open and close it once",     // I04
    "Search the area, keys home, nobody inside",         // I05
    "Red lamp, green lamp or siren is faulty",           // I06
    "Warning is running: stay clear",                    // I07
    "Earth switch is not where it must be",              // I08
    "Hang earth sticks and spare leads on hooks",        // I09
    "A supply contactor is not proven open",             // I10
    "A contactor did not follow its order",              // I11
    "Voltage present with contactors open",              // I12
    "Source is not at zero",                             // I13
    "Regulator stuck, wrong way or running on",          // I14
    "Over-current or flash-over",                        // I15
    "Voltage above the step's ceiling",                  // I16
    "Voltage rose too fast or came down late",           // I17
    "Connection or shorting contact is not as planned",  // I18
    "Tank earth is not proven",                          // I19
    "Close the instrument covers",                       // I20
    "Hold the two-hand control",                         // I21
    "I/O watchdog or heartbeat is not right",            // I22
    "I/O block does not answer in time",                 // I23
    "An impossible reading came in",                     // I24
    "Program start: everything off, nothing resumed",    // I25
    "Supply is not healthy",                             // I26
    "Calibration is not valid",                          // I27
    "No authorised operator",                            // I28
    "Direct current not decayed, or short open",         // I29
    "Discharge resistor and waiting time",               // I30
    "Discharge after the insulation test",               // I31
    "Gate stayed shut between two units",                // I32
    "Energised longer than the step allows",             // I33
    "Another source or instrument is not isolated",      // I34
    "A source's energy store is not empty",              // I35
    "No proof yet that voltage is gone",                 // I36
    "More than three resets in ten minutes",             // rule 5
    "Another program drives this bench",                 // one owner
    "Hard-wired safety chain is open",                   // read back, never closed by the program
};

// What a person meets first comes first.
constexpr int way[] = {23, 38, 37, 4,  1,  9,  20, 19, 18, 34, 5,  2,  26, 22, 3,  6,  7,  8,  10, 12,
                       39, 13, 21, 11, 14, 15, 16, 17, 24, 33, 30, 29, 31, 36, 35, 25, 27, 28, 32};

}  // namespace

std::string_view words_of(GuardState state) {
  switch (state) {
    case GuardState::unknown:
      return "State unknown: treat as live";
    case GuardState::safe_earthed:
      return "Earthed";
    case GuardState::securing:
      return "Securing the area";
    case GuardState::warning:
      return "Warning: stay clear";
    case GuardState::armed:
      return "Ready to switch on";
    case GuardState::closing:
      return "Switching on";
    case GuardState::ramp_up:
      return "LIVE: rising";
    case GuardState::hold:
      return "LIVE: measuring";
    case GuardState::ramp_down:
      return "LIVE: coming down";
    case GuardState::discharge:
      return "Discharging: treat as live";
    case GuardState::earthing:
      return "Earthing: treat as live";
    case GuardState::tripped:
      return "Tripped: find the cause";
    case GuardState::lockout:
      return "LOCKED OUT: treat as live, earth by hand";
  }
  return "State unknown: treat as live";
}

std::string_view words_of(AreaStatus area) {
  switch (area) {
    case AreaStatus::out_of_operation:
      return "out of operation";
    case AreaStatus::ready_for_operation:
      return "ready for operation";
    case AreaStatus::ready_to_switch_on:
      return "ready to switch on";
    case AreaStatus::in_operation:
      return "in operation";
  }
  return "in operation";
}

AreaStatus area_of(guard::Machine const& machine) {
  switch (machine.at) {
    case GuardState::safe_earthed:
    case GuardState::securing:
      return AreaStatus::ready_for_operation;
    case GuardState::warning:
    case GuardState::armed:
    case GuardState::earthing:
      return AreaStatus::ready_to_switch_on;
    case GuardState::tripped:
      return machine.stage == guard::Stage::third ? AreaStatus::ready_to_switch_on : AreaStatus::in_operation;
    case GuardState::unknown:
    case GuardState::closing:
    case GuardState::ramp_up:
    case GuardState::hold:
    case GuardState::ramp_down:
    case GuardState::discharge:
    case GuardState::lockout:
      break;
  }
  return AreaStatus::in_operation;
}

std::string_view words_of_guard_condition(int number) {
  return number >= 0 && number < guard::condition_count ? condition_words[static_cast<std::size_t>(number)] : "";
}

Condition condition(int number) { return {number, std::string(words_of_guard_condition(number))}; }

std::string words_of_silence(int number, GuardSilence const& silence) {
  if (number != 23) return {};
  // Whose turn comes late has no answer meanwhile and sees no scan: the nearest cause is named.
  if (silence.turn_ms >= silence.answer_ms && silence.turn_ms >= silence.scan_ms)
    return "this program looked " + std::to_string(silence.turn_ms) + " ms after its look before";
  if (silence.answer_ms >= silence.scan_ms) return "no answer for " + std::to_string(silence.answer_ms) + " ms";
  return "its scan has stood still for " + std::to_string(silence.scan_ms) + " ms";
}

std::string trip_words(int number, std::string_view words, std::string_view detail) {
  std::string text = number < 10 ? "trip by I0" : "trip by I";
  text += std::to_string(number);
  text += ": ";
  text += words;
  if (!detail.empty()) text.append(" (").append(detail).append(")");
  return text;
}

std::vector<Condition> nearest_first(guard::Mask missing) {
  std::vector<Condition> list;
  for (int const number : way) {
    if ((missing & guard::bit(number)) != 0) list.push_back(condition(number));
  }
  return list;
}

}  // namespace benchward
