// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

#include "limits/documents/json_reader.hpp"

using benchward::DocumentError;
using namespace benchward::documents;

namespace {

template <class Call>
DocumentError error_of(Call call) {
  try {
    call();
  } catch (DocumentError const& error) {
    return error;
  }
  FAIL("nothing was refused");
  throw std::logic_error("not reached");
}

DocumentError parse_error(std::string const& text) {
  return error_of([&] { parse_json(text, "t.json"); });
}

/// A folder of this test's own, gone at its end.
struct Folder {
  std::filesystem::path path =
      std::filesystem::temp_directory_path() / ("benchward-reader-" + std::to_string(::rand()));
  Folder() { std::filesystem::create_directories(path); }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string file(std::string const& name, std::string const& text) const {
    std::ofstream((path / name), std::ios::binary) << text;
    return (path / name).string();
  }
};

}  // namespace

TEST_CASE("a text that is no JSON is refused with line and column", "[documents][reader]") {
  auto const row = GENERATE(table<std::string, std::string, std::string>({
      {"", "document.empty", "nothing in it"},
      {" \n\t ", "document.empty", "nothing in it"},
      {"{\"a\": 1,\n \"b\": }", "document.not-json", "line 2, column 7"},
      {"{\"a\": NaN}", "document.not-json", "line 1, column 7"},
      {"{\"a\": Infinity}", "document.not-json", "line 1, column 7"},
      {"{\"a\": -Infinity}", "document.not-json", "line 1"},
      {"{\"a\": 1e999}", "document.not-json", "number overflow"},
      {"{\"a\": \"\xff\"}", "document.not-json", "UTF-8"},
      {"{\"a\": \"\xc0\xaf\"}", "document.not-json", "UTF-8"},
      {"{\"a\": \"\xed\xa0\x80\"}", "document.not-json", "UTF-8"},
      {"{\"a\": 1} x", "document.not-json", "line 1"},
      {"{'a': 1}", "document.not-json", "line 1, column 2"},
      {"{\"a\": 1,}", "document.not-json", "line 1"},
      {"{\"a\": 01}", "document.not-json", "line 1"},
      {"{\"a\": \"x", "document.not-json", "line 1"},
      {"{\"a\": 1}\n// no", "document.not-json", "line 2"},
  }));
  auto const error = parse_error(std::get<0>(row));
  CHECK(error.id() == std::get<1>(row));
  CHECK_THAT(error.what(), Catch::Contains(std::get<2>(row)));
  CHECK(error.document() == "t.json");
}

TEST_CASE("a key that stands twice in an object is refused with its path", "[documents][reader]") {
  auto const error = parse_error(R"({"hv": {"taps": [{"percent": 1}, {"percent": 2, "percent": 3}]}})");
  CHECK(error.id() == "document.duplicate-key");
  CHECK(error.path() == "/hv/taps/1/percent");
  CHECK_NOTHROW(parse_json(R"([{"a": 1}, {"a": 2}])", "t"));
}

TEST_CASE("depth and size are limited", "[documents][reader]") {
  auto const nested = [](std::size_t depth) { return std::string(depth, '[') + std::string(depth, ']'); };
  CHECK_NOTHROW(parse_json(nested(depth_limit), "t"));
  CHECK(parse_error(nested(depth_limit + 1)).id() == "document.too-deep");
  CHECK(parse_error(std::string(200000, '[')).id() == "document.too-deep");
  auto const text = [](std::size_t size) { return "\"" + std::string(size - 2, 'x') + "\""; };
  CHECK_NOTHROW(parse_json(text(size_limit_bytes), "t"));
  CHECK(parse_error(text(size_limit_bytes + 1)).id() == "document.too-large");
}

TEST_CASE("a file that cannot be read says which and why", "[documents][reader]") {
  Folder const folder;
  CHECK(error_of([&] { read_json_file((folder.path / "none.json").string()); }).id() == "document.not-found");
  CHECK(error_of([&] { read_json_file(folder.path.string()); }).id() == "document.is-a-directory");
  CHECK(error_of([&] { read_json_file(folder.file("empty.json", "")); }).id() == "document.empty");
  CHECK(error_of([&] { read_json_file(folder.file("large.json", std::string(size_limit_bytes + 1, ' '))); }).id() ==
        "document.too-large");
  auto const error = error_of([&] { read_json_file((folder.path / "none.json").string()); });
  CHECK_THAT(error.what(), Catch::Contains("none.json: there is no such file"));
  CHECK(read_json_file(folder.file("good.json", "{\"a\": 1}"))["a"] == 1);
}

