// SPDX-License-Identifier: MIT
#include "sim/wires/text_device.hpp"

#include <algorithm>
#include <cctype>
#include <utility>

#include "drivers/profile/text_codec.hpp"

namespace benchward::sim {

namespace {

constexpr std::size_t longest_queue = 20;
constexpr std::string_view no_number = "9.91E37";  // SCPI-99, 7.2.1.5: "not a number"

std::string upper(std::string_view text) {
  std::string result(text);
  for (auto& letter : result) letter = static_cast<char>(std::toupper(static_cast<unsigned char>(letter)));
  return result;
}

std::string_view trimmed(std::string_view text) {
  auto const is_space = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

}  // namespace

TextDevice::TextDevice(Profile const& profile, SimInstrument& instrument, WireFaults const& faults, std::string serial)
    : points_(profile, instrument, faults, std::move(serial)) {}

void TextDevice::queue_error(int code, std::string words) {
  if (errors_.size() < longest_queue) {
    errors_.emplace_back(code, std::move(words));
  } else {
    errors_.back() = {-350, "Queue overflow"};
  }
}

std::string TextDevice::next_error() {
  std::pair<int, std::string> error{0, "No error"};
  if (!errors_.empty()) {
    error = errors_.front();
    errors_.pop_front();
  }
  return std::to_string(error.first) + points_.profile().separator + "\"" + error.second + "\"";
}

void TextDevice::overrun() { queue_error(-363, "Input buffer overrun"); }

std::optional<std::string> TextDevice::answer(std::string_view line) {
  line = trimmed(line);
  if (line.empty()) return std::nullopt;
  auto const header = upper(line);
  if (header == "*CLS") {
    errors_.clear();
    return std::nullopt;
  }
  if (points_.fault("busy-device")) {
    queue_error(-284, "Program currently running");
    return std::nullopt;
  }
  auto const match = match_command(points_.profile(), line);
  bool const asks_error = header == "SYST:ERR?" || header == "SYSTEM:ERROR?" || header == "SYST:ERR:NEXT?";
  if (asks_error || (match && match->command->name == "errors")) return next_error();
  if (!match) {
    queue_error(-113, "Undefined header");
    return std::nullopt;
  }
  std::map<std::string, std::pair<double, std::string>> values;
  for (auto const& [name, value] : match->values) values[name] = {value.number, value.word};
  carry_out(*match->command, values);
  return reply_to(*match->command);
}

void TextDevice::carry_out(TextCommand const& command,
                           std::map<std::string, std::pair<double, std::string>> const& values) {
  auto& instrument = points_.instrument();
  for (auto const& argument : command.arguments) {
    auto const& [number, word] = values.at(argument.name);
    bool const taken = argument.kind == TextField::Kind::word ? instrument.write_text(argument.name, word)
                                                              : instrument.write(argument.name, number);
    if (!taken) {
      queue_error(-200, "Execution error");
      return;
    }
  }
  auto const sequence = points_.sequence_of_command(command.name);
  if (sequence && !instrument.write("do." + *sequence, 1.0)) queue_error(-200, "Execution error");
}

std::optional<std::string> TextDevice::reply_to(TextCommand const& command) {
  if (command.reply.empty()) return std::nullopt;
  std::string line;
  for (auto const& field : command.reply) {
    if (&field != &command.reply.front()) line += points_.profile().separator;
    switch (field.kind) {
      case TextField::Kind::word:
        line += points_.text(field.name).value_or("");
        break;
      case TextField::Kind::bits:
        line += std::to_string(points_.bits(field.bits));
        break;
      case TextField::Kind::number: {
        auto const number = points_.number(field.name);
        line += number ? text_of_number(*number, field) : std::string(no_number);
        break;
      }
    }
  }
  return line;
}

}  // namespace benchward::sim
