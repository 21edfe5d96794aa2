// SPDX-License-Identifier: MIT
#include "sim/wires/hands_lines.hpp"

#include <array>

#include "drivers/roles/connection_json.hpp"
#include "limits/documents/unit_document.hpp"
#include "sim/wires/line_parts.hpp"

namespace benchward::sim {

namespace {

using documents::Json;
using documents::ObjectReader;

constexpr std::array<std::string_view, 13> acts{"connect", "disconnect", "tap",  "gate",   "inside",  "press", "unit",
                                                "strap",   "arrester",   "fuse", "switch", "breaker", "look"};
constexpr std::array<documents::Word<bool>, 2> gate_words{{{"open", true}, {"closed", false}}};
constexpr std::array<documents::Word<bool>, 1> all_word{{{"all", true}}};
constexpr std::array<documents::Word<std::string_view>, 4> buttons{
    {{"reset", "reset"}, {"estop", "estop"}, {"release-estop", "release-estop"}, {"search", "search"}}};

Unit unit_of(Json const& value) {
  if (value.is_string()) return read_unit(value.get<std::string>());
  return parse_unit(value.dump(), "unit");
}

std::string act(std::string_view key, ObjectReader& line, ServedBench& bench) {
  if (key == "connect") return bench.connect(parse_connection(line.raw(key, "a connection").dump(), "connect"));
  if (key == "disconnect") {
    line.word(key, all_word);
    return bench.disconnect_all();
  }
  if (key == "tap") return bench.set_tap(static_cast<int>(line.integer(key, "a tap position", 0, 99)));
  if (key == "gate") return bench.set_gate(line.word(key, gate_words));
  if (key == "inside") return bench.enter_area(line.boolean(key));
  if (key == "press") return bench.press(line.word(key, buttons));
  if (key == "unit") return bench.put_unit(unit_of(line.raw(key, "a unit document or the path of one")));
  auto accessory = line.object(key);
  auto const name = accessory.text("name");
  auto const state = accessory.text("state");
  accessory.finish();
  return key == "look" ? bench.look(name, state) : bench.set_accessory(name, state);
}

}  // namespace

std::string answer_hands(std::string_view text, WireContext& context) {
  std::string const name = "hands";
  try {
    Json const value = documents::parse_json(text, name);
    auto const key = only_key(value, acts, name);
    ObjectReader line(value, name);
    context.bring_up_to_date();
    return outcome_line(key, act(key, line, context.bench));
  } catch (DocumentError const& wrong) {
    return error_line(wrong.what());
  }
}

}  // namespace benchward::sim
