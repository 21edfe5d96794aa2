// SPDX-License-Identifier: MIT
#include "limits/documents/json_reader.hpp"

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <numeric>

#include <fmt/format.h>

namespace benchward::documents {
namespace {

[[noreturn]] void fail(std::string_view id, std::string const& name, std::string const& path,
                       std::string const& message) {
  throw DocumentError(std::string(id), name, path, message);
}

/// RFC 6901: "~" and "/" inside a key are written "~0" and "~1".
std::string escaped(std::string_view key) {
  std::string out;
  for (char const c : key) {
    if (c == '~') {
      out += "~0";
    } else if (c == '/') {
      out += "~1";
    } else {
      out += c;
    }
  }
  return out;
}

/// "line 3, column 14" of a byte offset (columns counted in bytes).
std::string place(std::string_view text, std::size_t offset) {
  offset = std::min(offset, text.size());
  auto const before = text.substr(0, offset);
  auto const line = 1 + std::count(before.begin(), before.end(), '\n');
  auto const newline = before.rfind('\n');
  auto const column = newline == std::string_view::npos ? before.size() + 1 : before.size() - newline;
  return fmt::format("line {}, column {}", line, column);
}

/// First pass over a text: judges it without building anything.
class Judge final : public nlohmann::json_sax<Json> {
 public:
  Judge(std::string_view text, std::string const& name) : text_(text), name_(name) {}

  bool null() override { return step(); }
  bool boolean(bool) override { return step(); }
  bool number_integer(number_integer_t) override { return step(); }
  bool number_unsigned(number_unsigned_t) override { return step(); }
  bool number_float(number_float_t value, string_t const&) override {
    if (!std::isfinite(value))
      benchward::documents::fail("document.not-json", name_, path(), "a number out of all range");
    return step();
  }
  bool string(string_t&) override { return step(); }
  bool binary(binary_t&) override { return step(); }
  bool start_object(std::size_t) override { return open(false); }
  bool start_array(std::size_t) override { return open(true); }
  bool key(string_t& name) override {
    auto& level = levels_.back();
    level.key = name;
    if (!level.keys.insert(name).second) {
      benchward::documents::fail("document.duplicate-key", name_, path(),
                                 "this key stands twice in the same object; keep one of them");
    }
    return true;
  }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool parse_error(std::size_t position, std::string const&, nlohmann::detail::exception const& error) override {
    // The library's text is "[json.exception.parse_error.101] parse error at line 1, column 2: <cause>".
    std::string cause = error.what();
    if (auto const colon = cause.find(": "); colon != std::string::npos) cause.erase(0, colon + 2);
    if (auto const bracket = cause.find("] "); cause.rfind("[json.", 0) == 0 && bracket != std::string::npos) {
      cause.erase(0, bracket + 2);
    }
    for (char& c : cause) {
      if (static_cast<unsigned char>(c) < 0x20 || static_cast<unsigned char>(c) > 0x7e) c = '?';
    }
    if (cause.size() > 200) cause = cause.substr(0, 200) + "...";
    benchward::documents::fail(
        "document.not-json", name_, path(),
        fmt::format("{}: not valid JSON: {}", place(text_, position > 0 ? position - 1 : 0), cause));
  }

 private:
  struct Level {
    bool list = false;
    std::size_t index = 0;
    std::string key;
    std::set<std::string> keys;
  };

  bool step() {
    if (!levels_.empty() && levels_.back().list) ++levels_.back().index;
    return true;
  }
  bool open(bool list) {
    if (levels_.size() >= depth_limit) {
      benchward::documents::fail("document.too-deep", name_, path(),
                                 fmt::format("nested deeper than {} levels", depth_limit));
    }
    levels_.push_back({list, 0, {}, {}});
    return true;
  }
  bool close() {
    levels_.pop_back();
    return step();
  }
  std::string path() const {
    std::string out;
    for (auto const& level : levels_) {
      out += level.list ? "/" + std::to_string(level.index) : "/" + escaped(level.key);
    }
    return out;
  }

