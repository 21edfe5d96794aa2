// SPDX-License-Identifier: MIT
#pragma once

/// `bench watch`: what every instrument says now, with the raw words beside, for the technician. Only reads (and what a
/// profile needs to hold values still); each link goes on by itself, so that a silent device keeps nobody waiting.

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "../bench/bench.hpp"
#include "../fault.hpp"
#include "../task.hpp"
#include "../time/clock.hpp"

namespace benchward {

class Bus;
struct OpenedInstruments;

struct WatchedValue {
  std::string name, unit;       ///< base unit of its dimension: "V", "A", "W", "ohm", "Hz", "s", "rad", "degC", "1"
  std::optional<double> value;  ///< nothing: BAD
  std::string why;              ///< of a BAD one
  std::string raw;              ///< words in hex as they came, "0001 1945"; of a text device the token itself
};

/// One answer of one device, or the fault that came instead.
struct WatchedLine {
  std::string device, role, link;
  Stamp at;
  Duration round_trip;               ///< wall time, of the last request of this device
  std::vector<WatchedValue> values;  ///< in the order of the profile
  std::vector<std::string> bits;     ///< names of the status bits, or of the I/O block's contacts, that are set
  std::string bad;                   ///< why a status bit makes every value BAD; empty: none does
  std::optional<Fault> fault;
};

struct WatchSettings {
  Duration every = seconds(1);  ///< of the clock handed in
  int turns = 0;                ///< 0: until cancelled
};

/// Watches every instrument; `say` gets one line a device and turn. True: the last turn of every device was without a
/// fault. `say` is called on the caller's executor.
Task<bool> watch_instruments(OpenedInstruments& opened, Clock& clock, WatchSettings settings,
                             std::function<void(WatchedLine)> say);

/// The I/O block's inputs, by a read that writes nothing. Only where nobody else owns the block; `bus` is on its link.
Task<bool> watch_bench_io(Bench const& bench, Bus& bus, Clock& clock, WatchSettings settings,
                          std::function<void(WatchedLine)> say);

}  // namespace benchward
