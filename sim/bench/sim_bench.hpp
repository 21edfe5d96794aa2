// SPDX-License-Identifier: MIT
#pragma once

/// The whole simulated bench with the unit on it: what the hardware would do. One thread at a time may call it; time
/// only moves when it is told to. The servers in sim/wires and the in-process roles are faces of this object.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../../drivers/bench/bench_io.hpp"
#include "../../drivers/roles/connection.hpp"
#include "../../limits/unit/unit.hpp"
#include "../instruments/sim_instrument.hpp"

namespace benchward::sim {

/// `--fault NAME[=VALUE]`, or the control socket's {"fault": NAME, "value": X}.
struct FaultRequest {
  std::string name;
  std::optional<double> value;
};

struct DangerousMoment {
  double at_s = 0.0;
  std::string what;
};

/// What the judge may know and the station may not.
struct Truth {
  double simulated_time_s = 0.0;
  bool energized = false;  ///< any of the five driving roles able to drive the unit
  double output_voltage_v = 0.0, output_current_a = 0.0, dc_current_a = 0.0;
  std::vector<std::pair<std::string, double>> terminals;  ///< volts to earth
  std::vector<std::string> supply_contactors;             ///< "open" | "closed"
  std::string earth_switch;                               ///< "open" | "closed" | "moving"
  std::string gate, estop;                                ///< "open"|"closed"|"locked", "healthy"|"pressed"
  double heartbeat_age_s = 0.0;
  std::vector<DangerousMoment> dangerous_moments;
};

class SimBench {
 public:
  struct Options {
    std::uint64_t seed = 1;
    std::vector<FaultRequest> faults;
    bool as_declared = false;  ///< the unit has exactly its document's data: a check object, the same at every seed
  };
  /// Throws DocumentError where the unit cannot be solved (naming the data that conflict and by how much), an unknown
  /// fault is asked for (naming the nearest), or the bench's simulation data are wrong.
  SimBench(Bench const& bench, Unit const& unit, Options const& options);
  ~SimBench();
  SimBench(SimBench const&) = delete;
  SimBench& operator=(SimBench const&) = delete;

  /// Moves simulated time on. Never backwards.
  void advance_to(std::int64_t monotonic_ns);
  std::int64_t now_ns() const;

  // --- what the wires carry ---
  std::vector<SimInstrument*> instruments();
  SimInstrument* instrument(std::string_view name);
  /// One request of the I/O block (function 23): outputs in, inputs out.
  BenchInputs exchange(BenchOutputs const& outputs);
  /// Inputs alone (a strange client reads): no heartbeat.
  BenchInputs inputs() const;

  // --- hands: what a person does at the bench; each answers an empty string, or why it cannot be done ---
  std::string connect(Connection const& connection);
  std::string disconnect_all();
  std::string set_tap(int position);
  std::string set_gate(bool open);             ///< opening a locked gate is escape from inside or force
  std::string press(std::string_view button);  ///< "reset", "estop", "release-estop", "search"
  std::string set_accessory(std::string const& name, std::string const& state);
  /// Empty if the accessory is in this state; else how it is.
  std::string look(std::string const& name, std::string const& state) const;
  std::string put_unit(Unit const& unit);
  std::string enter_area(bool inside);

  // --- the judge's ---
  std::string set_fault(FaultRequest const& request);
  std::string clear_fault(std::string_view name_or_all);
  Truth truth() const;
  /// True values at the reference conditions, by closed forms of the model's own: name ("no_load_loss_w",
  /// "load_loss_w" at the order's reference, "load_loss_55c_w", "impedance_percent", "exciting_current_percent",
  /// "ratio tap P, H1-H3:X1-X0", "resistance_ohm H1-H3", ...) and value.
  std::vector<std::pair<std::string, double>> true_values() const;

 private:
  class Body;
  std::unique_ptr<Body> body_;
};

}  // namespace benchward::sim
