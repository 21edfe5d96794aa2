// SPDX-License-Identifier: MIT
#pragma once

/// Why a procedure could not go on. Thrown inside tests_seq only, so that a procedure reads like the procedure in the
/// standard; the sequencer turns it into an outcome. Devices and guard themselves never throw.

#include <exception>
#include <string>
#include <utility>

#include "../../drivers/fault.hpp"
#include "../../limits/evaluate/readings.hpp"
#include "../guard/desk.hpp"

namespace benchward {

enum class StopCause {
  device,          ///< an instrument or its link could not answer: `fault`
  guard,           ///< energy refused or taken away: `refusal`
  person,          ///< the operator refused or could not
  journal,         ///< an event could not be kept: `fault`
  cannot_measure,  ///< readings that no sound bench gives: the measurement is worth nothing
  wrong_unit,      ///< identity or leads are not those of the plan: nothing was judged
  breakdown        ///< over-current, collapse or volts not reached: `breakdown`
};

class StepStopped : public std::exception {
 public:
  StepStopped(StopCause why, std::string in_words) : cause(why), words(std::move(in_words)) {}
  explicit StepStopped(Fault of_device)
      : cause(StopCause::device), words(of_device.text()), fault(std::move(of_device)) {}
  explicit StepStopped(Refusal of_guard)
      : cause(StopCause::guard), words(of_guard.words), refusal(std::move(of_guard)) {}

  static StepStopped journal_failed(Fault of_store) {
    StepStopped stopped(std::move(of_store));
    stopped.cause = StopCause::journal;
    return stopped;
  }
  static StepStopped broken_down(BreakdownReading seen) {
    StepStopped stopped(StopCause::breakdown, seen.test + ": " + seen.cause);
    stopped.breakdown = std::move(seen);
    return stopped;
  }

  char const* what() const noexcept override { return words.c_str(); }

  StopCause cause;
  std::string words;
  Fault fault;
  Refusal refusal;
  BreakdownReading breakdown;
};

}  // namespace benchward
