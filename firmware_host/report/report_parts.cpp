// SPDX-License-Identifier: MIT
#include "firmware_host/report/report_parts.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <map>
#include <set>

#include "firmware_host/record/result_table.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward::report {
namespace {

std::string joined(std::vector<std::string> const& parts, char const* by = ", ") {
  std::string text;
  for (auto const& part : parts) {
    if (!part.empty()) text += (text.empty() ? "" : by) + part;
  }
  return text;
}

std::string minute_of(Stamp const& stamp) {
  auto text = utc_text(stamp.utc_us).substr(0, 16);
  text[10] = ' ';
  return text;
}

std::string text_of(documents::Json const& json, char const* key) {
  auto const found = json.find(key);
  return found != json.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::string winding_words(Winding const& winding, char const* side) {
  std::string text = fmt::format("{} {} V", side, winding.rated.in(volts));
  if (!winding.taps.empty()) {
    text += " (taps";
    for (auto const& tap : winding.taps) text += fmt::format(" {}{} %", tap.percent > 0 ? "+" : "", tap.percent);
    text += fmt::format(", rated tap {})", winding.rated_tap);
  }
  return text;
}

}  // namespace

std::string spaced_words(std::string word) {
  std::replace(word.begin(), word.end(), '_', ' ');
  return word;
}

Facts unit_facts(Unit const& unit, AttemptRecord const& record, Wishes const& wishes) {
  Facts facts;
  auto const add = [&](char const* word, std::string const& value) {
    if (!value.empty()) facts.rows.emplace_back(in_words(wishes, word), value);
  };
  add("Serial number", unit.serial);
  add("Order", unit.order);
  add("Design", unit.design);
  add("Rating", fmt::format("{} kVA, {} phase{}, {} Hz", unit.rated_power.in(kilovolt_amperes), unit.phases,
                            unit.phases == 1 ? "" : "s", unit.rated_frequency.in(hertz)));
  add("Voltages", winding_words(unit.hv, "high") + "; " + winding_words(unit.lv, "low"));
  add("Vector group", unit.vector_group);
  add("Liquid and cooling",
      joined({unit.liquid, unit.cooling, fmt::format("average winding rise {} K", unit.average_rise.in(kelvins))}));
  std::vector<std::string> levels;
  if (unit.hv.bil_kv) levels.push_back(fmt::format("high side {} kV BIL", *unit.hv.bil_kv));
  if (unit.hv.applied_kv) levels.push_back(fmt::format("applied {} kV", *unit.hv.applied_kv));
  if (unit.lv.bil_kv) levels.push_back(fmt::format("low side {} kV BIL", *unit.lv.bil_kv));
  if (unit.lv.applied_kv) levels.push_back(fmt::format("applied {} kV", *unit.lv.applied_kv));
  add("Insulation levels", joined(levels));
  add("Made on", unit.manufactured_on);
  auto const& from = unit.genealogy;
  std::vector<std::string> parts;
  if (!from.core_lot.empty()) parts.push_back("core lot " + from.core_lot);
  if (!from.coils.empty()) parts.push_back("coils " + from.coils);
  if (!from.winder.empty()) parts.push_back("winder " + from.winder);
  if (!from.tank.empty()) parts.push_back("tank " + from.tank);
  add("Genealogy", joined(parts));
  add("Test object received", "complete unit, stage " + spaced_words(record.started.stage) +
                                  "; identity confirmed at the bench by " + record.started.person);
  return facts;
}

Facts condition_facts(AttemptRecord const& record) {
  Facts facts;
  for (auto const& step : record.steps) {
    if (step.test != "temperatures" || step.readings.empty()) continue;
    auto const taken = read_json<TemperatureReadings>(step.readings.back().json, "temperatures");
    auto const degrees = [](Reading<Temperature> const& reading) {
      return reading.good() ? fmt::format("{:.1f} degC", reading.value.in(celsius)) : std::string("not measured");
    };
    facts.rows.emplace_back("Ambient, liquid top, bottom",
                            degrees(taken.ambient) + ", " + degrees(taken.top) + ", " + degrees(taken.bottom));
  }
  facts.rows.emplace_back("Bench",
                          record.started.bench + " (document " + record.started.bench_hash.substr(0, 12) + ")");
  return facts;
}

Table step_table(AttemptRecord const& record, Wishes const& wishes) {
  Table table;
  table.columns = {{in_words(wishes, "step"), 0.5, true}, {in_words(wishes, "test"), 1.6},
                   {in_words(wishes, "connection"), 4.2}, {in_words(wishes, "tap"), 0.5, true},
                   {in_words(wishes, "started"), 1.7},    {in_words(wishes, "how"), 2.2}};
  for (auto const& step : record.steps) {
    auto how = step.how.empty() ? std::string("not ended") : step.how;
    if (!step.words.empty()) how += ": " + step.words;
    for (auto const& fault : step.faults) how += "; " + fault.text();
    table.rows.push_back({std::to_string(step.number), spaced_words(step.test), step.connection_name,
                          step.tap ? std::to_string(*step.tap) : "", minute_of(step.started), how});
  }
  return table;
}

Table instrument_table(AttemptRecord const& record, Wishes const& wishes) {
  std::map<std::string, std::vector<std::string>> said;
  std::map<std::string, std::set<std::string>> used;
  auto const calibrations = documents::parse_json(record.started.calibration_document, "calibration");
  for (auto const& step : record.steps) {
    for (auto const& readings : step.readings) {
      if (readings.kind == "identity") {
        auto const json = documents::parse_json(readings.json, "identity");
        auto const list = json.find("instruments");
        if (list == json.end() || !list->is_array()) continue;
        for (auto const& one : *list) {
          said[text_of(one, "name")] = {joined({text_of(one, "maker"), text_of(one, "model")}, " "),
                                        joined({text_of(one, "serial"), text_of(one, "firmware")}, ", firmware ")};
        }
        continue;
      }
      for (auto const& [name, calibration] : calibrations.items()) {
        if (readings.json.find("\"instrument\":" + json_string(name)) != std::string::npos)
          used[name].insert(spaced_words(step.test));
      }
    }
  }
  Table table;
  table.columns = {{in_words(wishes, "instrument"), 2.0},  {in_words(wishes, "serial"), 1.9},
                   {in_words(wishes, "certificate"), 1.6}, {in_words(wishes, "calibrated"), 1.1},
                   {in_words(wishes, "due"), 1.1},         {in_words(wishes, "used for"), 3.0}};
  for (auto const& [name, calibration] : calibrations.items()) {
    auto const& of = said[name];
    auto const& tests = used[name];
    table.rows.push_back(
        {name + (of.empty() ? "" : " (" + of[0] + ")"), of.size() > 1 ? of[1] : "not asked",
         text_of(calibration, "certificate"), text_of(calibration, "calibrated_on"), text_of(calibration, "due_on"),
         tests.empty() ? "no reading of this record" : joined(std::vector<std::string>(tests.begin(), tests.end()))});
  }
  return table;
}

Table result_rows(std::vector<Evaluation> const& evaluations, Wishes const& wishes) {
  struct Kind {
    char const* name;
    double share;
    bool right;
  };
  static constexpr Kind kinds[] = {{"test", 1.4, false},       {"what", 2.7, false},   {"measured", 1.35, true},
                                   {"corrected", 1.15, true},  {"limit", 1.9, true},   {"margin", 1.15, true},
                                   {"uncertainty", 1.4, true}, {"verdict", 0.8, false}};
  auto const shown = [&wishes](char const* name) {
    return wishes.columns.empty() ||
           std::find(wishes.columns.begin(), wishes.columns.end(), name) != wishes.columns.end();
  };
  Table table;
  for (auto const& kind : kinds) {
    if (shown(kind.name)) table.columns.push_back({in_words(wishes, kind.name), kind.share, kind.right});
  }
  bool const with_measured = shown("measured");
  for (auto const& evaluation : evaluations) {
    if (evaluation.invalid_reason) {
      table.strong_rows.push_back(table.rows.size());
      std::vector<std::string> row;
      for (auto const& kind : kinds) {
        if (!shown(kind.name)) continue;
        std::string const name = kind.name;
        row.push_back(name == "test"      ? spaced_words(evaluation.test)
                      : name == "what"    ? "INVALID: " + *evaluation.invalid_reason
                      : name == "verdict" ? "no verdict"
                                          : "");
      }
      table.rows.push_back(std::move(row));
    }
    for (auto const& result : evaluation.results) {
      double const u = result.uncertainty ? result.uncertainty->standard : 0.0;
      auto const value = of_result_in_words(result, result.value);
      std::string measured = value;
      if (result.measured) {
        bool const other = !result.measured_unit.empty() && result.measured_unit != result.unit;
        measured = other ? fmt::format("{:.6g}{}", *result.measured,
                                       result.measured_unit == "1" ? "" : " " + result.measured_unit)
                         : of_result_in_words(result, *result.measured);
      }
      // A yes-or-no result says so in words.
      bool const yes_or_no = result.quantity == "passed" || result.quantity == "polarity_as_ordered" ||
                             result.quantity == "phase_relation_as_ordered" || result.quantity == "breakdown";
      bool const broke = result.quantity == "breakdown";
      auto const said = std::string(result.value == 1.0 ? "yes" : "no");
      std::vector<std::string> row;
      for (auto const& kind : kinds) {
        if (!shown(kind.name)) continue;
        std::string const name = kind.name;
        if (name == "test") row.push_back(spaced_words(result.test));
        if (name == "what") row.push_back(quantity_in_words(result));
        if (name == "measured") row.push_back(yes_or_no ? said : measured);
        if (name == "corrected")
          row.push_back(yes_or_no ? (with_measured ? "" : said) : result.measured || !with_measured ? value : "");
        if (name == "limit") {
          row.push_back(yes_or_no      ? (broke ? "no" : "yes")
                        : result.limit ? limit_in_words(*result.limit) + (result.limit->warns_only ? " (warns)" : "")
                                       : "-");
        }
        if (name == "margin") row.push_back(yes_or_no ? "" : margin_in_words(result));
        if (name == "uncertainty") row.push_back(u > 0.0 && !yes_or_no ? of_result_in_words(result, 2.0 * u) : "");
        if (name == "verdict") row.push_back(verdict_in_words(result.verdict));
      }
      if (result.verdict == Verdict::fail || result.verdict == Verdict::conditional_fail)
        table.strong_rows.push_back(table.rows.size());
      table.rows.push_back(std::move(row));
    }
  }
  return table;
}

Table attempt_table(std::vector<AttemptRecord> const& attempts, std::string const& this_one, Wishes const& wishes) {
  Table table;
  table.columns = {{in_words(wishes, "Record"), 2.5},
                   {in_words(wishes, "started"), 1.7},
                   {in_words(wishes, "outcome"), 1.0},
                   {in_words(wishes, "unit"), 0.9},
                   {in_words(wishes, "reason"), 4.2}};
  for (auto const& attempt : attempts) {
    if (attempt.started.attempt == this_one) table.strong_rows.push_back(table.rows.size());
    auto reason = attempt.ended ? attempt.ended->reason : std::string("has not ended");
    if (!attempt.started.repeat_reason.empty())
      reason += " (tested again because: " + attempt.started.repeat_reason + ")";
    table.rows.push_back(
        {attempt.started.attempt + (attempt.started.attempt == this_one ? " (this report)" : ""),
         minute_of(attempt.started_at), attempt.ended ? std::string(journal_words::of(attempt.ended->outcome)) : "OPEN",
         attempt.ended ? std::string(journal_words::of(attempt.ended->disposition)) : "repeat", reason});
  }
  return table;
}

std::vector<Chart> charts_of(AttemptRecord const& record, std::vector<Evaluation> const& evaluations) {
  std::vector<Chart> charts;
  Chart curve;
  curve.title = "No-load loss over the voltage";
  curve.x_title = "percent of rated volts";
  curve.y_title = "W";
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      if (result.quantity != "corrected_no_load_loss_w") continue;
      if (auto const percent = result.at.find(" %"); percent != std::string::npos) {
        double of_rated = 0.0;
        auto const [end, error] = std::from_chars(result.at.data(), result.at.data() + percent, of_rated);
        if (error == std::errc()) curve.points.emplace_back(of_rated, result.value);
      }
      if (result.limit && result.limit->upper && result.at == "100 %") {
        curve.limit_y = result.limit->upper;
        curve.limit_words = "limit at 100 %: " + limit_in_words(*result.limit);
      }
    }
  }
  std::sort(curve.points.begin(), curve.points.end());
  if (curve.points.size() > 1) charts.push_back(std::move(curve));
  for (auto const& step : record.steps) {
    if (step.test != "winding_resistance" || step.readings.empty()) continue;
    auto const taken = read_json<ResistanceReadings>(step.readings.back().json, "resistance");
    for (auto const& point : taken.points) {
      Chart chart;
      chart.x_title = "seconds since the first reading that counts";
      chart.y_title = "milliohm";
      chart.title = "Settling of the resistance " + point.terminals + ", the readings that count";
      for (std::size_t i = 0; i < point.volts.size() && i < point.current.size(); ++i) {
        if (!point.volts[i].good() || !point.current[i].good()) continue;
        double const amperes_now = point.current[i].value.in(amperes);
        if (amperes_now == 0.0) continue;
        double const seconds_since =
            static_cast<double>(point.volts[i].source.monotonic_ns - point.volts.front().source.monotonic_ns) / 1e9;
        chart.points.emplace_back(seconds_since, 1000.0 * point.volts[i].value.in(volts) / amperes_now);
      }
      if (chart.points.size() > 3) charts.push_back(std::move(chart));
    }
  }
  if (charts.size() > 4) charts.resize(4);
  return charts;
}

}  // namespace benchward::report
