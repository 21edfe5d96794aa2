// SPDX-License-Identifier: MIT
#pragma once

/// Compact JSON text in the order of writing, without the JSON library: the same bytes every time, numbers as shortest
/// round-trip text. What the journal stores and hashes comes out of it.

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace benchward {

/// Shortest text that reads back as the same double ("-0.0" keeps its sign). Throws std::invalid_argument for a number
/// that is not finite: JSON has none, and no caller may hand one on as if it were a value.
std::string json_number(double value);

/// A JSON string with its quotes. Bytes that are not UTF-8 become U+FFFD; texts from wires are written as hex instead.
std::string json_string(std::string_view text);

/// Writes one JSON value piece by piece.
///
///     JsonWriter json;
///     json.begin_object().field("value", 0.1).field("unit", "ohm").end_object();
///     json.text();  // {"value":0.1,"unit":"ohm"}
class JsonWriter {
 public:
  JsonWriter& begin_object();
  JsonWriter& end_object();
  JsonWriter& begin_list();
  JsonWriter& end_list();
  JsonWriter& key(std::string_view name);

  JsonWriter& value(double number);
  JsonWriter& value(bool truth);
  JsonWriter& value(std::string_view text);
  JsonWriter& value(std::string const& text) { return value(std::string_view(text)); }
  JsonWriter& value(char const* text) { return value(std::string_view(text)); }
  template <class Integer, std::enable_if_t<std::is_integral_v<Integer> && !std::is_same_v<Integer, bool>, int> = 0>
  JsonWriter& value(Integer number) {
    return integer(static_cast<std::int64_t>(number));
  }
  /// A text that is JSON already.
  JsonWriter& raw(std::string_view json);

  template <class Value>
  JsonWriter& field(std::string_view name, Value const& of) {
    return key(name).value(of);
  }
  /// Nothing at all where the optional is empty.
  template <class Value>
  JsonWriter& field(std::string_view name, std::optional<Value> const& of) {
    if (of) field(name, *of);
    return *this;
  }
  template <class Value>
  JsonWriter& field(std::string_view name, std::vector<Value> const& list) {
    key(name).begin_list();
    for (auto const& entry : list) value(entry);
    return end_list();
  }

  std::string const& text() const { return text_; }

 private:
  JsonWriter& integer(std::int64_t number);
  void separate();

  std::string text_;
  bool comma_ = false;
};

}  // namespace benchward
