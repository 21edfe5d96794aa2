// SPDX-License-Identifier: MIT
#pragma once

/// What a customer or laboratory wishes of its reports, as data: no wish needs code.

#include <map>
#include <optional>
#include <string>
#include <vector>

namespace benchward::report {

struct Wishes {
  std::string name;  ///< part of the report's number: one record may have reports by several wishes
  std::string laboratory, laboratory_address, place;
  std::string customer, customer_contact;
  std::string authorised_by;
  std::string paper = "A4";                            ///< or "letter"
  std::optional<double> reference_c;                   ///< losses at this temperature beside the order's
  std::vector<std::string> columns;                    ///< of the result table; empty: all
  std::map<std::string, std::string> second_language;  ///< the report's words -> theirs, printed behind a stroke
  std::vector<std::string> statements;                 ///< printed as they are
  std::string language = "en";
};

/// Throws DocumentError; an unknown column or word is named with the nearest known one.
Wishes read_wishes(std::string const& file);

/// Every word of a report that may be given in a second language.
std::vector<std::string_view> const& report_words();
/// "Results / Resultados", or the word alone.
std::string in_words(Wishes const& wishes, std::string_view word);

}  // namespace benchward::report
