// SPDX-License-Identifier: MIT
#include "firmware_host/report/unit_report.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "firmware_host/record/recompute.hpp"
#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "firmware_host/report/report_parts.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/sequence/outcome.hpp"

namespace benchward::report {
namespace {

constexpr char const* simulated_mark = "SIMULATED, NOT FOR RELEASE";

std::string decision_words(LimitSheet const& sheet) {
  std::set<std::string> rules;
  for (auto const& line : sheet.lines) {
    auto const& rule = line.decision;
    if (rule.name == "simple_acceptance") {
      rules.insert(
          "simple acceptance: a result inside its limit passes, whatever its uncertainty; at the limit itself "
          "the risk of a wrong acceptance is up to 50 % (ILAC-G8:09/2019, 4.2.1)");
    } else if (rule.name == "guard_band") {
      rules.insert(
          fmt::format("guard band of {} times the expanded uncertainty U (k = 2); for one U the risk of a wrong "
                      "acceptance is below 2.5 % (ILAC-G8:09/2019, 4.2.2)",
                      rule.guard_factor));
    } else {
      rules.insert(fmt::format("{}: a wrong acceptance has a probability of at most {} % (JCGM 106:2012), prior {}",
                               spaced_words(rule.name), 100.0 * rule.risk, rule.prior));
    }
  }
  std::string text;
  for (auto const& rule : rules) text += (text.empty() ? "" : "; ") + rule;
  return text.empty() ? "no limit was judged" : text;
}

std::string outcome_words(AttemptRecord const& record, std::vector<Evaluation> const& evaluations) {
  auto const& ended = *record.ended;
  std::size_t judged = 0, failed = 0;
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      judged += result.verdict != Verdict::not_judged;
      failed += result.verdict == Verdict::fail || result.verdict == Verdict::conditional_fail;
    }
  }
  switch (ended.outcome) {
    case Outcome::pass:
      return fmt::format("PASS: the unit meets limit set {} {} in all {} results that are judged.",
                         record.started.limit_set, record.started.limit_set_version, judged);
    case Outcome::fail:
      return fmt::format("FAIL: the unit does not meet limit set {} {}: {} of {} judged results are outside; {}.",
                         record.started.limit_set, record.started.limit_set_version, failed, judged, ended.reason);
    case Outcome::invalid:
      return "INVALID: no statement about the unit; the measurement could not be judged: " + ended.reason + ".";
    case Outcome::aborted:
      return "ABORTED: no statement about the unit; the tests were stopped: " + ended.reason + ".";
    case Outcome::not_run:
      return "NOT RUN: no statement about the unit: " + ended.reason + ".";
  }
  return ended.reason;
}

std::string disposition_words(AttemptRecord const& record) {
  if (record.started.simulated) {
    return fmt::format(
        "{}. The bench was simulated: nothing in this report is a measurement of a real unit, and it "
        "releases nothing. (On a real bench: {}.)",
        simulated_mark, disposition_in_words(record.ended->disposition, record.started.stage));
  }
  switch (record.ended->disposition) {
    case Disposition::release:
      if (record.started.stage == "before_closing")
        return "The tank may be closed. The unit is not released by this stage.";
      return "The unit may be released.";
    case Disposition::hold:
      return "The unit is HELD: it is not released, and nobody energises it again without a reason that quality signs.";
    case Disposition::repeat:
      return "The unit is NOT released: tests are to be repeated.";
  }
  return "";
}

bool broke_down(AttemptRecord const& record) {
  for (auto const& step : record.steps) {
    for (auto const& readings : step.readings) {
      if (readings.kind == "breakdown") return true;
    }
  }
  return false;
}

void add_front(Report& report, Wishes const& wishes, Issue const& issue, std::string const& customer,
               std::string const& tested) {
  Facts facts;
  auto const add = [&](char const* word, std::string const& value) {
    facts.rows.emplace_back(in_words(wishes, word), value);
  };
  auto const or_not = [](std::string const& text) { return text.empty() ? std::string("not stated") : text; };
  add("Report number", report.number);
  if (!issue.replaces.empty()) {
    add("Replaces", issue.replaces + ", which is no longer valid. Reason: " + issue.reason);
  }
  add("Laboratory", or_not(wishes.laboratory));
  add("Address", or_not(wishes.laboratory_address));
  if (!wishes.place.empty()) add("Place of the tests", wishes.place);
  add("Customer", or_not(wishes.customer.empty() ? customer : wishes.customer) +
                      (wishes.customer_contact.empty() ? "" : ", " + wishes.customer_contact));
  add("Date of the tests", tested);
  add("Date of issue", report.issued);
  auto const authoriser = issue.authorised_by.empty() ? wishes.authorised_by : issue.authorised_by;
  add("Authorised by",
      authoriser.empty() ? "NOT AUTHORISED: a draft until signed here: ______________________________" : authoriser);
  report.blocks.emplace_back(std::move(facts));
  report.blocks.emplace_back(Paragraph{
      "The results concern only the items tested. The report may be copied only in full unless the laboratory "
      "agrees in writing.",
      false});
}

