// SPDX-License-Identifier: MIT
#pragma once

/// The one guarded way from text to JSON, and typed reading with paths on top of it. Not installed: it shows a type of
/// the JSON library, which no public header does. Include it from .cpp files only (it costs 6 s of compilation).
///
/// The JSON library by itself lets the last of two equal keys win, takes 200,000 nested brackets and cannot write
/// everything it has read; so the text is judged here first: size, depth, duplicate keys, UTF-8, numbers.

#include <array>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <limits>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include <nlohmann/json.hpp>

#include "document_error.hpp"

namespace benchward::documents {

using Json = nlohmann::json;

inline constexpr std::size_t size_limit_bytes = 4u * 1024u * 1024u;
inline constexpr std::size_t depth_limit = 32;

/// The bytes of a file. Throws DocumentError: `document.not-found`, `document.is-a-directory`, `document.unreadable`,
/// `document.empty`, `document.too-large`.
std::string read_text_file(std::string const& path);

/// Parses and judges a text. `name` stands in messages. Throws DocumentError: `document.empty`, `document.too-large`,
/// `document.not-json` (with line and column; also bad UTF-8, NaN, Infinity, 1e999), `document.too-deep`,
/// `document.duplicate-key`.
Json parse_json(std::string_view text, std::string const& name);

/// `parse_json(read_text_file(path), path)`.
Json read_json_file(std::string const& path);

/// Which numbers are allowed; an excluded end is an open one.
struct Range {
  double lowest = -std::numeric_limits<double>::infinity();
  double highest = std::numeric_limits<double>::infinity();
  bool lowest_excluded = false;
  bool highest_excluded = false;
};
inline constexpr Range any_number{};
inline constexpr Range above(double lowest) { return {lowest, std::numeric_limits<double>::infinity(), true, false}; }
inline constexpr Range at_least(double lowest) {
  return {lowest, std::numeric_limits<double>::infinity(), false, false};
}
inline constexpr Range between(double lowest, double highest) { return {lowest, highest, false, false}; }
inline constexpr Range above_up_to(double lowest, double highest) { return {lowest, highest, true, false}; }

/// A word of a document and what it stands for.
template <class Value>
using Word = std::pair<std::string_view, Value>;

/// Typed reading of one JSON object. Every accessor marks its key as known; `finish()` refuses the keys that nobody
/// asked for, naming the nearest known one. The text key `note` is allowed in every object, `$schema` in the outermost.
///
///     ObjectReader hv = document.object("hv");
///     double const volts = hv.number("rated_v", "a number of volts", above(0.0));
///     hv.finish();
///
/// The Json that a reader looks at must outlive it.
class ObjectReader {
 public:
  /// The outermost object of a document.
  ObjectReader(Json const& value, std::string document);
  ObjectReader(Json const& value, std::string document, std::string path);

  std::string const& document() const { return document_; }
  std::string const& path() const { return path_; }
  /// "/hv/taps" for the key "taps" of the object at "/hv".
  std::string path_of(std::string_view key) const;
  /// Whether the key is there (null counts as there). Does not mark it as known.
  bool has(std::string_view key) const;
  /// Keys in the document's order of sorting; for objects whose keys are names (`"links": {"meter": ...}`). Marks all.
  std::vector<std::string> keys();

  // `what` completes "expected ..., got ...": "a number of volts", "a word".
  double number(std::string_view key, std::string_view what, Range range = any_number);
  std::optional<double> optional_number(std::string_view key, std::string_view what, Range range = any_number);
  double number_or(std::string_view key, double absent, std::string_view what, Range range = any_number);

  std::int64_t integer(std::string_view key, std::string_view what, std::int64_t lowest, std::int64_t highest);
  std::optional<std::int64_t> optional_integer(std::string_view key, std::string_view what, std::int64_t lowest,
                                               std::int64_t highest);
  std::int64_t integer_or(std::string_view key, std::int64_t absent, std::string_view what, std::int64_t lowest,
                          std::int64_t highest);

