// SPDX-License-Identifier: MIT
#pragma once

/// What stands behind SimBench: the parts and the order in which they are moved on. Only sim/bench includes this.

#include <memory>
#include <random>
#include <vector>

#include "../instruments/instrument_set.hpp"
#include "danger.hpp"
#include "interlock_hardware.hpp"
#include "physics.hpp"
#include "sim_bench.hpp"
#include "simulation_parameters.hpp"

namespace benchward::sim {

class SimBench::Body {
 public:
  Body(Bench const& bench_document, Unit const& unit, Options const& options);

  void advance_to(std::int64_t target_ns);
  BenchInputs inputs();
  /// After anything that hands, faults or outputs changed at this very moment.
  void settle();
  void apply_unit_faults();
  bool live_since_closing(double seconds) const;
  void timed_events();
  std::string lay(Connection connection);
  bool terminals_exist(Connection const& connection, std::string& why) const;

  Bench const bench;
  SimulationParameters const parameters;
  FaultSet faults;
  std::uint64_t const seed;
  Physics physics;
  InterlockHardware hardware;
  DangerMonitor danger;
  InstrumentSet instruments;
  std::int64_t now_ns = 0;
  std::optional<int> asked_tap;

 private:
  void share();
  std::int64_t next_timed_event() const;
  double noise(double sigma);

  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  double transducer_v_gain_ = 1.0, transducer_a_gain_ = 1.0;
  std::int64_t closed_since_ns_ = -1;  // high-power contactors closed since
  double held_a_ = 0.0;                // the current transducer's own hold
  std::int64_t held_ns_ = 0;
  bool gate_escape_done_ = false, stop_done_ = false;
};

}  // namespace benchward::sim
