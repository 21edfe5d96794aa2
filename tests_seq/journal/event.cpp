// SPDX-License-Identifier: MIT
#include "tests_seq/journal/event.hpp"

#include <array>
#include <chrono>

#include <fmt/format.h>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "tests_seq/journal/events.hpp"

namespace benchward {

namespace {

struct KnownType {
  std::string_view type;
  int version;
};

/// Every type that this program writes or has ever written, with the newest version of its data that it reads.
constexpr std::array known_types{
    KnownType{event_type::program_started, 1}, KnownType{event_type::attempt_started, 1},
    KnownType{event_type::step_started, 1},    KnownType{event_type::energise_intended, 1},
    KnownType{event_type::readings, 1},        KnownType{event_type::evaluation, 1},
    KnownType{event_type::guard_event, 1},     KnownType{event_type::operator_act, 1},
    KnownType{event_type::question, 1},        KnownType{event_type::fault, 1},
    KnownType{event_type::step_ended, 1},      KnownType{event_type::judgement, 1},
    KnownType{event_type::attempt_ended, 1},   KnownType{event_type::events_lost, 1},
};

constexpr char const* document_name = "journal entry";

}  // namespace

std::string rfc3339(std::int64_t utc_us) {
  using namespace std::chrono;
  std::int64_t const us_per_day = 86400000000LL;
  std::int64_t day = utc_us / us_per_day;
  std::int64_t rest = utc_us % us_per_day;
  if (rest < 0) {
    rest += us_per_day;
    --day;
  }
  year_month_day const date{sys_days{days{day}}};
  std::int64_t const second = rest / 1000000;
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:06}Z", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), second / 3600,
                     second / 60 % 60, second % 60, rest % 1000000);
}

std::int64_t utc_us_of(std::string_view text) {
  auto const refuse = [&]() {
    return DocumentError(
        "journal.time", document_name, "/utc",
        "expected a UTC instant with microseconds as 2030-01-01T00:00:00.000000Z, got \"" + std::string(text) + "\"");
  };
  static constexpr std::string_view shape = "dddd-dd-ddTdd:dd:dd.ddddddZ";
  if (text.size() != shape.size()) throw refuse();
  for (std::size_t i = 0; i < shape.size(); ++i) {
    bool const digit = text[i] >= '0' && text[i] <= '9';
    if (shape[i] == 'd' ? !digit : text[i] != shape[i]) throw refuse();
  }
  auto const number = [&](std::size_t from, std::size_t count) {
    std::int64_t value = 0;
    for (std::size_t i = from; i < from + count; ++i) value = value * 10 + (text[i] - '0');
    return value;
  };
  using namespace std::chrono;
  year_month_day const date{year{static_cast<int>(number(0, 4))}, month{static_cast<unsigned>(number(5, 2))},
                            day{static_cast<unsigned>(number(8, 2))}};
  if (!date.ok() || number(11, 2) > 23 || number(14, 2) > 59 || number(17, 2) > 59) throw refuse();
  std::int64_t const days_since = sys_days{date}.time_since_epoch().count();
  return ((days_since * 24 + number(11, 2)) * 3600 + number(14, 2) * 60 + number(17, 2)) * 1000000 + number(20, 6);
}

std::string serialise(Event const& event) {
  JsonWriter json;
  json.begin_object()
      .field("type", event.type)
      .field("v", event.version)
      .field("seq", event.seq)
      .field("prev", event.prev)
      .field("utc", rfc3339(event.at.utc_us))
      .field("monotonic_ns", event.at.monotonic_ns)
      .field("boot", event.boot);
  if (!event.attempt.empty()) json.field("attempt", event.attempt);
  json.key("data").raw(event.data).end_object();
  return json.text();
}

int known_version(std::string_view type) {
  for (auto const& known : known_types) {
    if (known.type == type) return known.version;
  }
  return 0;
}

Event parse_event(std::string_view bytes) {
  auto const json = documents::parse_json(bytes, document_name);
  documents::ObjectReader reader(json, document_name);
  Event event;
  event.type = reader.text("type", "the event's type");
  event.version = static_cast<int>(reader.integer("v", "a version number", 1, 1000000));
  int const known = known_version(event.type);
  if (known == 0) {
    reader.fail("journal.type", "type",
                "this program knows no event \"" + event.type + "\": a newer one wrote it; read it with that one");
  }
  if (event.version > known) {
    reader.fail("journal.version", "v",
                fmt::format("\"{}\" has version {}, this program reads up to {}: read it with the newer program",
                            event.type, event.version, known));
  }
  event.seq = static_cast<std::uint64_t>(
      reader.integer("seq", "the entry's number", 1, std::numeric_limits<std::int64_t>::max()));
  event.prev = reader.text("prev", "a SHA-256 as hex");
  event.at.utc_us = utc_us_of(reader.text("utc", "a UTC instant"));
  event.at.monotonic_ns = reader.integer("monotonic_ns", "nanoseconds", std::numeric_limits<std::int64_t>::min(),
                                         std::numeric_limits<std::int64_t>::max());
  event.boot = reader.text("boot", "the id of the computer's run");
  event.attempt = reader.text_or("attempt", "", "the attempt's id");
  auto const& data = reader.raw("data", "the event's data");
  if (!data.is_object()) reader.fail("document.wrong-type", "data", "expected an object");
  event.data = data.dump();
  reader.finish();
  return event;
}

ChainLink parse_chain_link(std::string_view bytes) {
  auto const json = documents::parse_json(bytes, document_name);
  documents::ObjectReader reader(json, document_name);
  ChainLink link;
  link.seq = static_cast<std::uint64_t>(
      reader.integer("seq", "the entry's number", 1, std::numeric_limits<std::int64_t>::max()));
  link.prev = reader.text("prev", "a SHA-256 as hex");
  return link;
}

}  // namespace benchward
