// SPDX-License-Identifier: MIT
#include "firmware_host/panel/record_pages.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "firmware_host/record/record_json.hpp"
#include "firmware_host/record/result_table.hpp"
#include "firmware_host/report/record_report.hpp"
#include "firmware_host/store/journal_store.hpp"
#include "limits/documents/document_error.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"

namespace benchward::panel {
namespace {

constexpr std::size_t most_points = 100;

DirectJournalStore opened(std::string const& records) {
  return DirectJournalStore(records, JournalDatabase::Access::read_only);
}

std::optional<CatalogueRow> row_of(DirectJournalStore const& store, std::string const& id) {
  CatalogueQuery query;
  query.attempt = id;
  auto const rows = id.empty() ? std::vector<CatalogueRow>() : store.catalogue().find(query);
  if (rows.empty()) return std::nullopt;
  return rows.front();
}

std::string name_of(Result const& result) { return result.test + "/" + result.quantity + "/" + result.at; }

/// The last word of each test, as the record judges.
std::vector<Result> results_of(AttemptRecord const& record) {
  std::vector<Result> results;
  for (auto const& step : record.steps) {
    for (auto const& text : step.evaluations) {
      auto evaluation = read_json<Evaluation>(text.json, "record " + record.started.attempt);
      for (auto& result : evaluation.results) {
        auto const same = std::find_if(results.begin(), results.end(),
                                       [&](Result const& known) { return name_of(known) == name_of(result); });
        if (same != results.end()) {
          *same = std::move(result);
        } else {
          results.push_back(std::move(result));
        }
      }
    }
  }
  return results;
}

struct ChartPoint {
  CatalogueRow row;
  Result result;
};

void put(JsonWriter& json, char const* key, std::optional<double> const& value) {
  json.key(key);
  if (value && std::isfinite(*value)) {
    json.value(*value);
  } else {
    json.raw("null");
  }
}

void put_list(JsonWriter& json, char const* key, std::vector<std::string> const& words) {
  json.key(key).begin_list();
  for (auto const& word : words) json.value(word);
  json.end_list();
}

void add_once(std::vector<std::string>& list, std::string const& word) {
  if (std::find(list.begin(), list.end(), word) == list.end()) list.push_back(word);
}

std::string chart_json(DirectJournalStore const& store, ChartWishes wishes) {
  auto rows = store.catalogue().find(CatalogueQuery());
  std::erase_if(rows, [&](CatalogueRow const& row) { return row.simulated != wishes.simulated || row.last_seq == 0; });
  std::vector<std::string> designs, names;
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) add_once(designs, row->design);
  if (wishes.design.empty() && !designs.empty()) wishes.design = designs.front();
  std::vector<ChartPoint> points;
  std::size_t looked_at = 0;
  for (auto row = rows.rbegin(); row != rows.rend() && looked_at < most_points; ++row) {
    if (row->design != wishes.design) continue;
    ++looked_at;
    auto const record = record_of(store, *row);
    if (!record) continue;
    auto const results = results_of(*record);
    for (auto const& result : results) {
      if (!result.limit || result.limit->warns_only) continue;
      if (wishes.what.empty()) wishes.what = name_of(result);
      add_once(names, name_of(result));
      if (name_of(result) == wishes.what && std::isfinite(result.value)) points.push_back({*row, result});
    }
  }
  std::reverse(points.begin(), points.end());
  JsonWriter json;
  json.begin_object().field("design", wishes.design).field("what", wishes.what);
  json.field("unit", points.empty() ? "" : points.back().result.unit);
  put_list(json, "designs", designs);
  put_list(json, "whats", names);
  json.key("points").begin_list();
  for (auto const& [row, result] : points) {
    json.begin_object()
        .field("record_id", row.attempt)
        .field("serial", row.serial)
        .field("started", utc_text(row.started_us))
        .field("value", result.value);
    put(json, "lower", result.limit->lower);
    put(json, "upper", result.limit->upper);
    json.field("failed", result.verdict == Verdict::fail).end_object();
  }
  return json.end_list().end_object().text();
}

}  // namespace

Task<Response> record_page_of(std::string records, std::string id) {
  try {
    auto const store = opened(records);
    auto const row = row_of(store, id);
    auto const record = row ? record_of(store, *row) : std::nullopt;
    if (!record) co_return refusal(404, "there is no record of this id");
    co_return json_answer(JsonWriter()
                              .begin_object()
                              .field("text", record_page(*record))
                              .key("record")
                              .raw(record_json(*record))
                              .end_object()
                              .text());
  } catch (DocumentError const& wrong) {
    co_return refusal(409, wrong.what());
  } catch (StoreError const& wrong) {
    co_return refusal(409, wrong.what());
  }
}

Task<Response> report_of(std::string records, std::string id) {
  try {
    auto const store = opened(records);
    auto const row = row_of(store, id);
    auto const record = row ? record_of(store, *row) : std::nullopt;
    if (!record) co_return refusal(404, "there is no record of this id");
    if (!record->ended) co_return refusal(409, "this run has not ended: it has no report yet");
    auto const made = report::report_of_record(store, *row, *record, report::Wishes(), report::Issue());
    Response response;
    response.content_type = "application/pdf";
    response.body = report::pdf_of(made);
    response.headers.emplace_back("Cache-Control", "no-store");
    response.headers.emplace_back("Content-Disposition", "attachment; filename=\"" + made.number + ".pdf\"");
    co_return response;
  } catch (DocumentError const& wrong) {
    co_return refusal(409, wrong.what());
  } catch (StoreError const& wrong) {
    co_return refusal(409, wrong.what());
  }
}

Task<Response> chart_of(std::string records, ChartWishes wishes) {
  try {
    auto const store = opened(records);
    co_return json_answer(chart_json(store, std::move(wishes)));
  } catch (DocumentError const& wrong) {
    co_return refusal(409, wrong.what());
  } catch (StoreError const& wrong) {
    co_return refusal(409, wrong.what());
  }
}

}  // namespace benchward::panel