  bool boolean(std::string_view key);
  bool boolean_or(std::string_view key, bool absent);

  /// A text of one line: no control characters, at most 1,000 bytes; `text` refuses an empty one.
  std::string text(std::string_view key, std::string_view what = "a text");
  std::optional<std::string> optional_text(std::string_view key, std::string_view what = "a text");
  std::string text_or(std::string_view key, std::string_view absent, std::string_view what = "a text");
  /// An ISO date that exists: "2026-02-29" is refused.
  std::string date(std::string_view key, std::string_view what = "a date as YYYY-MM-DD");
  std::optional<std::string> optional_date(std::string_view key, std::string_view what = "a date as YYYY-MM-DD");
  /// A UTC instant as RFC 3339: "2026-01-31T08:00:00Z", fractions of a second allowed.
  std::optional<std::string> optional_instant(std::string_view key);

  /// One of some words, each standing for a value: `words` is an array of Word<Value> (or an initializer list of them).
  template <class Words>
  auto word(std::string_view key, Words const& words) {
    return (std::begin(words) + static_cast<std::ptrdiff_t>(find_word(key, names(words))))->second;
  }
  template <class Words>
  auto optional_word(std::string_view key, Words const& words) {
    using Value = std::decay_t<decltype(std::begin(words)->second)>;
    known(key);
    return has(key) ? std::optional<Value>(word(key, words)) : std::nullopt;
  }
  template <class Words, class Value>
  auto word_or(std::string_view key, Value absent, Words const& words) {
    return optional_word(key, words).value_or(absent);
  }

  ObjectReader object(std::string_view key);
  std::optional<ObjectReader> optional_object(std::string_view key);
  /// A list of objects; an absent optional list is empty.
  std::vector<ObjectReader> objects(std::string_view key);
  std::vector<ObjectReader> optional_objects(std::string_view key);
  std::vector<double> numbers(std::string_view key, std::string_view what, Range range = any_number);
  std::vector<std::string> texts(std::string_view key);
  std::vector<std::string> optional_texts(std::string_view key);

  /// The value under a required key as it is, for shapes of its own; marks the key as known.
  Json const& raw(std::string_view key, std::string_view what);
  Json const* optional_raw(std::string_view key);

  /// Marks a key as known without reading it.
  void known(std::string_view key);
  /// Throws `document.unknown-key` for the first key that nobody asked for. Call it last.
  void finish();
  /// Throws a DocumentError at a place below this object: a key, "rows/3", or "" for the object itself.
  [[noreturn]] void fail(std::string_view id, std::string_view key, std::string const& message) const;

 private:
  template <class Words>
  static std::vector<std::string_view> names(Words const& words) {
    std::vector<std::string_view> list;
    list.reserve(static_cast<std::size_t>(std::distance(std::begin(words), std::end(words))));
    for (auto const& entry : words) list.push_back(entry.first);
    return list;
  }
  std::size_t find_word(std::string_view key, std::vector<std::string_view> const& words);
  Json const* find(std::string_view key);
  Json const& require(std::string_view key, std::string_view what);
  double checked_number(Json const& value, std::string const& at, std::string_view what, Range range) const;
  std::string checked_text(Json const& value, std::string const& at, std::string_view what) const;
  [[noreturn]] void fail_at(std::string_view id, std::string const& at, std::string const& message) const;

  Json const* value_;
  std::string document_, path_;
  std::set<std::string, std::less<>> known_;
};

/// A value as it stands in a message: `"five"`, `-3`, `a list`, `nothing (null)`; long texts are cut.
std::string shown(Json const& value);
/// A number as people write it, shortest round-trip text.
std::string shown(double value);
/// Of `words`, the one nearest to a misspelt one; empty when none is near.
std::string nearest(std::string_view word, std::vector<std::string_view> const& words);
/// Whether text is YYYY-MM-DD and such a day exists.
bool is_date(std::string_view text);

}  // namespace benchward::documents
