// SPDX-License-Identifier: MIT
#include "explorer.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include <fmt/format.h>

// Properties over time: a healthy bench in a few bits, timers that run out after a few turns, and a person who may
// press anything in any turn. The graph of all that can happen is built and searched for loops and dead ends.

namespace benchward::guard::proof {
namespace {

using S = GuardState;

constexpr int bound_turns = 12, dwell_turns = 3;

struct Node {
  Machine m;
  Orders orders;       ///< out now
  int contactors = 0;  ///< bit 0 first, bit 1 second closed
  int earth = 0;       ///< 0 closed, 1 moving, 2 open
  bool resistor = false, volts = false, seen = false;
  int bound = 0, dwell = 0;  ///< turns counted, saturating
  auto key() const {
    return std::tuple(m.at, m.stage, m.owed, m.hold_area, m.second_leads, m.reset, m.acknowledged, orders.coils,
                      orders.earth_open, orders.resistor, orders.ramp, contactors, earth, resistor, volts, seen, bound,
                      dwell);
  }
  bool operator<(Node const& other) const { return key() < other.key(); }
};

/// What a healthy bench does with its orders in one turn.
void follow(Node& n) {
  n.contactors = static_cast<int>(n.orders.coils);
  int const to = n.orders.earth_open ? 2 : 0;
  if (n.earth != to) n.earth = n.earth == 1 ? to : 1;
  n.resistor = n.orders.resistor;
  if (n.orders.ramp && n.contactors == 3) n.volts = n.seen = true;
  if (!n.orders.ramp || n.contactors != 3) n.volts = false;
}

Findings findings_of(Node const& n, Hazard hazard, bool reset_edge) {
  Findings f;
  f.hazard = hazard;
  f.permissives = Permissives::ready;
  f.contactors = static_cast<Contactors>(n.contactors);
  f.earth = n.earth == 0 ? Earth::closed : n.earth == 2 ? Earth::open : Earth::moving;
  f.low = n.volts ? Low::high : Low::proven;
  f.level = n.volts ? Level::up : Level::zero;
  f.direct_done = true;
  f.resistor_on = n.resistor;
  f.store_empty = true;
  f.reset_edge = reset_edge;
  return f;
}

Node after(AdvanceFunction advance, Node n, Request request, Hazard hazard, bool reset_edge) {
  follow(n);
  n.bound = std::min(n.bound + 1, bound_turns);
  n.dwell = std::min(n.dwell + 1, dwell_turns);
  Timers const timers{n.bound == bound_turns ? Timer::expired : Timer::running,
                      n.dwell == dwell_turns ? Timer::expired : Timer::running};
  auto const step = advance(n.m, findings_of(n, hazard, reset_edge), request, timers);
  n.m = step.machine;
  n.orders = step.orders;
  if (step.restart_bound) n.bound = 0;
  if (step.restart_dwell) n.dwell = 0;
  return n;
}

template <class Action>
void each_operator(Action const& action) {
  for (int request = 0; request < request_count; ++request) {
    for (bool const edge : {false, true}) action(static_cast<Request>(request), edge);
  }
}

/// Longest way from a node to the goal under any operator input, by depth-first search; -1 for a loop that avoids it.
struct Longest {
  AdvanceFunction advance;
  bool (*goal)(Node const&);
  Hazard hazard;
  std::map<Node, int> known;  // -2: on the stack
  std::string loop;

