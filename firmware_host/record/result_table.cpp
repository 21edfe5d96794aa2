// SPDX-License-Identifier: MIT
#include "firmware_host/record/result_table.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "limits/documents/readings_json.hpp"

namespace benchward {
namespace {

std::string spaced(std::string word) {
  std::replace(word.begin(), word.end(), '_', ' ');
  return word;
}

double uncertainty_of(Result const& result) { return result.uncertainty ? result.uncertainty->standard : 0.0; }

std::string with_unit(std::string number, std::string const& unit) {
  if (unit.empty() || unit == "1") return number;
  return number + " " + unit;
}

// Columns are padded by characters, not bytes: names and units may hold more than ASCII.
std::size_t shown_width(std::string const& text) {
  std::size_t width = 0;
  for (char const c : text) width += (static_cast<unsigned char>(c) & 0xC0u) != 0x80u ? 1 : 0;
  return width;
}

/// Before corrections, in its own unit: a ratio beside its error in percent, amperes beside percent of rated.
std::string measured_in_words(Result const& result, std::string const& value) {
  if (!result.measured) return value;
  bool const same_unit = result.measured_unit.empty() || result.measured_unit == result.unit;
  // Another unit: the uncertainty in the result's unit does not say how many digits it has.
  if (!same_unit) return with_unit(fmt::format("{:.6g}", *result.measured), result.measured_unit);
  return of_result_in_words(result, *result.measured);
}

}  // namespace

// The unit of a quantity's name stands in its own column.
std::string quantity_in_words(Result const& result) {
  std::string word = result.quantity;
  for (std::string const tail : {"_percent", "_deg", "_w", "_v", "_s", "_kv", "_ohm", "_megohm", "_c", "_a"}) {
    if (word.size() > tail.size() && word.compare(word.size() - tail.size(), tail.size(), tail) == 0) {
      word.erase(word.size() - tail.size());
      break;
    }
  }
  // Where the name repeats what stands beside it, the temperature of the reference for one, it is left out.
  for (std::string const tail : {"_55c", "_k"}) {
    if (word.size() > tail.size() && word.compare(word.size() - tail.size(), tail.size(), tail) == 0)
      word.erase(word.size() - tail.size());
  }
  auto words = spaced(word);
  if (!result.at.empty()) words += ", " + result.at;
  return words;
}

std::string number_in_words(double value, double standard_uncertainty) {
  if (!std::isfinite(value)) return "no number";
  double const size = std::abs(value);
  int decimals = 0;
  if (standard_uncertainty > 0.0 && std::isfinite(standard_uncertainty)) {
    // Two digits of the uncertainty: GUM 7.2.6 (JCGM 100:2008).
    decimals = 1 - static_cast<int>(std::floor(std::log10(standard_uncertainty)));
  } else {
    decimals = size > 0.0 ? 3 - static_cast<int>(std::floor(std::log10(size))) : 0;
  }
  decimals = std::clamp(decimals, 0, 9);
  if (size != 0.0 && (size < 1e-4 || size >= 1e7)) return fmt::format("{:.4g}", value);
  return fmt::format("{:.{}f}", value, decimals);
}

std::string of_result_in_words(Result const& result, double value) {
  double const u = uncertainty_of(result);
  double const size = std::abs(result.value);
  if (result.unit == "ohm" && size > 0.0 && size < 1.0 && std::isfinite(value)) {
    // By sign, not by word: "mohm" and "Mohm" are too easily taken for each other.
    bool const micro = size < 1e-3;
    double const scale = micro ? 1e6 : 1e3;
    return number_in_words(value * scale, u * scale) + (micro ? " \u00b5\u03a9" : " m\u03a9");
  }
  return with_unit(number_in_words(value, u), result.unit);
}

std::string limit_in_words(Limit const& limit) {
  auto const number = [](double value) { return fmt::format("{:.6g}", value); };
  if (limit.lower && limit.upper) return with_unit(number(*limit.lower) + " to " + number(*limit.upper), limit.unit);
  if (limit.upper) return "at most " + with_unit(number(*limit.upper), limit.unit);
  if (limit.lower) return "at least " + with_unit(number(*limit.lower), limit.unit);
  return "-";
}

std::string margin_in_words(Result const& result) {
  if (!result.limit || (!result.limit->lower && !result.limit->upper)) return "-";
  double margin = HUGE_VAL;
  if (result.limit->upper) margin = std::min(margin, *result.limit->upper - result.value);
  if (result.limit->lower) margin = std::min(margin, result.value - *result.limit->lower);
  return of_result_in_words(result, margin);
}

std::string verdict_in_words(Verdict verdict) {
  if (verdict == Verdict::not_judged) return "-";
  if (verdict == Verdict::fail) return "FAIL";
  return std::string(word_of(verdict));
}

std::string result_table(std::vector<Evaluation> const& evaluations) {
  constexpr std::size_t columns = 7;
  std::vector<std::array<std::string, columns>> rows;
  rows.push_back({"test", "what", "measured", "corrected", "limit", "margin", "verdict"});
  for (auto const& evaluation : evaluations) {
    if (evaluation.invalid_reason) {
      rows.push_back({spaced(evaluation.test), "INVALID: " + *evaluation.invalid_reason, "", "", "", "", "no verdict"});
    }
    for (auto const& result : evaluation.results) {
      auto const what = quantity_in_words(result);
      auto const value = of_result_in_words(result, result.value);
      rows.push_back({spaced(result.test), what, measured_in_words(result, value), result.measured ? value : "",
                      result.limit ? limit_in_words(*result.limit) : "-", margin_in_words(result),
                      verdict_in_words(result.verdict)});
    }
  }
  std::array<std::size_t, columns> widths{};
  for (auto const& row : rows) {
    for (std::size_t i = 0; i < columns; ++i) {
      // A reason in words may be long: it takes its own room and does not push the columns apart.
      if (row[i].rfind("INVALID: ", 0) == 0) continue;
      widths[i] = std::max(widths[i], shown_width(row[i]));
    }
  }
  std::string text;
  for (std::size_t n = 0; n < rows.size(); ++n) {
    std::string line;
    for (std::size_t i = 0; i < columns; ++i) {
      line += rows[n][i];
      if (i + 1 < columns)
        line += std::string(std::max(widths[i], shown_width(rows[n][i])) - shown_width(rows[n][i]) + 2, ' ');
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    text += (n == 0 ? "" : "\n") + line;
    if (n == 0) text += "\n" + std::string(shown_width(line), '-');
  }
  return text;
}

}  // namespace benchward