void add_record(Report& report, Wishes const& wishes, std::string const& head, bool of_lot) {
  report.blocks.emplace_back(Heading{in_words(wishes, "Traceability")});
  report.blocks.emplace_back(Paragraph{
      of_lot
          ? "Attached inside: the numbers of this report (lot.json). Each unit's own report carries its record and the "
            "journal's entries; the journal's newest signed head is below."
          : "Attached inside: the record (record-*.json) and the journal's own entries (journal-*.jsonl). Each entry "
            "carries the SHA-256 of the one before it, and the head below is signed (Ed25519). Take the attachment out "
            "and run: benchward records verify --extract FILE --key PUBLIC-KEY-FILE, with the public key got from the "
            "laboratory by another way than this report.",
      false});
  report.blocks.emplace_back(Paragraph{in_words(wishes, "Signed head"), true});
  report.blocks.emplace_back(Fixed{head.empty() ? "none: this journal has no signed head behind the record" : head});
}

}  // namespace

std::string report_number(std::string const& id, Wishes const& wishes, Issue const& issue) {
  int revision = 1;
  std::string const tail = wishes.name.empty() ? "" : "-" + wishes.name;
  if (!issue.replaces.empty()) {
    auto const front = id + "-";
    auto const& old = issue.replaces;
    auto const fail = [&] {
      throw DocumentError(
          "report.replaces", "--replaces", "",
          "\"" + old + "\" is no number of a report of this record; such a number begins with " + front + "1" + tail);
    };
    if (old.compare(0, front.size(), front) != 0) fail();
    auto const [end, error] = std::from_chars(old.data() + front.size(), old.data() + old.size(), revision);
    if (error != std::errc() || revision < 1 || revision > 9999) fail();
    if (end != old.data() + old.size() && *end != '-') fail();
    ++revision;
  }
  return fmt::format("{}-{}{}", id, revision, tail);
}

