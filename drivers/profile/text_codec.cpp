// SPDX-License-Identifier: MIT
#include "drivers/profile/text_codec.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <vector>

namespace benchward {
namespace {

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r')) text.remove_suffix(1);
  return text;
}

bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }

std::string shortest(double value) {
  std::array<char, 40> buffer{};
  return {buffer.data(), std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr};
}

struct Prefix {
  char letter;
  double factor;
};
constexpr std::array<Prefix, 6> prefixes{{{'p', 1e-12}, {'n', 1e-9}, {'u', 1e-6}, {'m', 1e-3}, {'k', 1e3}, {'M', 1e6}}};

std::vector<std::string_view> split(std::string_view line, std::string const& separator) {
  std::vector<std::string_view> tokens;
  for (;;) {
    auto const at = line.find(separator);
    tokens.push_back(trimmed(line.substr(0, at)));
    if (at == std::string_view::npos) return tokens;
    line.remove_prefix(at + separator.size());
  }
}

/// A quoted word without its quotes; others as they are.
std::string unquoted(std::string_view token) {
  if (token.size() >= 2 && token.front() == '"' && token.back() == '"') token = token.substr(1, token.size() - 2);
  return std::string(token);
}

Decoded decode_field(TextField const& field, std::string_view token) {
  Decoded value;
  value.text = std::string(token);
  for (char const c : token) value.words.push_back(static_cast<unsigned char>(c));
  switch (field.kind) {
    case TextField::Kind::word:
      value.text = unquoted(token);
      value.good = true;
      return value;
    case TextField::Kind::bits: {
      unsigned bits = 0;
      auto const end = std::from_chars(token.data(), token.data() + token.size(), bits);
      value.good = !token.empty() && end.ec == std::errc() && end.ptr == token.data() + token.size() && bits <= 0xFFFFu;
      value.bits = static_cast<std::uint16_t>(value.good ? bits : 0);
      value.number = value.bits;
      if (!value.good) value.why = "not a status number: \"" + value.text + "\"";
      return value;
    }
    case TextField::Kind::number:
      break;
  }
  auto const number = parse_text_number(token, field.unit, field.suffix);
  if (!number) {
    value.why = "not a number of " + field.unit + ": \"" + value.text + "\"";
    return value;
  }
  value.number = *number;
  double const in_unit = *number / unit_named(field.unit).value_or(UnitWord{}).in_base;
  value.good = !((field.lowest && in_unit < *field.lowest) || (field.highest && in_unit > *field.highest));
  if (!value.good) value.why = "outside the range";
  return value;
}

}  // namespace

std::optional<double> parse_text_number(std::string_view token, std::string const& unit, bool suffix) {
  token = trimmed(token);
  double factor = unit_named(unit).value_or(UnitWord{}).in_base;
  if (suffix) {
    // The unit's word without a prefix of its own: "mV" in a profile and "kV" on the wire are both volts.
    auto const dimension = unit_named(unit);
    std::size_t letters = token.size();
    while (letters > 0 && is_letter(token[letters - 1])) --letters;
    // "1.5E3" ends in no letter; "12 kV" and "12kV" end in a unit.
    auto const word = std::string(token.substr(letters));
    auto wire_unit = unit_named(word);
    if (!wire_unit && word.size() > 1) {
      for (auto const& prefix : prefixes) {
        auto const plain = unit_named(word.substr(1));
        if (word.front() == prefix.letter && plain && plain->in_base == 1.0)
          wire_unit = UnitWord{plain->dimension, prefix.factor};
      }
    }
    if (!dimension || !wire_unit || wire_unit->dimension != dimension->dimension) return std::nullopt;
    factor = wire_unit->in_base;
    token = trimmed(token.substr(0, letters));
  }
  if (!token.empty() && token.front() == '+') {
    token.remove_prefix(1);
    if (!token.empty() && (token.front() == '-' || token.front() == '+')) return std::nullopt;
  }
  double value = 0.0;
  auto const end = std::from_chars(token.data(), token.data() + token.size(), value);
  if (token.empty() || end.ec != std::errc() || end.ptr != token.data() + token.size()) return std::nullopt;
  // 9.9E37 stands for infinity and 9.91E37 for "not a number" in replies of IEEE 488.2 instruments.
  if (!std::isfinite(value) || std::abs(value) >= 9.9e37) return std::nullopt;
  return value * factor;
}

std::string text_of_number(double in_base_unit, TextField const& field) {
  auto const unit = unit_named(field.unit).value_or(UnitWord{});
  double value = in_base_unit / unit.in_base;
  std::string text;
  if (field.least_count > 0.0) {
    // As many decimals as the least count has: steps of 0.001 print three.
    int const decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(field.least_count) - 1e-9)));
    value = std::round(value / field.least_count) * field.least_count;
    std::array<char, 400> buffer{};
    auto const end =
        std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
    text.assign(buffer.data(), end.ptr);
  } else {
    text = shortest(value);
  }
  return field.suffix ? text + field.unit : text;
}

std::string format_command(TextCommand const& command, TextValues const& values) {
  std::string line = command.line;
  for (auto const& argument : command.arguments) {
    auto const brace = "{" + argument.name + "}";
    auto const at = line.find(brace);
    auto const& value = values.at(argument.name);
    line.replace(at, brace.size(),
                 argument.kind == TextField::Kind::word ? value.word : text_of_number(value.number, argument));
  }
  return line;
}

std::optional<std::map<std::string, Decoded>> parse_reply(TextCommand const& command, std::string_view line,
                                                          std::string const& separator) {
  auto const tokens = split(trimmed(line), separator);
  if (tokens.size() != command.reply.size()) return std::nullopt;
  std::map<std::string, Decoded> values;
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    values[command.reply[i].name] = decode_field(command.reply[i], tokens[i]);
  }
  return values;
}

std::optional<TextMatch> match_command(Profile const& profile, std::string_view line) {
  line = trimmed(line);
  for (auto const& command : profile.commands) {
    TextMatch match{&command, {}};
    std::string_view pattern = command.line, rest = line;
    bool fits = true;
    while (fits && !pattern.empty()) {
      if (pattern.front() != '{') {
        fits = !rest.empty() && rest.front() == pattern.front();
        if (fits) rest.remove_prefix(1);
        pattern.remove_prefix(1);
        continue;
      }
      auto const close = pattern.find('}');
      auto const name = std::string(pattern.substr(1, close - 1));
      pattern.remove_prefix(close + 1);
      auto const end = pattern.empty() ? rest.size() : rest.find(pattern.front());
      auto const token = rest.substr(0, end);
      rest.remove_prefix(end == std::string_view::npos ? rest.size() : end);
      for (auto const& argument : command.arguments) {
        if (argument.name != name) continue;
        auto const value = decode_field(argument, token);
        fits = value.good && !token.empty();
        match.values[name] = {value.number, value.text};
      }
    }
    if (fits && rest.empty()) return match;
  }
  return std::nullopt;
}

std::string format_reply(TextCommand const& command, TextValues const& values, std::string const& separator) {
  std::string line;
  bool first = true;
  for (auto const& field : command.reply) {
    auto const& value = values.at(field.name);
    if (!first) line += separator;
    first = false;
    line += field.kind == TextField::Kind::word   ? value.word
            : field.kind == TextField::Kind::bits ? std::to_string(static_cast<unsigned>(value.number))
                                                  : text_of_number(value.number, field);
  }
  return line;
}

}  // namespace benchward
