// SPDX-License-Identifier: MIT
#pragma once

/// An instrument was found out of tolerance: which results rest on it, and what is left of their margins. Asked for by
/// ISO/IEC 17025:2017, 6.4.9 and 7.10 (from memory).

#include <optional>
#include <string>
#include <vector>

#include "limits/result.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward {

/// What the instrument was found to do wrong.
struct FoundError {
  std::string quantity;  ///< of its calibration: "power", "ratio", ...; empty: every channel
  double percent = 0.0;  ///< > 0: it read too much
};

struct AffectedResult {
  Result then;                                    ///< as recorded
  std::optional<Result> now;                      ///< with the error taken out; absent where no error was given
  std::optional<double> margin_then, margin_now;  ///< to the nearest side of the limit, in the result's unit
};

struct AffectedRecord {
  std::string instrument_name, instrument_serial;
  std::vector<AffectedResult> results;
};

/// `instrument`: its name on the bench, its serial number or its certificate. Nothing where the record does not rest on
/// it. With an error, only results that change are listed; without, all whose readings came from it.
std::optional<AffectedRecord> affected_by(AttemptRecord const& record, std::string const& instrument,
                                          std::optional<FoundError> const& error);

/// "power=0.5": percent of what the quantity's channels read too much. Throws DocumentError.
FoundError found_error_of(std::string const& text);

}  // namespace benchward