Report unit_report(AttemptRecord const& record, std::vector<AttemptRecord> const& attempts, Wishes const& wishes,
                   Issue const& issue, std::string const& extract, std::string const& head) {
  if (!record.ended) {
    throw DocumentError(
        "report.open", record.started.attempt, "",
        "this attempt has not ended: it runs, or its program was stopped. There is no report of it; the "
        "next start of the program on this folder closes it as ABORTED");
  }
  if (issue.replaces.empty() != issue.reason.empty()) {
    throw DocumentError("report.replaces", "--replaces", "",
                        "a report that replaces another names it (--replaces NUMBER) and says why (--reason TEXT)");
  }
  auto const evaluations = evaluations_of(record);
  auto const inputs = inputs_of(record);
  auto const& unit = inputs.unit;
  Report report;
  report.number = report_number(record.started.attempt, wishes, issue);
  report.title = in_words(wishes, "Test report");
  report.subtitle = fmt::format("{} {}", in_words(wishes, "Serial number"), unit.serial);
  if (report.subtitle.size() > 160) {
    // A serial of any length must not push the page's foot away; it stands whole under "Unit".
    std::size_t cut = 150;
    while (cut > 0 && (static_cast<unsigned char>(report.subtitle[cut]) & 0xC0u) == 0x80u) --cut;
    report.subtitle = report.subtitle.substr(0, cut) + "...";
  }
  report.letter = wishes.paper == "letter";
  report.issued = issue.issued.empty() ? utc_text(record.ended_at.utc_us).substr(0, 10) : issue.issued;
  if (record.started.simulated) report.mark = simulated_mark;

  auto const begin = utc_text(record.started_at.utc_us).substr(0, 16),
             end = utc_text(record.ended_at.utc_us).substr(0, 16);
  auto const spaced_time = [](std::string text) {
    text[10] = ' ';
    return text;
  };
  add_front(report, wishes, issue, unit.customer, spaced_time(begin) + " to " + spaced_time(end) + " UTC");
  report.blocks.emplace_back(Heading{in_words(wishes, "Outcome")});
  report.blocks.emplace_back(Paragraph{outcome_words(record, evaluations), true});
  report.blocks.emplace_back(Paragraph{disposition_words(record), record.started.simulated});
  report.blocks.emplace_back(Paragraph{
      "The program that tested is not a safety function. Neither a screen nor this paper proves that a unit is dead: "
      "before anybody touches it, isolate, test dead and apply a visible earth. Site rules, local codes and licensed "
      "practice decide.",
      false});
  if (!record.ended->repeat.empty()) {
    std::string list;
    for (auto const& test : record.ended->repeat) list += (list.empty() ? "" : ", ") + spaced_words(test);
    report.blocks.emplace_back(Paragraph{"Not done or to be repeated: " + list, true});
  }
  if (broke_down(record)) {
    report.blocks.emplace_back(Caution{
        "This unit broke down under test. It stays suspect, also after a passed repeat, until the cause is found "
        "and repaired."});
  }
  report.blocks.emplace_back(Heading{in_words(wishes, "Unit")});
  report.blocks.emplace_back(unit_facts(unit, record, wishes));

  report.blocks.emplace_back(Heading{in_words(wishes, "Specification")});
  Facts specification;
  specification.rows.emplace_back(
      in_words(wishes, "Specification"),
      fmt::format("limit set {} {} ({})", record.started.limit_set, record.started.limit_set_version,
                  record.started.limit_set_hash.substr(0, 12)));
  specification.rows.emplace_back(
      in_words(wishes, "Methods"),
      unit.standard == StandardFamily::ieee
          ? "routine tests by IEEE C57.12.00 and C57.12.90, losses by 10 CFR 431 subpart K "
            "appendix A; source and edition of each limit below"
          : "routine tests by IEC 60076-1 and 60076-3; source and edition of each limit below");
  specification.rows.emplace_back(in_words(wishes, "Decision rule"), decision_words(inputs.sheet));
  specification.rows.emplace_back(in_words(wishes, "Conditions"),
                                  fmt::format("losses referred to {} degC (no-load) and {} degC (load)",
                                              unit.reference.no_load.in(celsius), unit.reference.load.in(celsius)));
  report.blocks.emplace_back(std::move(specification));

  report.blocks.emplace_back(Heading{in_words(wishes, "Results")});
  report.blocks.emplace_back(result_rows(evaluations, wishes));
  report.blocks.emplace_back(Paragraph{
      "uncertainty: expanded, U = k u with k = 2 (about 95 %). Margin: distance to the nearest limit. \"elsewhere\" "
      "results are those of another station, taken over on the word of the person named in the record.",
      false});
  if (wishes.reference_c && *wishes.reference_c != unit.reference.load.in(celsius)) {
    auto other = inputs;
    other.unit.reference.load = celsius(*wishes.reference_c);
    std::vector<Evaluation> at_other;
    for (auto& evaluation : evaluations_again(record, other)) {
      if (evaluation.test != "load_loss") continue;
      Evaluation shown;
      shown.test = evaluation.test;
      for (auto& result : evaluation.results) {
        if (result.quantity != "corrected_load_loss_w" && result.quantity != "total_loss_w" &&
            result.quantity != "impedance_percent") {
          continue;
        }
        // Only stated: the order's limits hold at the order's temperature.
        result.limit.reset();
        result.verdict = Verdict::not_judged;
        shown.results.push_back(std::move(result));
      }
      at_other.push_back(std::move(shown));
    }
    report.blocks.emplace_back(
        Paragraph{fmt::format("At {} degC, as the customer wishes; computed from the same raw readings, not judged:",
                              *wishes.reference_c),
                  true});
    report.blocks.emplace_back(result_rows(at_other, wishes));
  }
  bool any_warning = false;
  for (auto const& evaluation : evaluations) any_warning = any_warning || !evaluation.warnings.empty();
  if (any_warning) {
    report.blocks.emplace_back(Heading{in_words(wishes, "Cautions")});
    for (auto const& evaluation : evaluations) {
      for (auto const& words : evaluation.warnings)
        report.blocks.emplace_back(Paragraph{spaced_words(evaluation.test) + ": " + words, false});
    }
  }
  for (auto& chart : charts_of(record, evaluations)) report.blocks.emplace_back(std::move(chart));

  report.blocks.emplace_back(Heading{in_words(wishes, "Conditions")});
  report.blocks.emplace_back(condition_facts(record));
  report.blocks.emplace_back(step_table(record, wishes));
  report.blocks.emplace_back(Heading{in_words(wishes, "Instruments")});
  report.blocks.emplace_back(instrument_table(record, wishes));
  report.blocks.emplace_back(Heading{in_words(wishes, "Attempts")});
  report.blocks.emplace_back(attempt_table(attempts, record.started.attempt, wishes));
  std::size_t trips = 0;
  for (auto const& notice : record.guard) {
    if (!notice.trip || !notice.trip->happened) continue;
    ++trips;
    report.blocks.emplace_back(
        Paragraph{"Trip at " + utc_text(notice.at.utc_us).substr(0, 19) + ": " + notice.trip->first.words, true});
  }
  if (trips == 0) report.blocks.emplace_back(Paragraph{"No trip in this attempt.", false});

  report.blocks.emplace_back(Heading{"Limits and where they come from"});
  Table sources;
  sources.columns = {{"rule", 1.7}, {"number", 2.6}, {"source", 3.6}};
  std::set<std::string> listed;
  for (auto const& evaluation : evaluations) {
    for (auto const& result : evaluation.results) {
      if (!result.limit || result.quantity == "passed" ||
          !listed.insert(result.limit->rule + result.limit->origin).second)
        continue;
      sources.rows.push_back({result.limit->rule, result.limit->origin, result.limit->source});
    }
  }
  report.blocks.emplace_back(std::move(sources));
  for (auto const& statement : wishes.statements) report.blocks.emplace_back(Paragraph{statement, false});

  report.blocks.emplace_back(Heading{in_words(wishes, "Record")});
  Facts documents_used;
  documents_used.rows = {{"Record id", fmt::format("{}, journal entries {} to {}", record.started.attempt,
                                                   record.first_seq, record.last_seq)},
                         {in_words(wishes, "Tested by"), record.started.person},
                         {"Program", record.started.program_version},
                         {"Unit document, SHA-256", record.started.unit_hash},
                         {"Limit set, SHA-256", record.started.limit_set_hash},
                         {"Plan, SHA-256", record.started.plan_hash},
                         {"Bench document, SHA-256", record.started.bench_hash}};
  report.blocks.emplace_back(std::move(documents_used));
  add_record(report, wishes, head, false);
  report.blocks.emplace_back(
      Caution{"This report does not say that the unit is dead or earthed now. Before touching a "
              "terminal: test dead and apply a visible earth."});
  report.attachments.push_back({"record-" + record.started.attempt + ".json", "application/json",
                                "the record as this program reads it", record_json(record) + "\n"});
  if (!extract.empty()) {
    report.attachments.push_back({"journal-" + record.started.attempt + ".jsonl", "application/x-ndjson",
                                  "the journal's own entries, chained and signed", extract});
  }
  return report;
}

