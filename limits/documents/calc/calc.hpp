// SPDX-License-Identifier: MIT
#pragma once

/// `benchward calc`: one JSON object in, one out, computed by the very functions that the tests of a unit use.

#include <string>
#include <string_view>
#include <vector>

#include "../document_error.hpp"

namespace benchward {

struct CalcKey {
  std::string name;      ///< "measured_w"; "windings/metal" inside a list of objects
  std::string unit;      ///< "W", "degC", "1", "words: copper, aluminum", "date", "list of ohm"
  std::string required;  ///< "required", "optional", or the default, "0.5"
};

struct CalcTopic {
  std::string name, summary;
  std::string source;  ///< document and clause; stands in every output too
  std::vector<CalcKey> keys;
  std::vector<CalcKey> output;
};

/// All topics, in the order of a routine test.
std::vector<CalcTopic> calc_topics();

/// Computes. Returns a JSON object with the topic's output keys and "source". Throws DocumentError:
/// `calc.no-such-topic` (the nearest one named), the `document.*` ids of missing, unknown, non-numeric or out-of-range
/// keys, `calc.out-of-range` where a formula refuses a number, `calc.no-requirement` where a regulation has none.
std::string calculate(std::string_view topic, std::string_view json_text);

}  // namespace benchward