  std::string_view text_;
  std::string const& name_;
  std::vector<Level> levels_;
};

std::string range_in_words(Range range) {
  std::string words;
  if (std::isfinite(range.lowest)) {
    words += (range.lowest_excluded ? " above " : " of at least ") + shown(range.lowest);
  }
  if (std::isfinite(range.highest)) {
    words += (words.empty() ? "" : " and") + std::string(range.highest_excluded ? " below " : " at most ") +
             shown(range.highest);
  }
  return words;
}

bool inside(double value, Range range) {
  bool const low = range.lowest_excluded ? value > range.lowest : value >= range.lowest;
  bool const high = range.highest_excluded ? value < range.highest : value <= range.highest;
  return low && high;
}

std::optional<int> digits(std::string_view text) {
  int value = 0;
  for (char const c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return text.empty() ? std::nullopt : std::optional<int>(value);
}

bool is_instant(std::string_view text) {
  if (text.size() < 20 || !is_date(text.substr(0, 10)) || text[10] != 'T' || text.back() != 'Z') return false;
  if (text[13] != ':' || text[16] != ':') return false;
  auto const hour = digits(text.substr(11, 2)), minute = digits(text.substr(14, 2)),
             second = digits(text.substr(17, 2));
  if (!hour || !minute || !second || *hour > 23 || *minute > 59 || *second > 60) return false;
  auto const rest = text.substr(19, text.size() - 20);
  return rest.empty() || (rest.size() >= 2 && rest.size() <= 10 && rest.front() == '.' && digits(rest.substr(1)));
}

}  // namespace

std::string read_text_file(std::string const& path) {
  namespace fs = std::filesystem;
  std::error_code error;
  auto const status = fs::status(path, error);
  if (status.type() == fs::file_type::not_found) {
    fail("document.not-found", path, "", "there is no such file; check the name and the folder it is called from");
  }
  if (status.type() == fs::file_type::none) {
    fail("document.unreadable", path, "", fmt::format("cannot look at the file: {}", error.message()));
  }
  if (status.type() == fs::file_type::directory) {
    fail("document.is-a-directory", path, "", "this is a folder; name one JSON file in it");
  }
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  std::unique_ptr<std::FILE, Close> const file(std::fopen(path.c_str(), "rb"));
  if (!file) {
    fail("document.unreadable", path, "", fmt::format("cannot open the file: {}", std::strerror(errno)));
  }
  std::string text;
  std::array<char, 65536> block{};
  while (auto const got = std::fread(block.data(), 1, block.size(), file.get())) {
    text.append(block.data(), got);
    if (text.size() > size_limit_bytes) {
      fail("document.too-large", path, "", fmt::format("larger than {} bytes; no document is", size_limit_bytes));
    }
  }
  if (std::ferror(file.get()) != 0) {
    fail("document.unreadable", path, "", fmt::format("cannot read the file: {}", std::strerror(errno)));
  }
  if (text.empty()) fail("document.empty", path, "", "the file is empty");
  return text;
}

Json parse_json(std::string_view text, std::string const& name) {
  if (text.size() > size_limit_bytes) {
    fail("document.too-large", name, "", fmt::format("larger than {} bytes; no document is", size_limit_bytes));
  }
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    fail("document.empty", name, "", "there is nothing in it; expected a JSON object");
  }
  Judge judge(text, name);
  Json::sax_parse(text.begin(), text.end(), &judge);
  return Json::parse(text.begin(), text.end());
}

Json read_json_file(std::string const& path) { return parse_json(read_text_file(path), path); }

std::string shown(double value) {
  std::array<char, 40> buffer{};
  auto const end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
  return std::string(buffer.data(), end);
}

std::string shown(Json const& value) {
  switch (value.type()) {
    case Json::value_t::null:
      return "nothing (null)";
    case Json::value_t::object:
      return "an object {...}";
    case Json::value_t::array:
      return "a list [...]";
    case Json::value_t::number_float:
      return shown(value.get<double>());
    case Json::value_t::string: {
      auto text = value.dump();
      if (text.size() <= 60) return text;
      std::size_t cut = 56;
      while (cut > 0 && (static_cast<unsigned char>(text[cut]) & 0xC0) == 0x80) --cut;  // not inside a character
      return text.substr(0, cut) + "...\"";
    }
    default:
      return value.dump();
  }
}

std::string nearest(std::string_view word, std::vector<std::string_view> const& words) {
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (auto const candidate : words) {
    // Levenshtein distance, two rows.
    std::vector<std::size_t> above_row(candidate.size() + 1), row(candidate.size() + 1);
    std::iota(above_row.begin(), above_row.end(), std::size_t{0});
    for (std::size_t i = 0; i < word.size(); ++i) {
      row[0] = i + 1;
      for (std::size_t j = 0; j < candidate.size(); ++j) {
        row[j + 1] = std::min({above_row[j + 1] + 1, row[j] + 1, above_row[j] + (word[i] == candidate[j] ? 0u : 1u)});
      }
      std::swap(row, above_row);
    }
    if (above_row.back() < best_distance) {
      best_distance = above_row.back();
      best = candidate;
    }
  }
  return best;
}

bool is_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  auto const year = digits(text.substr(0, 4)), month = digits(text.substr(5, 2)), day = digits(text.substr(8, 2));
  if (!year || !month || !day || *month < 1 || *month > 12 || *day < 1) return false;
  bool const leap = (*year % 4 == 0 && *year % 100 != 0) || *year % 400 == 0;
  int const lengths[] = {31, leap ? 29 : 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return *year >= 1 && *day <= lengths[*month - 1];
}

ObjectReader::ObjectReader(Json const& value, std::string document) : ObjectReader(value, std::move(document), "") {
  known("$schema");
}

ObjectReader::ObjectReader(Json const& value, std::string document, std::string path)
    : value_(&value), document_(std::move(document)), path_(std::move(path)) {
  if (!value.is_object()) fail_at("document.wrong-type", path_, "expected an object {...}, got " + shown(value));
  known("note");
  if (auto const found = value.find("note"); found != value.end() && !found->is_string()) {
    fail_at("document.wrong-type", path_of("note"), "expected a text, got " + shown(*found));
  }
}

std::string ObjectReader::path_of(std::string_view key) const {
  return key.empty() ? path_ : path_ + "/" + escaped(key);
}
bool ObjectReader::has(std::string_view key) const { return value_->find(key) != value_->end(); }
void ObjectReader::known(std::string_view key) { known_.emplace(key); }

std::vector<std::string> ObjectReader::keys() {
  std::vector<std::string> list;
  for (auto const& entry : value_->items()) {
    if (entry.key() != "note") list.push_back(entry.key());
    known(entry.key());
  }
  return list;
}

void ObjectReader::fail_at(std::string_view id, std::string const& at, std::string const& message) const {
  throw DocumentError(std::string(id), document_, at, message);
}
void ObjectReader::fail(std::string_view id, std::string_view key, std::string const& message) const {
  fail_at(id, key.empty() ? path_ : path_ + "/" + std::string(key), message);
}

Json const* ObjectReader::find(std::string_view key) {
  known(key);
  auto const found = value_->find(key);
  return found == value_->end() ? nullptr : &*found;
}

Json const& ObjectReader::require(std::string_view key, std::string_view what) {
  if (auto const* found = find(key)) return *found;
  std::vector<std::string_view> strangers;
  for (auto const& entry : value_->items()) {
    if (!known_.contains(entry.key())) strangers.push_back(entry.key());
  }
  auto message = fmt::format("is missing; expected {}", what);
  if (auto const near = nearest(key, strangers); !near.empty())
    message += fmt::format(" (is \"{}\" meant for it?)", near);
  fail("document.missing-key", key, message);
}

double ObjectReader::checked_number(Json const& value, std::string const& at, std::string_view what,
                                    Range range) const {
  if (!value.is_number()) {
    fail_at("document.wrong-type", at, fmt::format("expected {}, got {}", what, shown(value)));
  }
  auto const number = value.get<double>();
  if (!inside(number, range)) {
    fail_at("document.out-of-range", at,
            fmt::format("expected {}{}, got {}", what, range_in_words(range), shown(value)));
  }
  return number;
}

double ObjectReader::number(std::string_view key, std::string_view what, Range range) {
  return checked_number(require(key, what), path_of(key), what, range);
}
std::optional<double> ObjectReader::optional_number(std::string_view key, std::string_view what, Range range) {
  auto const* found = find(key);
  return found ? std::optional<double>(checked_number(*found, path_of(key), what, range)) : std::nullopt;
}
double ObjectReader::number_or(std::string_view key, double absent, std::string_view what, Range range) {
  return optional_number(key, what, range).value_or(absent);
}

std::int64_t ObjectReader::integer(std::string_view key, std::string_view what, std::int64_t lowest,
                                   std::int64_t highest) {
  auto const& value = require(key, what);
  if (!value.is_number()) fail("document.wrong-type", key, fmt::format("expected {}, got {}", what, shown(value)));
  // 3.0 is a whole number too; 2.5 is not. Doubles hold whole numbers exactly to 2^53 only.
  bool const whole = value.is_number_integer() ||
                     (std::floor(value.get<double>()) == value.get<double>() && std::abs(value.get<double>()) < 9e15);
  bool const huge = value.is_number_unsigned() && value.get<std::uint64_t>() > 9223372036854775807ull;
  if (!whole) fail("document.wrong-type", key, fmt::format("expected {}, a whole number, got {}", what, shown(value)));
  auto const number = huge ? highest : value.get<std::int64_t>();
  if (huge || number < lowest || number > highest) {
    fail("document.out-of-range", key,
         fmt::format("expected {} from {} to {}, got {}", what, lowest, highest, shown(value)));
  }
  return number;
}
std::optional<std::int64_t> ObjectReader::optional_integer(std::string_view key, std::string_view what,
                                                           std::int64_t lowest, std::int64_t highest) {
  return find(key) ? std::optional<std::int64_t>(integer(key, what, lowest, highest)) : std::nullopt;
}
std::int64_t ObjectReader::integer_or(std::string_view key, std::int64_t absent, std::string_view what,
                                      std::int64_t lowest, std::int64_t highest) {
  return optional_integer(key, what, lowest, highest).value_or(absent);
}

bool ObjectReader::boolean(std::string_view key) {
  auto const& value = require(key, "true or false");
  if (!value.is_boolean()) fail("document.wrong-type", key, "expected true or false, got " + shown(value));
  return value.get<bool>();
}
bool ObjectReader::boolean_or(std::string_view key, bool absent) { return find(key) ? boolean(key) : absent; }

std::string ObjectReader::checked_text(Json const& value, std::string const& at, std::string_view what) const {
  if (!value.is_string()) fail_at("document.wrong-type", at, fmt::format("expected {}, got {}", what, shown(value)));
  auto text = value.get<std::string>();
  if (text.size() > 1000) fail_at("document.out-of-range", at, "this text is longer than 1,000 bytes");
  for (char const c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
      fail_at("document.out-of-range", at, "a control character or line end inside the text; write it in one line");
    }
  }
  return text;
}
std::string ObjectReader::text(std::string_view key, std::string_view what) {
  auto text = checked_text(require(key, what), path_of(key), what);
  if (text.empty()) fail("document.out-of-range", key, fmt::format("expected {}, got an empty text", what));
  return text;
}
std::optional<std::string> ObjectReader::optional_text(std::string_view key, std::string_view what) {
  auto const* found = find(key);
  return found ? std::optional<std::string>(checked_text(*found, path_of(key), what)) : std::nullopt;
}
std::string ObjectReader::text_or(std::string_view key, std::string_view absent, std::string_view what) {
  auto found = optional_text(key, what);
  return found ? *found : std::string(absent);
}