  int from(Node const& node) {
    if (goal(node)) return 0;
    if (auto const found = known.find(node); found != known.end()) {
      if (found->second == -2) loop = text_of(node.m);
      return found->second == -2 ? -1 : found->second;
    }
    known[node] = -2;
    int longest = 0;
    each_operator([&](Request request, bool edge) {
      if (longest < 0) return;
      int const rest = from(after(advance, node, request, hazard, edge));
      longest = rest < 0 ? -1 : std::max(longest, rest + 1);
    });
    known[node] = longest;
    return longest;
  }
};

/// Every way a healthy bench may stand when a state is entered with its earth held open or on its way.
std::vector<Node> nodes_at(std::vector<Machine> const& reached, AdvanceFunction advance, S state) {
  std::vector<Node> nodes;
  for (auto const& m : reached) {
    if (m.at != state) continue;
    for (int earth = 0; earth < 3; ++earth) {
      for (int contactors = 0; contactors < 4; ++contactors) {
        Node n;
        n.m = m;
        n.earth = earth;
        n.contactors = contactors;
        n.volts = n.seen = contactors == 3;
        // Its orders are those of a turn in which nothing happens.
        n.orders =
            advance(m, findings_of(n, Hazard::trip, false), Request::none, {Timer::running, Timer::running}).orders;
        n.orders.coils = Coils::none;
        nodes.push_back(n);
      }
    }
  }
  return nodes;
}

bool earthed(Node const& n) { return n.earth == 0 && n.contactors == 0; }

std::string bounded_earth(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes, S state,
                          Hazard hazard, int most) {
  Longest search{advance, earthed, hazard, {}, {}};
  int longest = 0;
  for (auto const& node : nodes_at(reached, advance, state)) {
    int const way = search.from(node);
    if (way < 0) return "a loop avoids the earth at " + search.loop;
    longest = std::max(longest, way);
  }
  nodes = search.known.size();
  return longest <= most ? "" : fmt::format("takes {} turns, {} allowed", longest, most);
}

std::string tripped_earths(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes) {
  std::uint64_t cause_stays = 0, cause_gone = 0;
  auto wrong = bounded_earth(advance, reached, cause_stays, S::tripped, Hazard::trip, 40);
  if (wrong.empty()) wrong = bounded_earth(advance, reached, cause_gone, S::tripped, Hazard::none, 40);
  nodes = cause_stays + cause_gone;
  return wrong;
}

std::string lockout_earths(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes) {
  return bounded_earth(advance, reached, nodes, S::lockout, Hazard::lockout, 40);
}

/// Under any findings at all: with the time of its stage over, an energised state that stops is off or a stage further.
std::string off_in_bounded_steps(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes) {
  auto const rank = [](Machine const& m) {
    if (m.at == S::closing) return static_cast<int>(m.stage);
    if (m.at == S::ramp_down) return 10 + static_cast<int>(m.stage);
    return 5;  // RAMP_UP, HOLD: their time is I33's, a trip condition
  };
  std::string wrong;
  for (auto const& m : reached) {
    bool const stopping = m.at == S::closing || m.at == S::ramp_down;
    if (!stopping && m.at != S::ramp_up && m.at != S::hold) continue;
    Findings f;
    for (int n = 0; n < 4 * 4 * 6 * 4 * 3 * 3 * 16 && wrong.empty(); ++n) {
      int rest = n;
      auto const next = [&rest](int count) {
        int const v = rest % count;
        rest /= count;
        return v;
      };
      f.hazard = static_cast<Hazard>(next(4));
      f.permissives = static_cast<Permissives>(next(4));
      f.contactors = static_cast<Contactors>(next(6));
      f.earth = static_cast<Earth>(next(4));
      f.low = static_cast<Low>(next(3));
      f.level = static_cast<Level>(next(3));
      f.direct_done = next(2) != 0;
      f.resistor_on = next(2) != 0;
      f.store_empty = next(2) != 0;
      f.reset_edge = next(2) != 0;
      for (int request = 0; request < request_count; ++request) {
        auto const r = static_cast<Request>(request);
        bool const stop = r == Request::safe || r == Request::stop || r == Request::stop_hold;
        if (!stopping && !stop && f.hazard == Hazard::none) continue;
        auto const step = advance(m, f, r, {Timer::expired, Timer::expired});
        ++nodes;
        if (step.orders.coils == Coils::none || rank(step.machine) > rank(m)) continue;
        wrong = "stays on at " + text_of(m);
      }
    }
  }
  return wrong;
}

/// On a healthy bench with a willing person, HOLD can be reached from everywhere that is not locked out, and LOCKOUT by
/// its own path; and from HOLD, SAFE_EARTHED.
std::string no_deadlock(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes) {
  auto const reaches = [&](Node const& start, S goal) {
    std::map<Node, bool> seen{{start, true}};
    std::vector<Node> open{start};
    while (!open.empty()) {
      auto const node = open.back();
      open.pop_back();
      ++nodes;
      if (node.m.at == goal) return true;
      each_operator([&](Request request, bool edge) {
        auto const next = after(advance, node, request, Hazard::none, edge);
        if (seen.emplace(next, true).second) open.push_back(next);
      });
    }
    return false;
  };
  for (auto const& m : reached) {
    Node n;
    n.m = m;
    bool const held_open = (m.at >= S::armed && m.at <= S::discharge) ||
                           ((m.at == S::tripped || m.at == S::lockout) && m.stage == Stage::first);
    n.earth = held_open ? 2 : 0;
    Findings f = findings_of(n, Hazard::none, false);
    if (m.at == S::ramp_up || m.at == S::hold || m.at == S::ramp_down || m.at == S::closing) {
      n.contactors = m.at == S::closing && m.stage == Stage::first ? 1 : 3;
      if (m.at == S::ramp_down && m.stage != Stage::first) n.contactors = 0;
      f = findings_of(n, Hazard::none, false);
      n.seen = true;
    }
    n.orders = advance(m, f, Request::none, {Timer::running, Timer::running}).orders;
    if (!reaches(n, S::hold)) return "HOLD cannot be reached from " + text_of(m);
    if (!reaches(n, S::safe_earthed)) return "SAFE_EARTHED cannot be reached from " + text_of(m);
  }
  return "";
}

/// Nobody does anything: everything ends at rest, and nothing is energised there that was not before.
std::string rests(AdvanceFunction advance, std::vector<Machine> const& reached, std::uint64_t& nodes) {
  for (auto const& m : reached) {
    if (m.at == S::ramp_up || m.at == S::hold || m.at == S::closing) continue;  // their step may run; I33 ends it
    Node n;
    n.m = m;
    n.earth = m.at >= S::armed && m.at <= S::discharge ? 2 : 0;
    n.orders = advance(m, findings_of(n, Hazard::none, false), Request::none, {Timer::running, Timer::running}).orders;
    for (int turn = 0; turn < 200; ++turn, ++nodes) n = after(advance, n, Request::none, Hazard::none, false);
    bool const rest = n.m.at == S::safe_earthed || n.m.at == S::tripped || n.m.at == S::lockout;
    if (!rest || n.contactors != 0 || n.earth != 0) return "does not come to rest from " + text_of(m);
  }
  return "";
}

}  // namespace

std::vector<TimeProperty> const& time_properties() {
  static std::vector<TimeProperty> const list{
      {"from TRIPPED, healthy feedback, the earth is closed in bounded turns under any operator input", tripped_earths},
      {"from LOCKOUT, healthy feedback, the earth is closed in bounded turns under any operator input", lockout_earths},
      {"every energised state that is stopped or tripped is off in bounded steps under any inputs",
       off_in_bounded_steps},
      {"no deadlock on a healthy bench: HOLD and SAFE_EARTHED can be reached from every state", no_deadlock},
      {"if nobody does anything every state comes to rest with contactors open and earth closed", rests}};
  return list;
}

}  // namespace benchward::guard::proof
