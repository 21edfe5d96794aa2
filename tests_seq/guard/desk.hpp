// SPDX-License-Identifier: MIT
#pragma once

/// What sequencer, terminal and panel see of the guard. The guard's core (`guard.hpp`) and its runner (own thread, or
/// the virtual clock) stand behind it. Nothing here energises: it asks.

#include <cstdint>
#include <string>
#include <vector>

#include "../../drivers/bench/bench_io.hpp"
#include "../../drivers/fault.hpp"
#include "../../drivers/permit.hpp"
#include "../../drivers/task.hpp"
#include "../../limits/quantity.hpp"
#include "../../limits/reading.hpp"
#include "states.hpp"

namespace benchward {

/// What a step declares before it may ask for energy.
struct StepEnergy {
  std::string test;  ///< "no_load": for the record and the screen
  SourcePath source = SourcePath::none;
  StopWay stop = StopWay::plain;
  Voltage set;                 ///< at the source's output (zero for direct current)
  Voltage ceiling;             ///< at the source's output: trip above
  Voltage rise_per_second;     ///< fastest rise at the source's output (I17); zero: the plan sets no limit
  double highest_ratio = 1.0;  ///< highest volts at any terminal over volts at the source's output
  Current trip_current;        ///< over-current, at the source's output
  Current set_direct;          ///< direct current
  Current direct_limit;        ///< discharge proven below min(1 % of set, 10 mA, 5 % of exciting current): this
  Duration longest;            ///< energised at most (I33)
  std::uint16_t live_terminals = 0, earthed_terminals = 0;  ///< connection code
  bool failure_is_the_units = false;  ///< over-current, ceiling, collapse, cannot reach: FAIL if the bench is clean
};

/// One thing that the guard still waits for, or a cause, by its condition number.
struct Condition {
  int number = 0;     ///< 1 to 36: I01 to I36; 37 too many resets, 38 another owner, 39 hard-wired chain open
  std::string words;  ///< for the operator, under ten words
};

/// A trip or lockout as it happened: the first condition that fell, and all later ones.
struct TripRecord {
  bool happened = false;
  Condition first;
  std::string detail;  ///< what there is to know more of the first; may be empty
  std::vector<Condition> later;
  GuardState in_state = GuardState::unknown;
  Stamp at;
  Voltage output;  ///< at that moment
  Current current;
};

struct GuardStatus {
  GuardState state = GuardState::unknown;
  AreaStatus area = AreaStatus::out_of_operation;
  std::vector<Condition> missing;  ///< what it still waits for, nearest first
  bool earth_proven = false;       ///< closed by its contacts, contactors open, low proven
  bool low_not_proven = false;     ///< earthed, but no channel proved "no voltage": hand-applied earth first
  TripRecord trip;
  Voltage output;
  Current current;
  Current direct;
  Duration left;  ///< of the warning, a hold's longest time, a dwell; zero if none runs
  std::uint64_t turns = 0, overruns = 0;
  bool simulated = false;  ///< proved on the wire by the challenge
  bool link_lost = false;
  std::uint32_t gate_openings = 0;  ///< since start; none between two units: a defeated gate (I32, the sequencer asks)
  std::uint64_t events_lost = 0;    ///< events that the bounded ring could not take
  bool bypass_key = false;          ///< a bypass key bridges an interlock of the hard-wired chain now
  Duration bypassed;                ///< how long one was in, together since start: what grew is not for record
};

/// Why energy was refused or taken away.
struct Refusal {
  std::string id;   ///< "guard.refused", "guard.tripped", "guard.lockout", "guard.stopped", "guard.not-earthed"
  TripRecord trip;  ///< where a trip was the reason
  std::string words;
};

class GuardDesk {
 public:
  GuardDesk() = default;
  GuardDesk(GuardDesk const&) = delete;
  GuardDesk& operator=(GuardDesk const&) = delete;
  virtual ~GuardDesk() = default;

  virtual GuardStatus status() const = 0;
  /// Resumes when state, missing list or trip changed since the call, or after `at_most`.
  virtual Task<void> changed(Duration at_most) = 0;

  /// PREPARE: secure, warn, arm. Waits, showing in status().missing what is still missing, until ARMED or refused.
  /// From an unbroken area (hold_area) it goes straight to ARMED with the new declaration.
  virtual Task<Result_<Done, Refusal>> prepare(StepEnergy step) = 0;
  /// START: close the contactors. Answers the permit once they are proven closed.
  virtual Task<Result_<Permit, Refusal>> close() = 0;
  /// The set value is reached: from RAMP_UP to HOLD (rise of more than 1 % is from now on a trip).
  virtual void reached() = 0;
  /// The step may raise again within the same declaration (from HOLD back to RAMP_UP).
  virtual void raising() = 0;
  /// The step's own stop; resumes when earth is proven closed (SAFE_EARTHED), or, with `hold_area`, when ARMED is
  /// possible again for a step on the same connection; or when tripped and earthed, or locked out.
  virtual Task<Result_<Done, Refusal>> stop(bool hold_area) = 0;
  /// Leave TRIPPED: cause gone, reset released, acknowledged by a person. Resumes at SAFE_EARTHED.
  virtual Task<Result_<Done, Refusal>> acknowledge(std::string person) = 0;
  /// Leave LOCKOUT: unit isolated and earthed by hand, cause repaired, a supervisor's name and reason. Resumes when the
  /// guard has left it for UNKNOWN and shown safe, or locked out again. A desk that cannot do it refuses.
  virtual Task<Result_<Done, Refusal>> release_lockout(std::string supervisor, std::string reason);
  /// From anywhere to safe, for exit paths; never throws; resumes when earthed or locked out, or after the bound.
  virtual Task<void> make_safe(std::string why) = 0;
};

}  // namespace benchward
