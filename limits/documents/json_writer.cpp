// SPDX-License-Identifier: MIT
#include "limits/documents/json_writer.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <stdexcept>

namespace benchward {
namespace {

/// Length of the UTF-8 character that starts at `at`, or 0 if there is none (RFC 3629: no overlong forms, no
/// surrogates).
std::size_t character_length(std::string_view text, std::size_t at) {
  auto const byte = [&](std::size_t offset) -> unsigned {
    return at + offset < text.size() ? static_cast<unsigned char>(text[at + offset]) : 0u;
  };
  auto const continuation = [&](std::size_t offset) { return (byte(offset) & 0xC0u) == 0x80u; };
  unsigned const first = byte(0);
  if (first < 0x80) return 1;
  if (first >= 0xC2 && first <= 0xDF) return continuation(1) ? 2 : 0;
  if (first >= 0xE0 && first <= 0xEF) {
    if (!continuation(1) || !continuation(2)) return 0;
    if (first == 0xE0 && byte(1) < 0xA0) return 0;
    if (first == 0xED && byte(1) > 0x9F) return 0;
    return 3;
  }
  if (first >= 0xF0 && first <= 0xF4) {
    if (!continuation(1) || !continuation(2) || !continuation(3)) return 0;
    if (first == 0xF0 && byte(1) < 0x90) return 0;
    if (first == 0xF4 && byte(1) > 0x8F) return 0;
    return 4;
  }
  return 0;
}

bool is_plain(unsigned char c) { return c >= 0x20 && c < 0x7f && c != '"' && c != '\\'; }

}  // namespace

std::string json_number(double value) {
  if (!std::isfinite(value)) throw std::invalid_argument("a number that is not finite has no JSON text");
  if (value == 0.0) return std::signbit(value) ? "-0.0" : "0";
  std::array<char, 40> buffer{};
  auto const end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
  return std::string(buffer.data(), end);
}

std::string json_string(std::string_view text) {
  static constexpr char hex[] = "0123456789abcdef";
  std::string out;
  out.reserve(text.size() + 2);
  out += '"';
  for (std::size_t at = 0; at < text.size();) {
    // What needs no second look is most of a text: taken over whole.
    std::size_t plain = at;
    while (plain < text.size() && is_plain(static_cast<unsigned char>(text[plain]))) ++plain;
    out += text.substr(at, plain - at);
    at = plain;
    if (at == text.size()) break;
    auto const length = character_length(text, at);
    if (length == 0) {
      out += "\xEF\xBF\xBD";
      ++at;
      continue;
    }
    auto const c = static_cast<unsigned char>(text[at]);
    if (length > 1) {
      out += text.substr(at, length);
    } else if (c == '"' || c == '\\') {
      out += '\\';
      out += static_cast<char>(c);
    } else if (c == '\n') {
      out += "\\n";
    } else if (c == '\r') {
      out += "\\r";
    } else if (c == '\t') {
      out += "\\t";
    } else {  // a control character: everything else was plain
      out += "\\u00";
      out += hex[c >> 4];
      out += hex[c & 15];
    }
    at += length;
  }
  out += '"';
  return out;
}

void JsonWriter::separate() {
  if (comma_) text_ += ',';
  comma_ = true;
}
JsonWriter& JsonWriter::begin_object() {
  separate();
  text_ += '{';
  comma_ = false;
  return *this;
}
JsonWriter& JsonWriter::end_object() {
  text_ += '}';
  comma_ = true;
  return *this;
}
JsonWriter& JsonWriter::begin_list() {
  separate();
  text_ += '[';
  comma_ = false;
  return *this;
}
JsonWriter& JsonWriter::end_list() {
  text_ += ']';
  comma_ = true;
  return *this;
}
JsonWriter& JsonWriter::key(std::string_view name) {
  separate();
  text_ += json_string(name);
  text_ += ':';
  comma_ = false;
  return *this;
}
JsonWriter& JsonWriter::value(double number) {
  separate();
  text_ += json_number(number);
  return *this;
}
JsonWriter& JsonWriter::value(bool truth) {
  separate();
  text_ += truth ? "true" : "false";
  return *this;
}
JsonWriter& JsonWriter::value(std::string_view text) {
  separate();
  text_ += json_string(text);
  return *this;
}
JsonWriter& JsonWriter::integer(std::int64_t number) {
  separate();
  text_ += std::to_string(number);
  return *this;
}
JsonWriter& JsonWriter::raw(std::string_view json) {
  separate();
  text_ += json;
  return *this;
}

}  // namespace benchward
