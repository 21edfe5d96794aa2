// SPDX-License-Identifier: MIT
#pragma once

/// Readings, results and limit sheets as JSON: what the journal keeps and old records are recomputed from. Reading back
/// what was written gives the same structure, to the last bit of every number.
///
/// - A reading that is no number (BAD, or not finite) is `"quality":"BAD"` and has no value; it comes back BAD and 0.
/// - Raw register words are hexadecimal, four digits a word.
/// - Times are UTC (RFC 3339, microseconds) beside monotonic nanoseconds.
/// - A result that is not finite has no `value` and comes back as not a number.
/// - Optional members that are empty have no key. Unknown keys are refused: an event's version says what it has.
///
/// `write_json(x)` gives compact JSON, `read_json<T>(text, name)` reads it or throws DocumentError.

#include <string>
#include <string_view>

#include "../calibration.hpp"
#include "../evaluate/evaluate.hpp"
#include "../evaluate/readings.hpp"
#include "../result.hpp"
#include "../rules/limit_sheet.hpp"
#include "document_error.hpp"

namespace benchward {

std::string write_json(TemperatureReadings const&);
std::string write_json(RatioReadings const&);
std::string write_json(PolarityReadings const&);
std::string write_json(ResistanceReadings const&);
std::string write_json(NoLoadReadings const&);
std::string write_json(LoadLossReadings const&);
std::string write_json(AppliedReadings const&);
std::string write_json(InducedReadings const&);
std::string write_json(InsulationReadings const&);
std::string write_json(BreakdownReading const&);
std::string write_json(PowerSnapshot const&);
std::string write_json(MeasuredResistances const&);
std::string write_json(Result const&);
std::string write_json(Evaluation const&);
std::string write_json(LimitSheet const&);
std::string write_json(Judgement const&);
std::string write_json(Calibration const&);

/// Defined for each type of the list above.
template <class T>
T read_json(std::string_view text, std::string const& name);

template <>
TemperatureReadings read_json(std::string_view, std::string const&);
template <>
RatioReadings read_json(std::string_view, std::string const&);
template <>
PolarityReadings read_json(std::string_view, std::string const&);
template <>
ResistanceReadings read_json(std::string_view, std::string const&);
template <>
NoLoadReadings read_json(std::string_view, std::string const&);
template <>
LoadLossReadings read_json(std::string_view, std::string const&);
template <>
AppliedReadings read_json(std::string_view, std::string const&);
template <>
InducedReadings read_json(std::string_view, std::string const&);
template <>
InsulationReadings read_json(std::string_view, std::string const&);
template <>
BreakdownReading read_json(std::string_view, std::string const&);
template <>
PowerSnapshot read_json(std::string_view, std::string const&);
template <>
MeasuredResistances read_json(std::string_view, std::string const&);
template <>
Result read_json(std::string_view, std::string const&);
template <>
Evaluation read_json(std::string_view, std::string const&);
template <>
LimitSheet read_json(std::string_view, std::string const&);
template <>
Judgement read_json(std::string_view, std::string const&);
template <>
Calibration read_json(std::string_view, std::string const&);

/// "2030-01-01T00:00:00.000000Z" of microseconds since 1970-01-01T00:00:00Z, and back (throws std::invalid_argument).
std::string utc_text(std::int64_t utc_us);
std::int64_t utc_from_text(std::string_view text);

/// The words of documents, journal and record: "pass", "conditional pass", "conditional fail", "fail", "not judged";
/// "PASS", "FAIL", "INVALID", "ABORTED", "NOT_RUN"; "release", "hold", "repeat".
std::string_view word_of(Verdict verdict);
std::string_view word_of(Outcome outcome);
std::string_view word_of(Disposition disposition);

}  // namespace benchward
