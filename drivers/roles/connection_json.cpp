// SPDX-License-Identifier: MIT
#include "drivers/roles/connection_json.hpp"

#include <array>
#include <stdexcept>
#include <utility>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward {

namespace {

using documents::Json;
using documents::ObjectReader;

constexpr std::array<documents::Word<char const*>, 6> instruments{{{"none", "none"},
                                                                   {"ratio_meter", "ratio_meter"},
                                                                   {"resistance_meter", "resistance_meter"},
                                                                   {"ac_source", "ac_source"},
                                                                   {"dielectric_tester", "dielectric_tester"},
                                                                   {"insulation_meter", "insulation_meter"}}};

void check_terminal(std::string const& word, std::string const& document, std::string const& path) {
  // "H1+H2" names tied terminals as one end of a winding.
  std::size_t start = 0;
  while (start <= word.size()) {
    auto const end = word.find('+', start);
    auto const part = word.substr(start, end == std::string::npos ? std::string::npos : end - start);
    try {
      terminal_named(part);
    } catch (std::invalid_argument const& wrong) {
      throw DocumentError("connection.terminal", document, path, wrong.what());
    }
    if (end == std::string::npos) break;
    start = end + 1;
  }
}

std::vector<std::string> terminals(Json const& value, std::string const& document, std::string const& path) {
  if (!value.is_array()) {
    throw DocumentError("document.type", document, path,
                        "expected a list of terminals, got " + documents::shown(value));
  }
  std::vector<std::string> list;
  for (auto const& entry : value) {
    auto const at = path + "/" + std::to_string(list.size());
    if (!entry.is_string()) {
      throw DocumentError("document.type", document, at, "expected a terminal, got " + documents::shown(entry));
    }
    list.push_back(entry.get<std::string>());
    check_terminal(list.back(), document, at);
  }
  return list;
}

std::vector<std::string> optional_terminals(ObjectReader& reader, std::string_view key) {
  Json const* value = reader.optional_raw(key);
  if (value == nullptr) return {};
  return terminals(*value, reader.document(), reader.path_of(key));
}

std::vector<std::vector<std::string>> optional_groups(ObjectReader& reader, std::string_view key) {
  Json const* value = reader.optional_raw(key);
  if (value == nullptr) return {};
  if (!value->is_array()) {
    reader.fail("document.type", key, "expected a list of lists of terminals, got " + documents::shown(*value));
  }
  std::vector<std::vector<std::string>> groups;
  for (auto const& entry : *value) {
    groups.push_back(terminals(entry, reader.document(), reader.path_of(key) + "/" + std::to_string(groups.size())));
  }
  return groups;
}

void write_groups(JsonWriter& json, std::string_view key, std::vector<std::vector<std::string>> const& groups) {
  if (groups.empty()) return;
  json.key(key).begin_list();
  for (auto const& group : groups) {
    json.begin_list();
    for (auto const& terminal : group) json.value(terminal);
    json.end_list();
  }
  json.end_list();
}

}  // namespace

Connection parse_connection(std::string_view text, std::string const& name) {
  Json const value = documents::parse_json(text, name);
  ObjectReader reader(value, name);
  Connection connection;
  connection.name = reader.text_or("name", "");
  connection.instrument = reader.word_or("instrument", "none", instruments);
  connection.feed = optional_groups(reader, "feed");
  connection.measure = optional_groups(reader, "measure");
  connection.tie = optional_groups(reader, "tie");
  connection.short_bar = optional_groups(reader, "short");
  connection.earth = optional_terminals(reader, "earth");
  connection.open = optional_terminals(reader, "open");
  for (auto& entry : reader.optional_objects("accessories")) {
    AccessoryState state;
    state.name = entry.text("name");
    state.state = entry.text("state");
    entry.finish();
    connection.accessories.push_back(std::move(state));
  }
  for (auto& entry : reader.optional_objects("live")) {
    LiveTerminal live;
    live.terminal = entry.text("terminal");
    check_terminal(live.terminal, entry.document(), entry.path_of("terminal"));
    live.volts_to_earth = entry.number_or("volts_to_earth", 0.0, "a number of volts", documents::at_least(0.0));
    live.clipped = entry.boolean_or("clipped", false);
    entry.finish();
    connection.live.push_back(std::move(live));
  }
  connection.worst_volts = reader.number_or("worst_volts", 0.0, "a number of volts", documents::at_least(0.0));
  if (auto const tap = reader.optional_integer("tap", "a tap position", 0, 99)) connection.tap = static_cast<int>(*tap);
  reader.finish();
  return connection;
}

std::string connection_json(Connection const& connection) {
  JsonWriter json;
  json.begin_object();
  if (!connection.name.empty()) json.field("name", connection.name);
  json.field("instrument", connection.instrument.empty() ? std::string("none") : connection.instrument);
  write_groups(json, "feed", connection.feed);
  write_groups(json, "measure", connection.measure);
  write_groups(json, "tie", connection.tie);
  write_groups(json, "short", connection.short_bar);
  if (!connection.earth.empty()) json.field("earth", connection.earth);
  if (!connection.open.empty()) json.field("open", connection.open);
  if (!connection.accessories.empty()) {
    json.key("accessories").begin_list();
    for (auto const& entry : connection.accessories) {
      json.begin_object().field("name", entry.name).field("state", entry.state).end_object();
    }
    json.end_list();
  }
  if (!connection.live.empty()) {
    json.key("live").begin_list();
    for (auto const& entry : connection.live) {
      json.begin_object().field("terminal", entry.terminal).field("volts_to_earth", entry.volts_to_earth);
      json.field("clipped", entry.clipped).end_object();
    }
    json.end_list();
  }
  json.field("worst_volts", connection.worst_volts);
  if (connection.tap) json.field("tap", *connection.tap);
  return json.end_object().text();
}

}  // namespace benchward
