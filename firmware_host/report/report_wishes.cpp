// SPDX-License-Identifier: MIT
#include "firmware_host/report/report_wishes.hpp"

#include <algorithm>
#include <array>

#include "limits/documents/json_reader.hpp"

namespace benchward::report {

std::vector<std::string_view> const& report_words() {
  static std::vector<std::string_view> const words{"Test report",
                                                   "Lot report",
                                                   "Result",
                                                   "Unit",
                                                   "Conditions",
                                                   "Instruments",
                                                   "Results",
                                                   "Attempts",
                                                   "Cautions",
                                                   "Record",
                                                   "Laboratory",
                                                   "Address",
                                                   "Place of the tests",
                                                   "Customer",
                                                   "Order",
                                                   "Serial number",
                                                   "Design",
                                                   "Rating",
                                                   "Voltages",
                                                   "Vector group",
                                                   "Liquid and cooling",
                                                   "Insulation levels",
                                                   "Made on",
                                                   "Genealogy",
                                                   "Date of the tests",
                                                   "Date of issue",
                                                   "Authorised by",
                                                   "Tested by",
                                                   "Report number",
                                                   "Replaces",
                                                   "Specification",
                                                   "Decision rule",
                                                   "Methods",
                                                   "Outcome",
                                                   "test",
                                                   "what",
                                                   "measured",
                                                   "corrected",
                                                   "limit",
                                                   "margin",
                                                   "uncertainty",
                                                   "verdict",
                                                   "instrument",
                                                   "serial",
                                                   "certificate",
                                                   "calibrated",
                                                   "due",
                                                   "used for",
                                                   "connection",
                                                   "tap",
                                                   "how",
                                                   "step",
                                                   "started",
                                                   "outcome",
                                                   "reason",
                                                   "unit",
                                                   "Averages",
                                                   "Units",
                                                   "average",
                                                   "quoted",
                                                   "quantity",
                                                   "Test object received",
                                                   "Traceability",
                                                   "Signed head"};
  return words;
}

std::string in_words(Wishes const& wishes, std::string_view word) {
  auto const found = wishes.second_language.find(std::string(word));
  return found == wishes.second_language.end() ? std::string(word) : std::string(word) + " / " + found->second;
}

Wishes read_wishes(std::string const& file) {
  auto const json = documents::read_json_file(file);
  documents::ObjectReader reader(json, file);
  Wishes wishes;
  wishes.name = reader.text("name", "a short name, part of the report's number");
  if (wishes.name.size() > 24 ||
      wishes.name.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789") !=
          std::string::npos) {
    reader.fail("report.name", "name", "expected at most 24 letters and digits: it stands in the report's number");
  }
  if (auto laboratory = reader.optional_object("laboratory")) {
    wishes.laboratory = laboratory->text("name", "the laboratory's name");
    wishes.laboratory_address = laboratory->text("address", "the laboratory's address");
    wishes.place = laboratory->text_or("place", "");
    laboratory->finish();
  }
  if (auto customer = reader.optional_object("customer")) {
    wishes.customer = customer->text("name", "the customer's name");
    wishes.customer_contact = customer->text_or("contact", "");
    customer->finish();
  }
  wishes.authorised_by = reader.text_or("authorised_by", "");
  wishes.paper = reader.text_or("paper", "A4");
  if (wishes.paper != "A4" && wishes.paper != "letter") reader.fail("report.paper", "paper", "expected A4 or letter");
  wishes.reference_c =
      reader.optional_number("reference_c", "a temperature in degrees Celsius", documents::between(20.0, 200.0));
  static constexpr std::array columns{"test",  "what",   "measured",    "corrected",
                                      "limit", "margin", "uncertainty", "verdict"};
  for (auto const& column : reader.optional_texts("columns")) {
    if (std::find(columns.begin(), columns.end(), column) == columns.end()) {
      auto const near = documents::nearest(column, {columns.begin(), columns.end()});
      reader.fail("report.column", "columns",
                  "there is no column \"" + column + "\"" +
                      (near.empty() ? "" : "; meant is perhaps \"" + near + "\"") +
                      "; known: test, what, measured, corrected, limit, margin, uncertainty, verdict");
    }
    wishes.columns.push_back(column);
  }
  if (!wishes.columns.empty()) {
    for (char const* needed : {"what", "corrected", "verdict"}) {
      if (std::find(wishes.columns.begin(), wishes.columns.end(), needed) == wishes.columns.end())
        reader.fail("report.column", "columns",
                    std::string("\"") + needed + "\" may not be left out of a result table");
    }
  }
  if (auto words = reader.optional_object("second_language")) {
    auto const& known = report_words();
    for (auto const& word : words->keys()) {
      if (std::find(known.begin(), known.end(), word) == known.end()) {
        auto const near = documents::nearest(word, known);
        words->fail("report.word", word,
                    "no report has this word" + (near.empty() ? std::string() : "; meant is perhaps \"" + near + "\""));
      }
      wishes.second_language[word] = words->text(word);
    }
  }
  wishes.statements = reader.optional_texts("statements");
  reader.finish();
  return wishes;
}

}  // namespace benchward::report