Report lot_report(Lot const& lot, std::string const& of, std::vector<AttemptRecord> const& records,
                  Wishes const& wishes, Issue const& issue, std::string const& head) {
  if (records.empty() || lot.units.empty()) {
    throw DocumentError("report.lot", of, "",
                        "no attempt among these records judged a unit: there is no lot to report");
  }
  Report report;
  auto const& last = records.back();
  report.number = report_number("LOT-" + last.started.attempt, wishes, issue);
  report.title = in_words(wishes, "Lot report");
  report.subtitle = of;
  report.letter = wishes.paper == "letter";
  report.issued = issue.issued.empty()
                      ? utc_text(last.ended ? last.ended_at.utc_us : last.started_at.utc_us).substr(0, 10)
                      : issue.issued;
  if (lot.simulated) report.mark = simulated_mark;
  add_front(report, wishes, issue, inputs_of(last).unit.customer,
            utc_text(records.front().started_at.utc_us).substr(0, 10) + " to " +
                utc_text(last.started_at.utc_us).substr(0, 10));
  report.blocks.emplace_back(Heading{in_words(wishes, "Averages")});
  Table averages;
  averages.columns = {{in_words(wishes, "quantity"), 2.0},
                      {in_words(wishes, "Units"), 0.7, true},
                      {in_words(wishes, "average"), 1.2, true},
                      {in_words(wishes, "quoted"), 1.2, true},
                      {in_words(wishes, "verdict"), 1.6}};
  for (auto const& one : lot.averages) {
    if (one.units == 0) continue;
    if (one.within == false) averages.strong_rows.push_back(averages.rows.size());
    averages.rows.push_back({spaced_words(one.quantity), std::to_string(one.units),
                             number_in_words(one.mean, 1.0) + " W",
                             one.quoted ? number_in_words(*one.quoted, 0.0) + " W" : "-",
                             !one.within   ? "not judged"
                             : *one.within ? "within"
                                           : "ABOVE: hold the last units"});
  }
  report.blocks.emplace_back(std::move(averages));
  Facts more;
  if (lot.impedance_spread_percent) {
    more.rows.emplace_back(
        "Impedances of duplicates",
        fmt::format("differ by {} %{}", number_in_words(*lot.impedance_spread_percent, 0.01),
                    lot.impedance_spread_limit ? fmt::format("; at most {} %", *lot.impedance_spread_limit) : ""));
  }
  if (lot.highest_represented_percent) {
    more.rows.emplace_back("Efficiency of the basic model",
                           fmt::format("mean {} %; this sample allows {} % to be represented{}",
                                       number_in_words(*lot.mean_efficiency_percent, 1e-3),
                                       number_in_words(*lot.highest_represented_percent, 1e-3),
                                       lot.required_efficiency_percent
                                           ? fmt::format("; required {} %: {}", *lot.required_efficiency_percent,
                                                         *lot.represented_ok ? "may be stated" : "may NOT be stated")
                                           : ""));
  }
  report.blocks.emplace_back(std::move(more));
  for (auto const& words : lot.remarks) report.blocks.emplace_back(Paragraph{words, true});
  std::vector<double> totals;
  std::optional<double> limit;
  for (auto const& unit : lot.units) {
    if (unit.total_w) totals.push_back(*unit.total_w);
  }
  for (auto const& record : records) {
    for (auto const& evaluation : evaluations_of(record)) {
      for (auto const& result : evaluation.results) {
        if (result.quantity == "total_loss_w" && result.limit) limit = result.limit->upper;
      }
    }
  }
  if (totals.size() > 2) {
    Chart histogram;
    histogram.title = "Total losses of the units";
    histogram.x_title = "W";
    histogram.y_title = "units";
    histogram.bars = true;
    auto const [low, high] = std::minmax_element(totals.begin(), totals.end());
    constexpr int bins = 8;
    double const width = std::max((*high - *low) / bins, 1e-6 * *high);
    histogram.bar_width = width;
    for (int i = 0; i < bins; ++i) histogram.points.emplace_back(*low + width * (i + 0.5), 0.0);
    for (double const value : totals) {
      auto const bin = std::min(bins - 1, static_cast<int>((value - *low) / width));
      histogram.points[static_cast<std::size_t>(bin)].second += 1.0;
    }
    histogram.limit_x = limit;
    if (limit) histogram.limit_words = fmt::format("dashed: limit of one unit, {} W", number_in_words(*limit, 0.5));
    report.blocks.emplace_back(std::move(histogram));
  }
  report.blocks.emplace_back(Heading{in_words(wishes, "Units")});
  Table units;
  units.columns = {{in_words(wishes, "Serial number"), 2.4},
                   {in_words(wishes, "outcome"), 1.0},
                   {in_words(wishes, "unit"), 1.0},
                   {"no-load W", 1.0, true},
                   {"load W", 1.0, true},
                   {"total W", 1.0, true},
                   {"Z %", 0.9, true},
                   {"efficiency %", 1.1, true},
                   {in_words(wishes, "Attempts"), 1.1, true}};
  auto const number = [](std::optional<double> value, double u) { return value ? number_in_words(*value, u) : "-"; };
  for (auto const& unit : lot.units) {
    if (unit.outcome != "PASS") units.strong_rows.push_back(units.rows.size());
    units.rows.push_back({unit.serial, unit.outcome, unit.disposition, number(unit.no_load_w, 0.1),
                          number(unit.load_w, 1.0), number(unit.total_w, 1.0), number(unit.impedance_percent, 0.01),
                          number(unit.efficiency_percent, 0.01), std::to_string(unit.attempts)});
  }
  report.blocks.emplace_back(std::move(units));
  for (auto const& statement : wishes.statements) report.blocks.emplace_back(Paragraph{statement, false});
  add_record(report, wishes, head, true);
  report.attachments.push_back({"lot.json", "application/json", "the numbers of this report", lot_json(lot) + "\n"});
  return report;
}

}  // namespace benchward::report