std::string ObjectReader::date(std::string_view key, std::string_view what) {
  auto text = checked_text(require(key, what), path_of(key), what);
  if (!is_date(text)) {
    fail("document.out-of-range", key, fmt::format("expected {} that exists in the calendar, got \"{}\"", what, text));
  }
  return text;
}
std::optional<std::string> ObjectReader::optional_date(std::string_view key, std::string_view what) {
  return find(key) ? std::optional<std::string>(date(key, what)) : std::nullopt;
}
std::optional<std::string> ObjectReader::optional_instant(std::string_view key) {
  constexpr std::string_view what = "a UTC instant as YYYY-MM-DDThh:mm:ssZ";
  auto text = optional_text(key, what);
  if (text && !is_instant(*text))
    fail("document.out-of-range", key, fmt::format("expected {}, got \"{}\"", what, *text));
  return text;
}

std::size_t ObjectReader::find_word(std::string_view key, std::vector<std::string_view> const& words) {
  auto const list = fmt::format("one of \"{}\"", fmt::join(words, "\", \""));
  auto const& value = require(key, list);
  if (!value.is_string()) fail("document.wrong-type", key, fmt::format("expected {}, got {}", list, shown(value)));
  auto const& text = value.get_ref<std::string const&>();
  auto const found = std::find(words.begin(), words.end(), text);
  if (found == words.end()) {
    auto message = fmt::format("expected {}, got {}", list, shown(value));
    if (auto const near = nearest(text, words); !near.empty()) message += fmt::format("; is \"{}\" meant?", near);
    fail("document.unknown-word", key, message);
  }
  return static_cast<std::size_t>(found - words.begin());
}

