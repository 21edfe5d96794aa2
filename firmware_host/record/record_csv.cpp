// SPDX-License-Identifier: MIT
#include "firmware_host/record/record_csv.hpp"

#include <cmath>

#include "firmware_host/record/record_json.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward {
namespace {

std::string number(std::optional<double> value) {
  return value && std::isfinite(*value) ? json_number(*value) : std::string();
}

}  // namespace

std::string csv_field(std::string const& text) {
  std::string field = text;
  if (!field.empty() && std::string("=+-@\t\r").find(field.front()) != std::string::npos) field = "'" + field;
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string quoted = "\"";
  for (char const c : field) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

std::string csv_header() {
  return "record_id,serial,started,stage,bench,person,outcome,disposition,simulated,limit_set,limit_set_version,test,"
         "quantity,at,value,unit,standard_uncertainty,lower,upper,limit_unit,verdict,measured,measured_unit\r\n";
}

std::string record_csv(AttemptRecord const& record) {
  std::string lines;
  auto const& started = record.started;
  std::string front = csv_field(started.attempt);
  auto const append = [](std::string& line, std::string const& field) { line += "," + csv_field(field); };
  append(front, started.serial);
  append(front, utc_text(record.started_at.utc_us));
  append(front, started.stage);
  append(front, started.bench);
  append(front, started.person);
  append(front, record.ended ? std::string(journal_words::of(record.ended->outcome)) : "OPEN");
  append(front, record.ended ? std::string(journal_words::of(record.ended->disposition)) : "repeat");
  append(front, started.simulated ? "SIMULATED" : "no");
  append(front, started.limit_set);
  append(front, started.limit_set_version);
  for (auto const& evaluation : evaluations_of(record)) {
    for (auto const& result : evaluation.results) {
      std::string line = front;
      append(line, result.test);
      append(line, result.quantity);
      append(line, result.at);
      line += "," + number(result.value);
      append(line, result.unit);
      line += "," + number(result.uncertainty ? std::optional<double>(result.uncertainty->standard) : std::nullopt);
      line += "," + number(result.limit ? result.limit->lower : std::nullopt);
      line += "," + number(result.limit ? result.limit->upper : std::nullopt);
      append(line, result.limit ? result.limit->unit : "");
      append(line, std::string(word_of(result.verdict)));
      line += "," + number(result.measured);
      append(line, result.measured ? result.measured_unit : "");
      lines += line + "\r\n";
    }
  }
  return lines;
}

}  // namespace benchward
