// SPDX-License-Identifier: MIT
#include "firmware_host/record/lot.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "firmware_host/record/recompute.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "limits/correct/efficiency.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {
namespace {

std::optional<double> value_of(std::vector<Evaluation> const& evaluations, std::string const& test,
                               std::string const& quantity, std::string const& at_begin = "") {
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      if (result.test == test && result.quantity == quantity && result.at.rfind(at_begin, 0) == 0) return result.value;
    }
  }
  return std::nullopt;
}

void take_numbers(LotUnit& unit, std::vector<Evaluation> const& evaluations) {
  unit.no_load_w = value_of(evaluations, "no_load", "corrected_no_load_loss_w", "100 %");
  unit.load_w = value_of(evaluations, "load_loss", "corrected_load_loss_w");
  unit.total_w = value_of(evaluations, "load_loss", "total_loss_w");
  unit.impedance_percent = value_of(evaluations, "load_loss", "impedance_percent");
  unit.efficiency_percent = value_of(evaluations, "load_loss", "efficiency_percent");
}

LotAverage average(std::vector<LotUnit> const& units, std::string quantity, std::optional<double> LotUnit::*member,
                   std::optional<ActivePower> const& quoted, LimitSheet const& sheet) {
  LotAverage one;
  one.quantity = std::move(quantity);
  double sum = 0.0;
  for (auto const& unit : units) {
    if (!(unit.*member)) continue;
    sum += *(unit.*member);
    ++one.units;
  }
  if (one.units > 0) one.mean = sum / static_cast<double>(one.units);
  if (quoted) one.quoted = quoted->in(watts);
  if (auto const* line = sheet.line("lot", "average_" + one.quantity); line != nullptr && one.units > 0) {
    // Judged where the limit set has a rule for it; else the quoted value only stands beside it.
    if (line->limit.upper) one.within = one.mean <= *line->limit.upper;
  }
  return one;
}

void take_impedances(Lot& lot, LimitSheet const& sheet) {
  std::vector<double> values;
  for (auto const& unit : lot.units) {
    if (unit.impedance_percent) values.push_back(*unit.impedance_percent);
  }
  if (values.size() < 2) return;
  auto const [lowest, highest] = std::minmax_element(values.begin(), values.end());
  double sum = 0.0;
  for (double const value : values) sum += value;
  lot.impedance_spread_percent = 100.0 * (*highest - *lowest) / (sum / static_cast<double>(values.size()));
  if (auto const* line = sheet.line("lot", "impedance_spread_percent")) lot.impedance_spread_limit = line->limit.upper;
}

void take_efficiencies(Lot& lot, LimitSheet const& sheet) {
  std::vector<double> values;
  for (auto const& unit : lot.units) {
    if (unit.efficiency_percent) values.push_back(*unit.efficiency_percent);
  }
  if (values.empty()) return;
  if (auto const* line = sheet.line("load_loss", "efficiency_percent")) {
    lot.required_efficiency_percent = line->limit.lower;
  }
  auto const asked = lot.required_efficiency_percent.value_or(values.front());
  auto const represented = represented_efficiency(values, asked);
  lot.mean_efficiency_percent = represented.mean_percent;
  lot.highest_represented_percent = represented.highest_represented_percent;
  if (lot.required_efficiency_percent) lot.represented_ok = represented.compliant;
  if (values.size() < 5) {
    lot.remarks.push_back(
        fmt::format("a sample of {}: with more than five units in six months at least five are to be "
                    "tested, with fewer every one (10 CFR 429.47(a)(2))",
                    values.size()));
  }
}

}  // namespace

Lot lot_of(std::vector<AttemptRecord> const& records) {
  Lot lot;
  AttemptRecord const* newest = nullptr;
  std::set<std::string> designs;
  for (auto const& record : records) {
    if (!record.ended) continue;
    lot.simulated = lot.simulated || record.started.simulated;
    if (record.ended->outcome != Outcome::pass && record.ended->outcome != Outcome::fail) continue;
    newest = &record;
    auto found = std::find_if(lot.units.begin(), lot.units.end(),
                              [&record](LotUnit const& unit) { return unit.serial == record.started.serial; });
    if (found == lot.units.end()) {
      lot.units.emplace_back();
      found = std::prev(lot.units.end());
      found->attempts = 0;
    }
    int const attempts = found->attempts + 1;
    LotUnit unit;
    unit.serial = record.started.serial;
    unit.attempt = record.started.attempt;
    unit.outcome = journal_words::of(record.ended->outcome);
    unit.disposition = journal_words::of(record.ended->disposition);
    unit.simulated = record.started.simulated;
    unit.attempts = attempts;
    take_numbers(unit, evaluations_of(record));
    *found = std::move(unit);
  }
  if (newest == nullptr) {
    lot.remarks.emplace_back("no attempt among these records judged a unit");
    return lot;
  }
  auto const inputs = inputs_of(*newest);
  for (auto const& record : records) designs.insert(inputs_of(record).unit.design);
  if (designs.size() > 1) lot.remarks.emplace_back("units of more than one design: ask with --design for duplicates");
  auto const& promised = inputs.unit.guarantees;
  lot.averages.push_back(
      average(lot.units, "no_load_loss_w", &LotUnit::no_load_w, promised.no_load_loss, inputs.sheet));
  lot.averages.push_back(average(lot.units, "load_loss_w", &LotUnit::load_w, promised.load_loss, inputs.sheet));
  lot.averages.push_back(average(lot.units, "total_loss_w", &LotUnit::total_w, promised.total_loss, inputs.sheet));
  take_impedances(lot, inputs.sheet);
  take_efficiencies(lot, inputs.sheet);
  for (auto const& unit : lot.units) {
    if (unit.outcome == "FAIL") lot.remarks.push_back("unit " + unit.serial + " FAILED and is counted in the averages");
  }
  return lot;
}

