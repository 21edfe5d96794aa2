// SPDX-License-Identifier: MIT
#pragma once

/// Command lines and replies of text devices, by a profile's command. Pure, and free of any locale: a whole token is a
/// number or it is none. The station formats commands and parses replies; the simulator does the reverse.

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "profile.hpp"

namespace benchward {

/// A value for a command or a reply: a number in the base unit of its dimension, or a word.
struct TextValue {
  double number = 0.0;
  std::string word;
};
using TextValues = std::map<std::string, TextValue>;

/// "1.5", "+1.5E-3", and with `suffix` "77.51mV" or "12 kV": the number in the base unit of `unit`. Nothing for
/// anything else: half a token, a comma as decimal sign, NaN, infinity, IEEE 488.2's 9.91E37 for "not a number".
std::optional<double> parse_text_number(std::string_view token, std::string const& unit, bool suffix);
/// The same the other way round, rounded to `least_count` (in `unit`; 0 = shortest text that reads back the same).
std::string text_of_number(double in_base_unit, TextField const& field);

/// The command's line without terminator. Throws std::out_of_range if a value for one of its braces is missing.
std::string format_command(TextCommand const& command, TextValues const& values);
/// The values of a reply line; a field that cannot be understood is not good. Nothing at all where the number of fields
/// is wrong: then this is not the reply to this command.
std::optional<std::map<std::string, Decoded>> parse_reply(TextCommand const& command, std::string_view line,
                                                          std::string const& separator);

/// The simulator's half: which command a line is, with its values; nothing for a line of no command.
struct TextMatch {
  TextCommand const* command = nullptr;
  TextValues values;
};
std::optional<TextMatch> match_command(Profile const& profile, std::string_view line);
std::string format_reply(TextCommand const& command, TextValues const& values, std::string const& separator);

}  // namespace benchward
