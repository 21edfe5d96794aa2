// SPDX-License-Identifier: MIT
#pragma once

/// What both sockets of JSON lines share. Includes the JSON library: sources only.

#include <algorithm>
#include <string>
#include <string_view>

#include "limits/documents/json_reader.hpp"
#include "limits/documents/json_writer.hpp"

namespace benchward::sim {

inline std::string error_line(std::string_view what) {
  JsonWriter json;
  return json.begin_object().field("error", what).end_object().text();
}

/// "" becomes {"done": true}, anything else an error that names the key.
inline std::string outcome_line(std::string_view key, std::string const& why_not) {
  if (why_not.empty()) return "{\"done\":true}";
  return error_line(std::string(key) + ": " + why_not);
}

/// The one key of `known` that a line has; throws DocumentError where there is none, another, or a second.
template <class Known>
std::string_view only_key(documents::Json const& line, Known const& known, std::string const& name,
                          std::initializer_list<std::string_view> with = {}) {
  std::vector<std::string_view> const words(std::begin(known), std::end(known));
  std::string list;
  for (auto const word : words) list += (list.empty() ? "" : ", ") + std::string(word);
  if (!line.is_object()) {
    throw DocumentError("document.type", name, "",
                        "expected an object with one of " + list + ", got " + documents::shown(line));
  }
  std::string_view found;
  for (auto const& [key, value] : line.items()) {
    auto const at = std::find(words.begin(), words.end(), key);
    if (at == words.end()) {
      if (std::find(with.begin(), with.end(), key) != with.end()) continue;
      auto const near = documents::nearest(key, words);
      throw DocumentError(
          "document.unknown-key", name, "/" + key,
          near.empty() ? "unknown key; known are " + list : "unknown key; did you mean \"" + near + "\"?");
    }
    if (!found.empty()) {
      throw DocumentError("document.two-acts", name, "/" + key,
                          "one act a line, got \"" + std::string(found) + "\" too");
    }
    found = *at;
  }
  if (found.empty()) throw DocumentError("document.missing-key", name, "", "expected one of the keys " + list);
  return found;
}

}  // namespace benchward::sim
