// SPDX-License-Identifier: MIT
#include "tests_seq/journal/event.hpp"

#include <array>
#include <charconv>
#include <limits>
#include <optional>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"
#include "limits/documents/readings_json.hpp"
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
    KnownType{event_type::clock_set_back, 1},  KnownType{event_type::wire_frames, 1},
    KnownType{event_type::rework, 1},          KnownType{event_type::object_checked, 1},
    KnownType{event_type::hold_lifted, 1},
};

constexpr char const* document_name = "journal entry";

/// The two numbers out of the front part that `serialise` writes in this order, without parsing the rest: verifying a
/// million entries must not cost a million parsed documents. Nothing where the bytes look otherwise.
std::optional<ChainLink> link_at_front(std::string_view bytes) {
  auto const skip = [&bytes](std::string_view expected) {
    if (bytes.substr(0, expected.size()) != expected) return false;
    bytes.remove_prefix(expected.size());
    return true;
  };
  auto const number = [&bytes](std::uint64_t& value) {
    auto const [end, error] = std::from_chars(bytes.data(), bytes.data() + bytes.size(), value);
    if (error != std::errc() || value == 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(end - bytes.data()));
    return true;
  };
  if (!skip("{\"type\":\"")) return std::nullopt;
  auto const quote = bytes.find('"');
  if (quote == std::string_view::npos || bytes.substr(0, quote).find('\\') != std::string_view::npos)
    return std::nullopt;
  bytes.remove_prefix(quote);
  std::uint64_t version = 0;
  ChainLink link;
  if (!skip("\",\"v\":") || !number(version) || !skip(",\"seq\":") || !number(link.seq) || !skip(",\"prev\":\""))
    return std::nullopt;
  if (bytes.size() < chain_begin.size() + 1 || bytes[chain_begin.size()] != '"') return std::nullopt;
  link.prev = bytes.substr(0, chain_begin.size());
  if (link.prev.find_first_not_of("0123456789abcdef") != std::string::npos) return std::nullopt;
  return link;
}

}  // namespace

std::string serialise(Event const& event) {
  JsonWriter json;
  json.begin_object()
      .field("type", event.type)
      .field("v", event.version)
      .field("seq", event.seq)
      .field("prev", event.prev)
      .field("utc", utc_text(event.at.utc_us))
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
  try {
    event.at.utc_us = utc_from_text(reader.text("utc", "a UTC instant"));
  } catch (std::invalid_argument const& error) {
    reader.fail("journal.time", "utc", error.what());
  }
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
  if (auto link = link_at_front(bytes)) return *std::move(link);
  auto const json = documents::parse_json(bytes, document_name);
  documents::ObjectReader reader(json, document_name);
  ChainLink link;
  link.seq = static_cast<std::uint64_t>(
      reader.integer("seq", "the entry's number", 1, std::numeric_limits<std::int64_t>::max()));
  link.prev = reader.text("prev", "a SHA-256 as hex");
  return link;
}

}  // namespace benchward
