// SPDX-License-Identifier: MIT
#pragma once

/// The bench as the servers see it. `serve_sim_bench()` puts the simulated bench behind it; the tests of the wires put
/// instruments of three lines there.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "../../drivers/bench/bench_io.hpp"
#include "../../drivers/roles/connection.hpp"
#include "../../limits/unit/unit.hpp"
#include "../bench/sim_bench.hpp"
#include "../instruments/sim_instrument.hpp"

namespace benchward::sim {

class ServedBench {
 public:
  ServedBench() = default;
  ServedBench(ServedBench const&) = delete;
  ServedBench& operator=(ServedBench const&) = delete;
  virtual ~ServedBench() = default;

  virtual void advance_to(std::int64_t monotonic_ns) = 0;
  virtual SimInstrument* instrument(std::string_view name) = 0;  ///< nullptr: none of that name
  virtual BenchInputs exchange(BenchOutputs const& outputs) = 0;
  virtual BenchInputs inputs() = 0;
  virtual Truth truth() = 0;

  // Hands and judge: an empty string, or why not.
  virtual std::string connect(Connection const& connection) = 0;
  virtual std::string disconnect_all() = 0;
  virtual std::string set_tap(int position) = 0;
  virtual std::string set_gate(bool open) = 0;
  virtual std::string press(std::string_view button) = 0;
  virtual std::string set_accessory(std::string const& name, std::string const& state) = 0;
  /// Empty if the accessory is in this state; else how it is.
  virtual std::string look(std::string const&, std::string const&) { return "nothing can be looked at here"; }
  virtual std::string put_unit(Unit const& unit) = 0;
  virtual std::string enter_area(bool inside) = 0;
  virtual std::string set_fault(FaultRequest const& request) = 0;
  virtual std::string clear_fault(std::string_view name_or_all) = 0;
  virtual std::vector<std::pair<std::string, double>> true_values() = 0;
};

/// The bench must outlive what is returned.
std::unique_ptr<ServedBench> serve_sim_bench(SimBench& bench);

}  // namespace benchward::sim
