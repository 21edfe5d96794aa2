// SPDX-License-Identifier: MIT
#pragma once

/// `bench check`: speaks to every instrument once or a few times, without any energy, and says what is wrong in words
/// that tell what to do. Results are data; the host prints them.

#include <string>
#include <vector>

#include "../bench/bench.hpp"
#include "../bus/request.hpp"
#include "../roles/roles.hpp"
#include "../task.hpp"
#include "../time/clock.hpp"

namespace benchward {

struct OpenedInstruments;

/// One thing found. `wrong`: the bench is not fit as it is; else a remark.
struct CheckFinding {
  bool wrong = true;
  std::string id;  ///< a fault's id, or "calibration.due", "calibration.soon", "bus.error-rate", "device.value", "io.*"
  std::string what;  ///< what was seen, with numbers
  std::string next;  ///< what to do
};

struct DeviceCheck {
  std::string device, role, link;  ///< role "bench_io" for the I/O block
  Identity identity;               ///< empty where it did not say
  Duration fastest, slowest;       ///< round trips, wall time
  DeviceCounts counts;             ///< of this check
  std::string calibration_due;     ///< ISO date; empty for the I/O block
  std::string skipped;             ///< why it was not asked; empty: it was
  std::vector<CheckFinding> findings;

  bool ok() const {
    for (auto const& finding : findings) {
      if (finding.wrong) return false;
    }
    return true;
  }
};

struct BenchCheck {
  std::string bench;
  std::vector<DeviceCheck> devices;
  bool ok() const {
    for (auto const& device : devices) {
      if (!device.ok()) return false;
    }
    return true;
  }
};

struct CheckSettings {
  std::string today;          ///< ISO date, handed in
  int questions = 10;         ///< samples read of each instrument for round trip and error rate
  double most_errors = 0.05;  ///< part of the requests; above, nothing measured is for record
  int soon_days = 30;         ///< a calibration due within these is a remark
};

/// Identity, firmware, known value, samples, round trip, error rate, calibration. Never drives an output.
Task<BenchCheck> check_instruments(Bench const& bench, OpenedInstruments& opened, CheckSettings settings);

/// The I/O block with all outputs off but the lamp: watchdog written and read back, heartbeat and owner echoed, scans
/// counted, contacts that contradict each other or the state of rest. Only where nobody else owns the block: the caller
/// holds the bench's lock. Blocks the thread for up to the I/O map's time limit an exchange.
Task<DeviceCheck> check_bench_io(Bench const& bench, BenchLink& link, Clock& clock, std::uint16_t owner);

/// Days from one ISO date to another (proleptic Gregorian calendar); negative if `to` is earlier.
int calendar_days_between(std::string const& from, std::string const& to);

}  // namespace benchward
