// SPDX-License-Identifier: MIT
#include "firmware_host/record/affected.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

#include "firmware_host/record/recompute.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {
namespace {

/// Serial numbers by the bench's name, as the instruments said them at the identity step.
std::map<std::string, std::string> serials_of(AttemptRecord const& record) {
  std::map<std::string, std::string> serials;
  for (auto const& step : record.steps) {
    for (auto const& readings : step.readings) {
      if (readings.kind != "identity") continue;
      auto const json = documents::parse_json(readings.json, "identity");
      auto const list = json.find("instruments");
      if (list == json.end() || !list->is_array()) continue;
      for (auto const& one : *list) {
        if (one.contains("name") && one.contains("serial"))
          serials[one.at("name").get<std::string>()] = one.at("serial").get<std::string>();
      }
    }
  }
  return serials;
}

std::optional<double> margin_of(Result const& result) {
  if (!result.limit || !std::isfinite(result.value)) return std::nullopt;
  std::optional<double> margin;
  if (result.limit->upper) margin = *result.limit->upper - result.value;
  if (result.limit->lower) {
    double const below = result.value - *result.limit->lower;
    margin = margin ? std::min(*margin, below) : below;
  }
  return margin;
}

bool same_result(Result const& a, Result const& b) {
  return a.test == b.test && a.quantity == b.quantity && a.at == b.at;
}

}  // namespace

FoundError found_error_of(std::string const& text) {
  FoundError found;
  auto const sign = text.find('=');
  auto const number = sign == std::string::npos ? text : text.substr(sign + 1);
  if (sign != std::string::npos) found.quantity = text.substr(0, sign);
  auto const [end, error] = std::from_chars(number.data(), number.data() + number.size(), found.percent);
  if (error != std::errc() || end != number.data() + number.size() || !std::isfinite(found.percent) ||
      std::abs(found.percent) > 50.0) {
    throw DocumentError("records.found-error", "--found", "",
                        "expected QUANTITY=PERCENT with a percentage of at most 50 either way (power=0.5: it read half "
                        "a percent too much), got \"" +
                            text + "\"");
  }
  return found;
}

std::optional<AffectedRecord> affected_by(AttemptRecord const& record, std::string const& instrument,
                                          std::optional<FoundError> const& error) {
  auto inputs = inputs_of(record);
  auto const serials = serials_of(record);
  AffectedRecord affected;
  for (auto const& [name, calibration] : inputs.calibration) {
    auto const serial = serials.find(name);
    bool const meant = name == instrument || calibration.certificate == instrument ||
                       (serial != serials.end() && serial->second == instrument);
    if (!meant) continue;
    affected.instrument_name = name;
    if (serial != serials.end()) affected.instrument_serial = serial->second;
  }
  if (affected.instrument_name.empty()) return std::nullopt;

  auto const then = evaluations_of(record);
  if (error) {
    auto& calibration = inputs.calibration[affected.instrument_name];
    bool any = false;
    for (auto& channel : calibration.channels) {
      if (!error->quantity.empty() && channel.quantity != error->quantity) continue;
      // x (1 - gain - e): the known error and the found one are taken out together.
      channel.gain_correction += error->percent / 100.0;
      any = true;
    }
    if (!any) {
      throw DocumentError("records.found-error", "--found", "",
                          "instrument " + affected.instrument_name + " has no channel of quantity \"" +
                              error->quantity + "\" in record " + record.started.attempt);
    }
    auto const now = evaluations_again(record, inputs);
    for (auto const& evaluation : then) {
      for (auto const& old : evaluation.results) {
        for (auto const& other : now) {
          auto const same = std::find_if(other.results.begin(), other.results.end(),
                                         [&old](Result const& result) { return same_result(result, old); });
          if (same == other.results.end()) continue;
          bool const moved = std::abs(same->value - old.value) > 1e-12 * std::abs(old.value);
          if (moved || same->verdict != old.verdict)
            affected.results.push_back({old, *same, margin_of(old), margin_of(*same)});
          break;
        }
      }
    }
  } else {
    std::string const mark = "\"instrument\":" + json_string(affected.instrument_name);
    for (auto const& step : record.steps) {
      bool const used = std::any_of(step.readings.begin(), step.readings.end(), [&mark](RecordedText const& readings) {
        return readings.json.find(mark) != std::string::npos;
      });
      if (!used) continue;
      for (auto const& evaluation : then) {
        if (evaluation.test != step.test) continue;
        for (auto const& result : evaluation.results) {
          bool const listed =
              std::any_of(affected.results.begin(), affected.results.end(),
                          [&result](AffectedResult const& other) { return same_result(other.then, result); });
          if (!listed) affected.results.push_back({result, std::nullopt, margin_of(result), std::nullopt});
        }
      }
    }
  }
  if (affected.results.empty()) return std::nullopt;
  return affected;
}

}  // namespace benchward
