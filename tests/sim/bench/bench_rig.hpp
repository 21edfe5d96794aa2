// SPDX-License-Identifier: MIT
#pragma once

/// A simulated demo bench with a unit on it and a scripted hand on the I/O block, for tests of the simulator: what a
/// station's guard would write, without a station.

#include <memory>
#include <string>
#include <vector>

#include "drivers/bench/bench_document.hpp"
#include "limits/documents/unit_document.hpp"
#include "sim/bench/sim_bench.hpp"

namespace benchward::sim::test {

inline std::string const demo = std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/";
inline constexpr char const* single_phase = "units/single-phase-pad-50kva.json";
inline constexpr char const* three_phase = "units/three-phase-pad-500kva-dyn1.json";
inline constexpr int ac = static_cast<int>(SourcePath::ac_source);
inline constexpr int dielectric = static_cast<int>(SourcePath::dielectric);
inline constexpr int resistance = static_cast<int>(SourcePath::resistance);
inline constexpr int ratio = static_cast<int>(SourcePath::ratio);
inline constexpr int insulation = static_cast<int>(SourcePath::insulation);

inline Bench const& demo_bench() {
  static Bench const bench = read_bench(demo + "benches/01-scaled.json");
  return bench;
}
/// demo-bench-1 with an insulation meter.
inline Bench const& insulation_bench() {
  static Bench const bench = read_bench(demo + "benches/05-insulation.json");
  return bench;
}
inline Unit demo_unit(std::string const& file) { return benchward::read_unit(demo + file); }

inline Connection no_load_single_phase() {
  Connection c;
  c.name = "No-load: feed X1-X3";
  c.instrument = "ac_source";
  c.feed = {{"X1", "X3"}};
  c.earth = {"X2"};
  return c;
}
inline Connection load_loss_single_phase() {
  Connection c;
  c.name = "Load loss: feed H1-H2, short X1-X3";
  c.instrument = "ac_source";
  c.feed = {{"H1", "H2"}};
  c.short_bar = {{"X1", "X3"}};
  c.earth = {"X2"};
  return c;
}
inline Connection applied_single_phase() {
  Connection c;
  c.name = "Applied: H against X";
  c.instrument = "dielectric_tester";
  c.feed = {{"H1"}};
  c.tie = {{"H1", "H2"}, {"X1", "X2", "X3"}};
  c.earth = {"X1"};
  return c;
}
inline Connection resistance_single_phase() {
  Connection c;
  c.name = "Resistance H1-H2";
  c.instrument = "resistance_meter";
  c.feed = {{"H1", "H2"}};
  c.measure = {{"H1", "H2"}};
  return c;
}
inline Connection ratio_single_phase() {
  Connection c;
  c.name = "Ratio";
  c.instrument = "ratio_meter";
  c.feed = {{"H1", "H2"}};
  c.measure = {{"X1", "X2", "X3"}};
  return c;
}
inline Connection insulation_single_phase() {
  Connection c;
  c.name = "Insulation resistance: H to X+tank";
  c.instrument = "insulation_meter";
  c.feed = {{"H1", "tank"}};
  c.tie = {{"H1", "H2"}, {"X1", "X2", "X3"}};
  c.earth = {"X1"};
  return c;
}
inline Connection no_load_three_phase() {
  Connection c;
  c.name = "No-load: feed X1, X2, X3, X0";
  c.instrument = "ac_source";
  c.feed = {{"X1", "X2", "X3", "X0"}};
  c.earth = {"X0"};
  return c;
}

class Rig {
 public:
  explicit Rig(char const* unit = single_phase, std::vector<FaultRequest> faults = {}, std::uint64_t seed = 1,
               Bench const& on = demo_bench())
      : bench(on, demo_unit(unit), {seed, std::move(faults)}) {
    out.watchdog_ms = 1000;
    out.owner = 77;
    out.live_terminals = 0x1FF;  // every bushing declared live: tests of that rule set it themselves
  }

  double now_s() const { return static_cast<double>(now_ns) * 1e-9; }
  /// Moves on in turns of 10 ms with a live heartbeat.
  void run(double seconds) {
    auto const end = now_ns + static_cast<std::int64_t>(seconds * 1e9);
    while (now_ns < end) {
      now_ns += 10000000;
      bench.advance_to(now_ns);
      if (beats) ++out.heartbeat;
      if (writes) in = bench.exchange(out);
    }
  }
  /// As far as "armed": gate shut and locked, warning given, earth open.
  void arm() {
    bench.set_gate(false);
    out.lock_gate = out.red = out.siren = true;
    run(5.5);
    out.siren = false;
    out.open_earth = true;
    run(1.5);
  }
  /// Arms and closes both contactors of a source, ramp permitted.
  void energise(int source) {
    arm();
    close(source);
  }
  void close(int source) {
    out.first[source] = true;
    run(0.3);
    out.second[source] = true;
    run(0.3);
    out.ramp_permitted = true;
    out.open_short = source == resistance;
    run(0.3);
  }
  /// Ramp down, open, discharge, earth, unlock.
  void make_safe() {
    out.ramp_permitted = out.open_short = false;
    run(10.0);
    for (int source = 1; source < max_sources; ++source) out.first[source] = out.second[source] = false;
    run(0.5);
    out.resistor = true;
    run(2.5);
    out.open_earth = false;
    run(1.5);
    out.lock_gate = out.red = out.resistor = false;
    run(0.2);
  }
  SimInstrument& meter(char const* name) { return *bench.instrument(name); }
  /// AC source to so many volts.
  bool raise(double volts, int phases = 1, double hertz = 60.0, double ramp_s = 2.0, double limit_a = 0.0) {
    auto& source = meter("ac-source");
    source.write("voltage_set", volts);
    source.write("frequency_set", hertz);
    source.write("phases_set", phases);
    source.write("ramp_s", ramp_s);
    source.write("current_limit", limit_a);
    return source.write("do.set", 1.0);
  }
  bool said(std::string const& words) const {
    for (auto const& moment : bench.truth().dangerous_moments) {
      if (moment.what.find(words) != std::string::npos) return true;
    }
    return false;
  }
  std::string dangers() const {
    std::string all;
    for (auto const& moment : bench.truth().dangerous_moments) {
      all += std::to_string(moment.at_s) + " s: " + moment.what + "; ";
    }
    return all;
  }
  double terminal(std::string const& name) const {
    for (auto const& [terminal_name, volts] : bench.truth().terminals) {
      if (terminal_name == name) return volts;
    }
    return -1.0;
  }

  SimBench bench;
  BenchOutputs out{};
  BenchInputs in{};
  std::int64_t now_ns = 0;
  bool beats = true, writes = true;
};

}  // namespace benchward::sim::test
