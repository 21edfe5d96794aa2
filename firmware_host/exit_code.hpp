// SPDX-License-Identifier: MIT
#pragma once

/// Exit codes of both programs, and which of two wins over a run.

#include "limits/result.hpp"

namespace benchward {

enum class ExitCode : int {
  done = 0,
  rejected = 1,   ///< unit rejected; chain broken; recomputation different
  bad_input = 2,  ///< usage or document
  invalid = 3,    ///< instrument, bus or bench fault
  stopped = 4,    ///< person, area, signal or power
  record_not_kept = 5,
  defect = 6  ///< of the program itself
};

/// Over a run 5 beats 4 beats 3 beats 1 beats 0.
inline ExitCode worse(ExitCode a, ExitCode b) {
  auto const rank = [](ExitCode code) {
    switch (code) {
      case ExitCode::done:
        return 0;
      case ExitCode::rejected:
        return 1;
      case ExitCode::invalid:
        return 2;
      case ExitCode::stopped:
        return 3;
      case ExitCode::record_not_kept:
        return 4;
      case ExitCode::bad_input:
        return 5;
      case ExitCode::defect:
        return 6;
    }
    return 6;
  };
  return rank(a) >= rank(b) ? a : b;
}

inline ExitCode exit_code_of(Outcome outcome) {
  switch (outcome) {
    case Outcome::pass:
      return ExitCode::done;
    case Outcome::fail:
      return ExitCode::rejected;
    case Outcome::invalid:
      return ExitCode::invalid;
    case Outcome::aborted:
    case Outcome::not_run:
      return ExitCode::stopped;
  }
  return ExitCode::defect;
}

}  // namespace benchward
