// SPDX-License-Identifier: MIT
#include "explorer.hpp"

#include <algorithm>
#include <array>
#include <deque>
#include <set>
#include <tuple>

#include <fmt/format.h>

namespace benchward::guard::proof {
namespace {

using S = GuardState;

constexpr std::array<char const*, guard_state_count> state_names{
    "unknown", "safe_earthed", "securing",  "warning",  "armed",   "closing", "ramp_up",
    "hold",    "ramp_down",    "discharge", "earthing", "tripped", "lockout"};

auto key(Machine const& m) {
  return std::tuple(m.at, m.stage, m.owed, m.hold_area, m.second_leads, m.reset, m.acknowledged);
}
struct Less {
  bool operator()(Machine const& a, Machine const& b) const { return key(a) < key(b); }
};

template <class Action>
void each_finding(Action const& action) {
  Findings f;
  for (int hazard = 0; hazard < 4; ++hazard) {
    f.hazard = static_cast<Hazard>(hazard);
    for (int permissives = 0; permissives < 4; ++permissives) {
      f.permissives = static_cast<Permissives>(permissives);
      for (int contactors = 0; contactors < 6; ++contactors) {
        f.contactors = static_cast<Contactors>(contactors);
        for (int earth = 0; earth < 4; ++earth) {
          f.earth = static_cast<Earth>(earth);
          for (int low = 0; low < 3; ++low) {
            f.low = static_cast<Low>(low);
            for (int level = 0; level < 3; ++level) {
              f.level = static_cast<Level>(level);
              for (int bits = 0; bits < 16; ++bits) {
                f.direct_done = (bits & 1) != 0;
                f.resistor_on = (bits & 2) != 0;
                f.store_empty = (bits & 4) != 0;
                f.reset_edge = (bits & 8) != 0;
                if (!action(f)) return;
              }
            }
          }
        }
      }
    }
  }
}

constexpr bool bounded(Machine const& m) { return m.at != S::ramp_up && m.at != S::hold && m.at != S::safe_earthed; }

// Timers as they can be: the dwell always runs, the bound only where the state has one.
std::vector<Timers> timers_in(Machine const& m) {
  if (!bounded(m)) return {{Timer::idle, Timer::running}, {Timer::idle, Timer::expired}};
  return {{Timer::running, Timer::running},
          {Timer::running, Timer::expired},
          {Timer::expired, Timer::running},
          {Timer::expired, Timer::expired}};
}

}  // namespace

std::string text_of(Machine const& m) {
  return fmt::format("{}.{} owed {}{}{}{}{}", state_names[static_cast<std::size_t>(m.at)],
                     static_cast<int>(m.stage) + 1, static_cast<int>(m.owed), m.hold_area ? " hold" : "",
                     m.second_leads ? " second-leads" : "", m.reset ? " reset" : "", m.acknowledged ? " ack" : "");
}

std::string text_of(Step const& s) {
  auto const& f = s.in;
  return fmt::format(
      "{} -> {} with hazard {} permissives {} contactors {} earth {} low {} level {} direct {} resistor {} "
      "store {} reset {} request {} bound {} dwell {}; coils {}",
      text_of(s.before), text_of(s.after.machine), static_cast<int>(f.hazard), static_cast<int>(f.permissives),
      static_cast<int>(f.contactors), static_cast<int>(f.earth), static_cast<int>(f.low), static_cast<int>(f.level),
      f.direct_done, f.resistor_on, f.store_empty, f.reset_edge, static_cast<int>(s.request),
      static_cast<int>(s.timers.bound), static_cast<int>(s.timers.dwell), static_cast<int>(s.after.orders.coils));
}

Walk walk(AdvanceFunction advance, std::string const& only) {
  auto const& names = step_properties();
  std::uint64_t open_properties = 0;  // not fallen yet
  for (std::size_t n = 0; n < names.size(); ++n) {
    if (only.empty() || only == names[n]) open_properties |= std::uint64_t{1} << n;
  }
  bool const states_only = open_properties == 0;
  Walk result;
  std::set<Machine, Less> seen{at_start()};
  std::deque<Machine> open{at_start()};
  bool stop = false;
  while (!open.empty() && !stop) {
    Step step;
    step.before = open.front();
    open.pop_front();
    result.reached.push_back(step.before);
    for (auto const timers : timers_in(step.before)) {
      step.timers = timers;
      for (int request = 0; request < request_count && !stop; ++request) {
        step.request = static_cast<Request>(request);
        Machine last = step.before;
        each_finding([&](Findings const& f) {
          step.in = f;
          step.after = advance(step.before, f, step.request, timers);
          ++result.transitions;
          if (!(step.after.machine == last)) {  // cheap: most steps lead where the last one led
            last = step.after.machine;
            if (seen.insert(last).second) open.push_back(last);
          }
          if (states_only) return true;
          if (auto const fallen = fallen_properties(step) & open_properties; fallen != 0) {
            open_properties &= ~fallen;
            for (std::size_t n = 0; n < names.size(); ++n) {
              if ((fallen >> n & 1) != 0) result.violated.push_back(names[n] + ": " + text_of(step));
            }
            stop = !only.empty();
          }
          return !stop;
        });
      }
      if (stop) break;
    }
  }
  result.machines = seen.size();
  return result;
}

}  // namespace benchward::guard::proof