ObjectReader ObjectReader::object(std::string_view key) {
  return ObjectReader(require(key, "an object {...}"), document_, path_of(key));
}
std::optional<ObjectReader> ObjectReader::optional_object(std::string_view key) {
  auto const* found = find(key);
  return found ? std::optional<ObjectReader>(ObjectReader(*found, document_, path_of(key))) : std::nullopt;
}

std::vector<ObjectReader> ObjectReader::objects(std::string_view key) {
  auto const& list = require(key, "a list of objects");
  if (!list.is_array()) fail("document.wrong-type", key, "expected a list of objects, got " + shown(list));
  std::vector<ObjectReader> readers;
  for (std::size_t i = 0; i < list.size(); ++i) {
    readers.emplace_back(list[i], document_, path_of(key) + "/" + std::to_string(i));
  }
  return readers;
}
std::vector<ObjectReader> ObjectReader::optional_objects(std::string_view key) {
  return find(key) ? objects(key) : std::vector<ObjectReader>{};
}

std::vector<double> ObjectReader::numbers(std::string_view key, std::string_view what, Range range) {
  auto const expected = fmt::format("a list, each {}", what);
  auto const& list = require(key, expected);
  if (!list.is_array()) fail("document.wrong-type", key, fmt::format("expected {}, got {}", expected, shown(list)));
  std::vector<double> out;
  for (std::size_t i = 0; i < list.size(); ++i) {
    out.push_back(checked_number(list[i], path_of(key) + "/" + std::to_string(i), what, range));
  }
  return out;
}

