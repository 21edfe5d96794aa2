// SPDX-License-Identifier: MIT
#pragma once

/// The judge of every safety test: what happened at the bench that could have hurt somebody or wrecked something. It
/// looks at the physics and the hardware alone, never at what the station believes. A state counts once it has lasted
/// longer than the hard-wired chain needs to end it; an act (leads moved under volts) counts at once.

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "interlock_hardware.hpp"
#include "physics.hpp"
#include "sim_bench.hpp"

namespace benchward::sim {

class DangerMonitor {
 public:
  DangerMonitor(Bench const& bench, SimulationParameters const& parameters, FaultSet const& faults)
      : bench_(bench), parameters_(parameters), faults_(faults) {}

  void watch(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns);
  /// Hands touch leads, jumpers, tap changer or accessories.
  void hands_moved(InterlockHardware const& hardware, Physics const& physics, std::string const& what,
                   std::int64_t now_ns);
  /// Another unit stands on the bench.
  void new_unit();
  std::vector<DangerousMoment> const& moments() const { return moments_; }

 private:
  enum Rule {
    gate_open_live,
    gate_unlocked_live,
    gate_unlocked_unearthed,
    earth_on_source,
    green_live,
    no_warning,
    no_heartbeat,
    two_sources,
    beyond_rating,
    transformer_open,
    above_ceiling,
    live_while_earthed,
    live_unlisted,
    arrester_on,
    strap_on,
    person_inside,
    recharged,
    broken_again,
    rising,
    direct_kick,
    rule_count
  };
  /// `words` is asked only when the state is reported: this runs each step.
  template <class Words>
  void state(Rule rule, bool holds, double longer_than_s, std::int64_t now_ns, Words const& words) {
    if (due(static_cast<std::size_t>(rule), holds, longer_than_s, now_ns)) act(now_ns, words());
  }
  bool due(std::size_t rule, bool holds, double longer_than_s, std::int64_t now_ns);
  void act(std::int64_t now_ns, std::string what);
  void watch_area(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns);
  void watch_sources(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns);
  void watch_terminals(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns);
  void watch_direct(InterlockHardware const& hardware, Physics const& physics, std::int64_t now_ns);
  void learn(Physics const& physics);
  double ceiling_v(Physics const& physics, std::string const& terminal) const;
  std::string live_words(Physics const& physics) const;

  Bench const& bench_;
  SimulationParameters const& parameters_;
  FaultSet const& faults_;
  std::array<std::int64_t, rule_count> since_ns_ = filled();
  std::array<bool, rule_count> said_{};
  static constexpr std::array<std::int64_t, rule_count> filled() {
    std::array<std::int64_t, rule_count> all{};
    for (auto& one : all) one = -1;
    return all;
  }
  bool known_ = false;
  std::vector<std::uint16_t> bits_;  // a terminal's bit in the connection code
  std::vector<double> ceilings_;
  bool was_on_[max_sources] = {};
  bool short_was_closed_ = true;
  bool was_live_ = false, discharged_ = false, broken_ = false;
  std::vector<DangerousMoment> moments_;
};

}  // namespace benchward::sim
