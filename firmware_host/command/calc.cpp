// SPDX-License-Identifier: MIT
#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <string>

#include "firmware_host/command/commands.hpp"
#include "firmware_host/say.hpp"
#include "limits/documents/calc/calc.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

std::string standard_input() {
  std::string text;
  std::string piece(65536, '\0');
  for (;;) {
    auto const got = ::read(STDIN_FILENO, piece.data(), piece.size());
    if (got <= 0) return text;
    text.append(piece, 0, static_cast<std::size_t>(got));
    // One byte past what the reader takes: it then says that the text is too large, in its own words.
    if (text.size() > documents::size_limit_bytes) return text;
  }
}

}  // namespace

ExitCode run_calc(CalcOptions const& options) {
  if (options.list) {
    for (auto const& topic : calc_topics()) {
      say_out(fmt::format("{}: {}", topic.name, topic.summary));
      for (auto const& key : topic.keys) say_out(fmt::format("    {} [{}] {}", key.name, key.unit, key.required));
      for (auto const& key : topic.output) say_out(fmt::format("    -> {} [{}]", key.name, key.unit));
      say_out("    source: " + topic.source);
    }
    return ExitCode::done;
  }
  if (options.topic.empty()) {
    say_err("calc: which topic? benchward calc --list names them");
    return ExitCode::bad_input;
  }
  // The topic is judged first: nobody types a whole object at a topic that does not exist.
  auto const topics = calc_topics();
  bool const known =
      std::any_of(topics.begin(), topics.end(), [&](CalcTopic const& topic) { return topic.name == options.topic; });
  if (!known) static_cast<void>(calculate(options.topic, "{}"));  // throws, naming the nearest
  auto const from_file = !options.input.empty() && options.input != "-";
  auto const text = from_file ? documents::read_text_file(options.input) : standard_input();
  say_out(calculate(options.topic, text));
  return ExitCode::done;
}

}  // namespace benchward
