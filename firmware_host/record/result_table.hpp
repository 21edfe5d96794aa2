// SPDX-License-Identifier: MIT
#pragma once

/// Results as people read them: one table, each line test, what, measured, corrected, limit, margin, verdict.

#include <string>
#include <vector>

#include "limits/result.hpp"

namespace benchward {

/// The table as lines without a trailing newline. Results without a limit are shown with a dash; those that only
/// inform (a resistance per pair) come too, so that the table is the whole record of the run.
std::string result_table(std::vector<Evaluation> const& evaluations);

/// "corrected_no_load_loss_w" -> "corrected no load loss", with where it holds: "..., tap 3, H1-H2:X1-X3".
std::string quantity_in_words(Result const& result);

/// A number with as many digits as its uncertainty warrants (four significant where it has none), never in exponents
/// between 1e-4 and 1e7.
std::string number_in_words(double value, double standard_uncertainty);

/// A number of that result with its unit: "0.02 %", "1.24189 mΩ". Ohms are written in the decimal part that suits the
/// result's value, so that its uncertainty and its margin stand in the same one.
std::string of_result_in_words(Result const& result, double value);

/// "-0.5 to 0.5 %", "at most 112 W", "at least 99.11 %", "-".
std::string limit_in_words(Limit const& limit);

/// Distance to the nearest side of the limit, in the limit's unit; negative outside.
std::string margin_in_words(Result const& result);

std::string verdict_in_words(Verdict verdict);

}  // namespace benchward
