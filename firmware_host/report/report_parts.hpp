// SPDX-License-Identifier: MIT
#pragma once

/// Parts that reports are put together from, each out of a record alone.

#include <string>
#include <vector>

#include "firmware_host/report/report_page.hpp"
#include "firmware_host/report/report_wishes.hpp"
#include "limits/result.hpp"
#include "limits/unit/unit.hpp"
#include "tests_seq/journal/record_view.hpp"

namespace benchward::report {

Facts unit_facts(Unit const& unit, AttemptRecord const& record, Wishes const& wishes);
Facts condition_facts(AttemptRecord const& record);
Table step_table(AttemptRecord const& record, Wishes const& wishes);
Table instrument_table(AttemptRecord const& record, Wishes const& wishes);
/// Results of the evaluations with limits, margins and expanded uncertainty (k = 2).
Table result_rows(std::vector<Evaluation> const& evaluations, Wishes const& wishes);
Table attempt_table(std::vector<AttemptRecord> const& attempts, std::string const& this_one, Wishes const& wishes);
/// Settling of the resistances, the no-load curve where more than one voltage was measured.
std::vector<Chart> charts_of(AttemptRecord const& record, std::vector<Evaluation> const& evaluations);
/// "load_loss" -> "load loss".
std::string spaced_words(std::string word);

}  // namespace benchward::report
