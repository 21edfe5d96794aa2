// SPDX-License-Identifier: MIT
#pragma once

/// Who answers, how fast, what is due, and what each instrument reads: asked while no unit is on the bench, never
/// during a run; between, the last known state is shown with its age. Counts are always of now.

#include <chrono>
#include <functional>
#include <string>
#include <vector>

#include "drivers/bench/bench.hpp"
#include "drivers/bus/request.hpp"
#include "drivers/check/bench_watch.hpp"
#include "firmware_host/session/session.hpp"

namespace benchward::panel {

struct InstrumentLine {
  std::string name, role, link, words, calibration_due;
  bool ok = false, asked = false;
  double round_trip_ms = 0.0;  ///< wall time
  std::string at;              ///< UTC of the last answer or fault
  DeviceCounts counts;         ///< since the station started
  std::vector<WatchedValue> values;
  std::string values_at;  ///< UTC; empty: not read yet
};

class InstrumentWatch {
 public:
  InstrumentWatch(BenchSession& session, Bench const& bench);
  /// Asks every instrument for its identity, one after the other; stops between two as soon as `busy` says so. True:
  /// all were asked.
  Task<bool> ask_all(std::function<bool()> busy);
  /// Somebody looks: their values are read for the next seconds. Nobody looks: the wires are left alone.
  void looked_at() { looked_at_ = std::chrono::steady_clock::now(); }
  bool is_looked_at() const;
  /// Reads each instrument once.
  Task<void> read_values();
  std::vector<InstrumentLine> lines() const;

 private:
  Instrument* of(std::string const& name) const;
  BenchSession& session_;
  std::vector<InstrumentLine> lines_;
  std::chrono::steady_clock::time_point looked_at_{};
};

}  // namespace benchward::panel