std::string lot_json(Lot const& lot) {
  JsonWriter json;
  json.begin_object().field("simulated", lot.simulated).key("units").begin_list();
  for (auto const& unit : lot.units) {
    json.begin_object().field("serial", unit.serial).field("record_id", unit.attempt).field("outcome", unit.outcome);
    json.field("disposition", unit.disposition).field("attempts", unit.attempts);
    json.field("no_load_loss_w", unit.no_load_w).field("load_loss_w", unit.load_w).field("total_loss_w", unit.total_w);
    json.field("impedance_percent", unit.impedance_percent).field("efficiency_percent", unit.efficiency_percent);
    json.end_object();
  }
  json.end_list().key("averages").begin_list();
  for (auto const& one : lot.averages) {
    json.begin_object().field("quantity", one.quantity).field("units", one.units);
    if (one.units > 0) json.field("mean", one.mean);
    json.field("quoted", one.quoted).field("within", one.within).end_object();
  }
  json.end_list();
  json.field("impedance_spread_percent", lot.impedance_spread_percent);
  json.field("impedance_spread_limit_percent", lot.impedance_spread_limit);
  json.field("mean_efficiency_percent", lot.mean_efficiency_percent);
  json.field("required_efficiency_percent", lot.required_efficiency_percent);
  json.field("highest_represented_percent", lot.highest_represented_percent);
  json.field("represented_ok", lot.represented_ok).field("remarks", lot.remarks).end_object();
  return json.text();
}

std::string lot_page(Lot const& lot) {
  std::string text;
  auto const line = [&text](std::string const& words) { text += words + "\n"; };
  auto const number = [](std::optional<double> value) {
    return value ? number_in_words(*value, 0.0) : std::string("-");
  };
  if (lot.simulated) line("*** SIMULATED, NOT FOR RELEASE ***");
  line(fmt::format("{:<18} {:<8} {:<8} {:>10} {:>10} {:>10} {:>8} {:>10}", "serial", "outcome", "unit", "no-load W",
                   "load W", "total W", "Z %", "eff. %"));
  for (auto const& unit : lot.units) {
    line(fmt::format("{:<18} {:<8} {:<8} {:>10} {:>10} {:>10} {:>8} {:>10}", unit.serial, unit.outcome,
                     unit.disposition, number(unit.no_load_w), number(unit.load_w), number(unit.total_w),
                     number(unit.impedance_percent),
                     unit.efficiency_percent ? number_in_words(*unit.efficiency_percent, 1e-4) : "-"));
  }
  line("");
  for (auto const& one : lot.averages) {
    if (one.units == 0) continue;
    line(fmt::format("average {} of {} units: {}, quoted {}{}", one.quantity, one.units, number_in_words(one.mean, 0.0),
                     number(one.quoted),
                     !one.within   ? ""
                     : *one.within ? ": within"
                                   : ": ABOVE, hold the last units"));
  }
  if (lot.impedance_spread_percent) {
    line(fmt::format("impedances of duplicates differ by {} %{}", number_in_words(*lot.impedance_spread_percent, 0.0),
                     lot.impedance_spread_limit ? fmt::format(", at most {} %", *lot.impedance_spread_limit) : ""));
  }
  if (lot.highest_represented_percent) {
    line(fmt::format(
        "mean efficiency {} %, the sample allows {} % to be stated{}",
        number_in_words(*lot.mean_efficiency_percent, 1e-4), number_in_words(*lot.highest_represented_percent, 1e-4),
        lot.required_efficiency_percent ? fmt::format("; required {} %: {}", *lot.required_efficiency_percent,
                                                      *lot.represented_ok ? "may be stated" : "may NOT be stated")
                                        : ""));
  }
  for (auto const& words : lot.remarks) line("remark: " + words);
  if (!text.empty()) text.pop_back();
  return text;
}

}  // namespace benchward
