// SPDX-License-Identifier: MIT
#pragma once

/// The bench's sources as machines of their own: a regulator that moves at a finite speed, a relay, a wire "ramp
/// permitted" that makes it run itself down. What they drive is the circuit's business (circuit.hpp).

#include <cstdint>
#include <utility>
#include <vector>

#include "../faults/fault_set.hpp"

namespace benchward::sim {

struct SupplyOrder {
  double volts = 0.0, hertz = 60.0;
  int phases = 1;
  double ramp_s = 1.0;
  double limit_a = 0.0;  ///< own over-current relay; 0 = the source's rating
};

/// Regulated alternating-current source; the dielectric set is one too. The regulator's position is a closed form of
/// time between two orders.
class AlternatingSupply {
 public:
  struct Build {
    std::vector<double> ranges_v;  ///< rising
    double rated_a = 0.0;
    double fastest_ramp_s = 0.3;  ///< zero to full range
    double stop_s = 4.0;          ///< own running down
    double relay_s = 0.1;
    double settle_s = 0.25;
    double rated_hz = 60.0;
    bool rotating = true;  ///< has the faults of a rotating set
  };
  AlternatingSupply(Build build, FaultSet const& faults) : build_(std::move(build)), faults_(faults) {}

  /// False: refused (ramp not permitted, tripped, above the highest range, or phases or frequency changed away from
  /// zero).
  bool set(SupplyOrder const& order, std::int64_t now_ns);
  void to_zero(double ramp_s, std::int64_t now_ns);
  void permit(bool permitted, std::int64_t now_ns);
  /// Current as it flows; trips after the relay's time.
  void watch_current(double amperes, std::int64_t now_ns);
  /// True supply of the house: lost = no volts, not healthy.
  void set_supply(bool present) { supply_present_ = present; }

  double regulator_v(std::int64_t now_ns) const;  ///< what the regulator asks for, volts line to line
  double frequency_hz(std::int64_t now_ns) const;
  bool at_zero(std::int64_t now_ns) const;  ///< its limit switch says so
  bool at_set(std::int64_t now_ns) const;
  bool moving(std::int64_t now_ns) const;
  bool tripped() const { return tripped_; }
  bool healthy() const;
  double range_v() const { return range_v_; }
  double limit_a() const;
  SupplyOrder const& order() const { return order_; }
  /// The next moment at which a move ends or the relay trips.
  std::int64_t next_event_ns(std::int64_t now_ns) const;

 private:
  void start_move(double target, double seconds, std::int64_t now_ns);
  double moved_v(std::int64_t now_ns) const;

  Build build_;
  FaultSet const& faults_;
  SupplyOrder order_;
  double range_v_ = 0.0, from_v_ = 0.0, target_v_ = 0.0;
  std::int64_t move_begins_ns_ = 0, move_ends_ns_ = 0;
  std::int64_t over_since_ns_ = -1;
  bool permitted_ = false, tripped_ = false, supply_present_ = true;
};

/// Direct-current source of the resistance meter: obeys at once within its compliance.
class DirectSupply {
 public:
  bool set(double amperes);
  void off() { amperes_ = 0.0; }
  void permit(bool permitted) {
    permitted_ = permitted;
    if (!permitted) amperes_ = 0.0;
  }
  double amperes() const { return amperes_; }

 private:
  double amperes_ = 0.0;
  bool permitted_ = false;
};

}  // namespace benchward::sim
