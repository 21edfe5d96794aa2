// SPDX-License-Identifier: MIT
#include "sim/wires/control_lines.hpp"

#include <array>
#include <cmath>

#include "sim/faults/fault_list.hpp"
#include "sim/wires/line_parts.hpp"

namespace benchward::sim {

namespace {

using documents::Json;
using documents::ObjectReader;

constexpr std::array<std::string_view, 4> acts{"fault", "clear", "set", "get"};
constexpr std::array<documents::Word<bool>, 2> gate_words{{{"open", true}, {"closed", false}}};
constexpr std::array<documents::Word<std::string_view>, 2> stop_words{
    {{"pressed", "estop"}, {"healthy", "release-estop"}}};
enum class Asked { truth, true_values };
constexpr std::array<documents::Word<Asked>, 2> get_words{
    {{"truth", Asked::truth}, {"true_values", Asked::true_values}}};

double finite(double value) { return std::isfinite(value) ? value : 1e9; }

std::string set_states(ObjectReader states, ServedBench& bench) {
  // All words are read before anything is done: a wrong line changes nothing.
  auto const gate = states.optional_word("gate", gate_words);
  auto const stop = states.optional_word("estop", stop_words);
  std::optional<bool> inside;
  if (states.has("inside")) inside = states.boolean("inside");
  states.finish();
  std::string why_not;
  if (gate) why_not = bench.set_gate(*gate);
  if (why_not.empty() && stop) why_not = bench.press(*stop);
  if (why_not.empty() && inside) why_not = bench.enter_area(*inside);
  return why_not;
}

std::string clear_fault(std::string const& name, WireContext& context) {
  auto const* description = find_fault(name);
  if (name != "all" && description == nullptr) {
    return "clear: unknown fault \"" + name + "\"; the nearest known is \"" + nearest_fault(name) + "\"";
  }
  bool const of_the_wires = description != nullptr && description->where == "wires";
  if (name == "all" || of_the_wires) context.faults.clear(name);
  return of_the_wires ? std::string() : context.bench.clear_fault(name);
}

std::string act(std::string_view key, ObjectReader& line, WireContext& context) {
  if (key == "get") {
    auto const asked = line.word(key, get_words);
    line.finish();
    context.bring_up_to_date();
    if (asked == Asked::true_values) return "{\"true_values\":" + true_values_json(context.bench.true_values()) + "}";
    return "{\"truth\":" + truth_json(context.bench.truth()) + "}";
  }
  if (key == "set") {
    auto states = line.object(key);
    line.finish();
    context.bring_up_to_date();
    return outcome_line(key, set_states(std::move(states), context.bench));
  }
  std::string why_not;
  if (key == "clear") {
    auto const name = line.text(key, "the name of a fault, or \"all\"");
    line.finish();
    context.bring_up_to_date();
    why_not = clear_fault(name, context);
  } else {
    auto const name = line.text(key, "the name of a fault");
    auto const value = line.optional_number("value", "a number");
    auto const device = line.optional_text("device", "the name of a device");
    line.finish();
    context.bring_up_to_date();
    why_not = set_any_fault(name, value, device, context);
  }
  return why_not.empty() ? outcome_line(key, why_not) : error_line(why_not);
}

}  // namespace

std::string set_any_fault(std::string const& name, std::optional<double> value,
                          std::optional<std::string> const& device, WireContext& context) {
  auto const* description = find_fault(name);
  if (description == nullptr) {
    return "fault: unknown fault \"" + name + "\"; the nearest known is \"" + nearest_fault(name) + "\"";
  }
  if (description->where == "wires") return context.faults.set(name, value, device);
  if (device) {
    return "device: only faults of the wires are set on a device; \"" + name + "\" belongs to: " + description->where;
  }
  FaultRequest request;
  request.name = name;
  request.value = value;
  auto const why_not = context.bench.set_fault(request);
  return why_not.empty() ? why_not : "fault: " + why_not;
}

std::string truth_json(Truth const& truth) {
  JsonWriter json;
  json.begin_object();
  json.field("simulated_time_s", finite(truth.simulated_time_s));
  json.field("energized", truth.energized);
  json.field("output_voltage_v", finite(truth.output_voltage_v));
  json.field("output_current_a", finite(truth.output_current_a));
  json.field("dc_current_a", finite(truth.dc_current_a));
  json.key("terminals").begin_object();
  for (auto const& [name, volts] : truth.terminals) json.field(name, finite(volts));
  json.end_object();
  json.field("supply_contactors", truth.supply_contactors);
  json.field("earth_switch", truth.earth_switch);
  json.field("gate", truth.gate);
  json.field("estop", truth.estop);
  json.field("heartbeat_age_s", finite(truth.heartbeat_age_s));
  json.key("dangerous_moments").begin_list();
  for (auto const& moment : truth.dangerous_moments) {
    json.begin_object().field("at_s", finite(moment.at_s)).field("what", moment.what).end_object();
  }
  return json.end_list().end_object().text();
}

std::string true_values_json(std::vector<std::pair<std::string, double>> const& values) {
  JsonWriter json;
  json.begin_object();
  for (auto const& [name, value] : values) {
    if (std::isfinite(value)) json.field(name, value);
  }
  return json.end_object().text();
}

std::string answer_control(std::string_view text, WireContext& context) {
  std::string const name = "control";
  try {
    Json const value = documents::parse_json(text, name);
    auto const key = only_key(value, acts, name, {"value", "device"});
    ObjectReader line(value, name);
    return act(key, line, context);
  } catch (DocumentError const& wrong) {
    return error_line(wrong.what());
  }
}

}  // namespace benchward::sim