std::vector<std::string> ObjectReader::texts(std::string_view key) {
  auto const& list = require(key, "a list of texts");
  if (!list.is_array()) fail("document.wrong-type", key, "expected a list of texts, got " + shown(list));
  std::vector<std::string> out;
  for (std::size_t i = 0; i < list.size(); ++i) {
    out.push_back(checked_text(list[i], path_of(key) + "/" + std::to_string(i), "a text"));
  }
  return out;
}
std::vector<std::string> ObjectReader::optional_texts(std::string_view key) {
  return find(key) ? texts(key) : std::vector<std::string>{};
}

Json const& ObjectReader::raw(std::string_view key, std::string_view what) { return require(key, what); }
Json const* ObjectReader::optional_raw(std::string_view key) { return find(key); }

void ObjectReader::finish() {
  std::vector<std::string_view> unused;
  for (auto const& name : known_) {
    if (!has(name) && name != "$schema" && name != "note") unused.push_back(name);
  }
  std::vector<std::string_view> all(known_.begin(), known_.end());
  for (auto const& entry : value_->items()) {
    if (known_.contains(entry.key())) continue;
    auto near = nearest(entry.key(), unused);
    if (near.empty()) near = nearest(entry.key(), all);
    fail("document.unknown-key", escaped(entry.key()),
         near.empty()
             ? std::string("unknown key; take it out (allowed: " + fmt::format("{}", fmt::join(all, ", ")) + ")")
             : fmt::format("unknown key; is \"{}\" meant?", near));
  }
}

}  // namespace benchward::documents
