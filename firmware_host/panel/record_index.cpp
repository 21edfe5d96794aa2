// SPDX-License-Identifier: MIT
#include "firmware_host/panel/record_index.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/readings_json.hpp"
#include "tests_seq/journal/event.hpp"
#include "tests_seq/journal/events.hpp"

namespace benchward::panel {
namespace {

std::string text_of(documents::Json const& data, char const* key) {
  auto const found = data.find(key);
  return found != data.end() && found->is_string() ? found->get<std::string>() : std::string();
}

}  // namespace

void RecordIndex::read(EventStore const& store) {
  std::map<std::string, std::size_t> place;
  std::map<std::string, std::uint64_t> first_entry;
  store.scan(0, [&](StoredEvent const& stored) {
    bool const starts = stored.bytes.find("\"type\":\"attempt started\"") != std::string::npos;
    bool const ends = stored.bytes.find("\"type\":\"attempt ended\"") != std::string::npos;
    bool const checks = stored.bytes.find("\"type\":\"object checked\"") != std::string::npos;
    if (!starts && !ends && !checks) return true;
    try {
      auto const event = parse_event(stored.bytes);
      auto const data = documents::parse_json(event.data, "journal");
      if (event.type == event_type::attempt_started) {
        RecordLine line;
        line.record_id = event.attempt;
        line.serial = text_of(data, "serial");
        line.stage = text_of(data, "stage");
        line.started_us = event.at.utc_us;
        line.started = utc_text(event.at.utc_us);
        line.simulated = data.value("simulated", false);
        line.outcome = "ABORTED";
        line.disposition = "repeat";
        line.reason = "has not ended";
        place[event.attempt] = lines_.size();
        first_entry[event.attempt] = stored.seq;
        lines_.push_back(std::move(line));
      } else if (event.type == event_type::object_checked) {
        auto const first = first_entry.find(event.attempt);
        checked_[text_of(data, "bench_hash")][text_of(data, "object")] =
            first == first_entry.end() ? stored.seq : first->second;
      } else if (auto const at = place.find(event.attempt); at != place.end()) {
        auto& line = lines_[at->second];
        line.outcome = text_of(data, "outcome");
        line.disposition = text_of(data, "disposition");
        line.reason = text_of(data, "reason");
        line.minutes = static_cast<double>(event.at.utc_us - line.started_us) / 60e6;
      }
    } catch (DocumentError const&) {
      // A view: what the journal itself thinks of the entry is said by its verification.
    }
    return true;
  });
}

void RecordIndex::add(RecordLine line) { lines_.push_back(std::move(line)); }

std::vector<RecordLine> RecordIndex::find(RecordSearch const& wanted, std::size_t most) const {
  std::vector<RecordLine> found;
  for (auto it = lines_.rbegin(); it != lines_.rend() && found.size() < most; ++it) {
    if (it->serial.compare(0, wanted.serial.size(), wanted.serial) != 0) continue;
    if (!wanted.outcome.empty() && it->outcome != wanted.outcome) continue;
    auto const day = it->started.substr(0, 10);
    if (!wanted.from.empty() && day < wanted.from) continue;
    if (!wanted.to.empty() && day > wanted.to) continue;
    found.push_back(*it);
  }
  return found;
}

std::vector<RecordLine> RecordIndex::since(std::int64_t utc_us) const {
  std::vector<RecordLine> found;
  // Not until the first older one: a clock that was put right would hide what came before.
  for (auto it = lines_.rbegin(); it != lines_.rend(); ++it) {
    if (it->started_us >= utc_us) found.push_back(*it);
  }
  return found;
}

std::string RecordIndex::why_a_reason(std::string const& serial) const {
  for (auto it = lines_.rbegin(); it != lines_.rend(); ++it) {
    if (it->serial != serial) continue;
    if (it->disposition == "hold") return "On hold: " + it->reason;
    // A tank that may be closed is no unit that was released: the next stage follows.
    if (it->disposition == "release" && it->stage == "before_closing") return "";
    if (it->disposition == "release") return it->simulated ? "" : "Released already on " + it->started.substr(0, 10);
  }
  return "";
}

std::optional<std::uint64_t> RecordIndex::bench_checked_at(std::string const& bench_hash) const {
  auto const found = checked_.find(bench_hash);
  if (found == checked_.end()) return std::nullopt;
  auto const oldest = std::min_element(found->second.begin(), found->second.end(),
                                       [](auto const& one, auto const& other) { return one.second < other.second; });
  return oldest->second;
}

}  // namespace benchward::panel
