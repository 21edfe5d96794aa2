// SPDX-License-Identifier: MIT
#pragma once

/// Who answers, how fast, what is due: asked while no unit is on the bench, never during a run; between, the last known
/// state is shown with its age.

#include <functional>
#include <string>
#include <vector>

#include "drivers/bench/bench.hpp"
#include "firmware_host/session/session.hpp"

namespace benchward::panel {

struct InstrumentLine {
  std::string name, role, words, calibration_due;
  bool ok = false, asked = false;
  double round_trip_ms = 0.0;  ///< wall time
  std::string at;              ///< UTC of the last answer or fault
};

class InstrumentWatch {
 public:
  InstrumentWatch(BenchSession& session, Bench const& bench);
  /// Asks every instrument for its identity, one after the other; stops between two as soon as `busy` says so. True:
  /// all were asked.
  Task<bool> ask_all(std::function<bool()> busy);
  std::vector<InstrumentLine> const& lines() const { return lines_; }

 private:
  Instrument* of(std::string const& name) const;
  BenchSession& session_;
  std::vector<InstrumentLine> lines_;
};

}  // namespace benchward::panel