TEST_CASE("a file without read permission is refused, where the user is bound by permissions", "[documents][reader]") {
  Folder const folder;
  auto const path = folder.file("locked.json", "{}");
  std::filesystem::permissions(path, std::filesystem::perms::none);
  if (std::ifstream(path).good()) return;  // root reads everything: nothing to prove
  CHECK(error_of([&] { read_json_file(path); }).id() == "document.unreadable");
}

TEST_CASE("the typed reader names the key, what it expected and what it got", "[documents][reader]") {
  auto const json =
      parse_json(R"({"number": "five", "large": 101, "half": 2.5, "huge": 18446744073709551615, "word": "coper",
                                   "date": "2026-02-29", "leap": "2028-02-29", "text": "", "tab": "a\tb", "list": [1, "x"],
                                   "null": null, "at": "2026-01-31T08:00:00Z", "later": "2026-01-31 08:00"})",
                 "t.json");
  ObjectReader reader(json, "t.json");
  auto const message = [](auto call) { return std::string(error_of(call).what()); };
  CHECK(message([&] { reader.number("number", "a number of percent"); }) ==
        "t.json: /number: expected a number of percent, got \"five\"");
  CHECK(message([&] { reader.number("null", "a number"); }) == "t.json: /null: expected a number, got nothing (null)");
  CHECK(message([&] { reader.number("large", "a number of percent", above_up_to(0.0, 100.0)); }) ==
        "t.json: /large: expected a number of percent above 0 and at most 100, got 101");
  CHECK_THAT(message([&] { reader.integer("half", "turns", 1, 10); }), Catch::Contains("a whole number, got 2.5"));
  CHECK_THAT(message([&] { reader.integer("huge", "turns", 1, 10); }), Catch::Contains("from 1 to 10"));
  constexpr std::array<Word<int>, 2> metals{{{"copper", 1}, {"aluminum", 2}}};
  CHECK(message([&] { reader.word("word", metals); }) ==
        "t.json: /word: expected one of \"copper\", \"aluminum\", got \"coper\"; is \"copper\" meant?");
  CHECK_THAT(message([&] { reader.date("date"); }), Catch::Contains("exists in the calendar, got \"2026-02-29\""));
  CHECK(reader.date("leap") == "2028-02-29");
  CHECK_THAT(message([&] { reader.text("text"); }), Catch::Contains("empty text"));
  CHECK_THAT(message([&] { reader.text("tab"); }), Catch::Contains("control character"));
  CHECK(error_of([&] { reader.numbers("list", "a number"); }).path() == "/list/1");
  CHECK(error_of([&] { reader.number("absent", "a number of volts"); }).id() == "document.missing-key");
  CHECK(*reader.optional_instant("at") == "2026-01-31T08:00:00Z");
  CHECK(error_of([&] { reader.optional_instant("later"); }).id() == "document.out-of-range");
}

TEST_CASE("an unknown key is refused and the nearest known one is named", "[documents][reader]") {
  auto const json = parse_json(R"({"note": "n", "ratd_kva": 50, "a/b": 1})", "t.json");
  ObjectReader missing(json, "t.json");
  CHECK_THAT(error_of([&] { missing.number("rated_kva", "a number of kVA"); }).what(),
             Catch::Contains("/rated_kva: is missing; expected a number of kVA (is \"ratd_kva\" meant for it?)"));
  ObjectReader unknown(json, "t.json");
  unknown.optional_number("rated_kva", "a number");
  unknown.known("a/b");
  auto const error = error_of([&] { unknown.finish(); });
  CHECK(error.id() == "document.unknown-key");
  CHECK(error.path() == "/ratd_kva");
  CHECK_THAT(error.what(), Catch::Contains("is \"rated_kva\" meant?"));
  ObjectReader escaped(json, "t.json");
  escaped.known("ratd_kva");
  CHECK(error_of([&] { escaped.finish(); }).path() == "/a~1b");
}
