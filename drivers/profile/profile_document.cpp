// SPDX-License-Identifier: MIT
#include "drivers/profile/profile_document.hpp"

#include <algorithm>
#include <charconv>
#include <filesystem>

#include <fmt/format.h>

#include "drivers/bench/bench.hpp"
#include "drivers/profile/built_in.hpp"
#include "drivers/profile/profile_rules.hpp"
#include "drivers/profile/register_codec.hpp"
#include "drivers/profile/role_names.hpp"
#include "limits/documents/json_reader.hpp"

namespace benchward {
namespace {

using documents::ObjectReader;
using documents::Word;

constexpr Word<ValueType> type_words[] = {
    {"u16", ValueType::u16},     {"s16", ValueType::s16},     {"u32", ValueType::u32},   {"s32", ValueType::s32},
    {"u64", ValueType::u64},     {"s64", ValueType::s64},     {"f32", ValueType::f32},   {"f64", ValueType::f64},
    {"bcd16", ValueType::bcd16}, {"bcd32", ValueType::bcd32}, {"text", ValueType::text}, {"bits", ValueType::bits}};
constexpr Word<WordOrder> order_words[] = {
    {"abcd", WordOrder::abcd}, {"cdab", WordOrder::cdab}, {"badc", WordOrder::badc}, {"dcba", WordOrder::dcba}};
constexpr Word<TextField::Kind> kind_words[] = {
    {"number", TextField::Kind::number}, {"word", TextField::Kind::word}, {"bits", TextField::Kind::bits}};

std::vector<NamedBit> read_bits(ObjectReader& from) {
  std::vector<NamedBit> bits;
  for (auto& entry : from.optional_objects("bits")) {
    NamedBit bit;
    bit.name = entry.text("name", "the bit's name");
    bit.bit = static_cast<int>(entry.integer("bit", "a bit, 0 the least significant", 0, 15));
    bit.makes_bad = entry.boolean_or("makes_bad", false);
    bit.words = entry.text_or("words", "");
    entry.finish();
    bits.push_back(std::move(bit));
  }
  return bits;
}

void read_range(ObjectReader& from, std::optional<double>& lowest, std::optional<double>& highest) {
  if (!from.has("range")) {
    from.known("range");
    return;
  }
  auto const range = from.numbers("range", "a number in the row's unit");
  if (range.size() != 2) from.fail("profile.range", "range", "expected [lowest, highest]");
  lowest = range[0];
  highest = range[1];
}

std::string read_unit(ObjectReader& from, char const* absent) {
  auto unit = from.text_or("unit", absent, "a unit");
  if (!unit_named(unit)) from.fail("profile.unit", "unit", fmt::format("\"{}\" is no unit known here", unit));
  return unit;
}

/// "address": zero-based, with "function" 3 or 4. Or "reference": "40101" (five or six digits in quotes), the one-based
/// notation of many manuals, whose first digit names the table. Never both, and a number above 40000 is not guessed at.
void read_place(ObjectReader& from, RegisterRow& row) {
  if (!from.has("reference")) {
    from.known("reference");
    row.table = from.integer("function", "3 (holding registers) or 4 (input registers)", 3, 4) == 3
                    ? RegisterTable::holding
                    : RegisterTable::input;
    row.address = static_cast<int>(from.integer("address", "a zero-based register address", 0, 65535));
    return;
  }
  auto const reference = from.text("reference", "a register reference such as \"40101\"");
  if (from.has("address") || from.has("function"))
    from.fail("profile.address", "reference", "either \"reference\", or \"function\" and \"address\"");
  int number = 0;
  auto const end = std::from_chars(reference.data(), reference.data() + reference.size(), number);
  bool const digits = end.ec == std::errc() && end.ptr == reference.data() + reference.size();
  int const base = reference.size() == 5 ? 10000 : reference.size() == 6 ? 100000 : 0;
  int const table = base > 0 ? number / base : 0;
  int const one_based = base > 0 ? number % base : 0;
  if (!digits || (table != 3 && table != 4) || one_based < 1 || one_based > 65536) {
    from.fail("profile.address", "reference", fmt::format("\"{}\" is not 3xxxx, 4xxxx, 3xxxxx or 4xxxxx", reference));
  }
  row.table = table == 4 ? RegisterTable::holding : RegisterTable::input;
  row.address = one_based - 1;
}

RegisterRow read_row(ObjectReader from) {
  RegisterRow row;
  row.name = from.text("name", "the row's name");
  read_place(from, row);
  row.type = from.word("type", type_words);
  row.words = words_of(row.type);
  if (row.type == ValueType::text) {
    row.words = static_cast<int>(from.integer("words", "a number of words", 1, 125));
  } else {
    from.known("words");
    if (from.has("words"))
      from.fail("document.unknown-key", "words", "only a text has a length of its own; the type says it");
  }
  if (row.words > 1 && row.type != ValueType::text && !from.has("order")) {
    from.fail("profile.order", "",
              "a value of several words needs its \"order\" on the wire: abcd, cdab, badc or dcba");
  }
  row.order = from.word_or("order", WordOrder::abcd, order_words);
  row.scale = from.number_or("scale", 1.0, "a number");
  row.offset = from.number_or("offset", 0.0, "a number");
  row.unit = read_unit(from, "1");
  read_range(from, row.lowest, row.highest);
  row.writable = from.boolean_or("writable", false);
  row.no_value_mark = from.boolean_or("no_value_mark", false);
  row.exponent = from.text_or("exponent", "", "the name of the row that holds the power of ten");
  row.bits = read_bits(from);
  from.finish();
  return row;
}

TextField read_field(ObjectReader from) {
  TextField field;
  field.name = from.text("name", "the field's name");
  field.kind = from.word_or("kind", TextField::Kind::number, kind_words);
  field.unit = read_unit(from, "1");
  field.suffix = from.boolean_or("suffix", false);
  field.least_count = from.number_or("least_count", 0.0, "the smallest step", documents::at_least(0.0));
  read_range(from, field.lowest, field.highest);
  field.bits = read_bits(from);
  from.finish();
  return field;
}

TextCommand read_command(ObjectReader from) {
  TextCommand command;
  command.name = from.text("name", "the command's name");
  command.line = from.text("line", "the line to send");
  for (auto& entry : from.optional_objects("arguments")) command.arguments.push_back(read_field(entry));
  for (auto& entry : from.optional_objects("reply")) command.reply.push_back(read_field(entry));
  from.finish();
  return command;
}

SequenceStep read_step(ObjectReader from, bool text_device) {
  SequenceStep step;
  if (from.has("wait")) {
    step.kind = SequenceStep::Kind::wait;
    step.bit = from.text("wait", "the name of a bit");
    step.until = from.boolean_or("until", true);
    step.at_most = seconds(from.number("at_most_s", "a number of seconds", documents::above_up_to(0.0, 600.0)));
    step.poll = seconds(from.number_or("poll_s", 0.05, "a number of seconds", documents::between(0.005, 5.0)));
  } else if (text_device) {
    step.kind = SequenceStep::Kind::send;
    step.command = from.text("send", "the name of a command");
    step.energising = from.boolean_or("energising", false);
  } else {
    step.rows = from.texts("write");
    if (step.rows.empty()) from.fail("profile.sequence", "write", "name at least one row");
    if (auto values = from.optional_object("values")) {
      for (auto const& name : values->keys()) step.constants[name] = values->number(name, "a number in the row's unit");
    }
    step.energising = from.boolean_or("energising", false);
  }
  from.finish();
  return step;
}

ReadGroup read_group(ObjectReader from, Profile const& profile) {
  ReadGroup group;
  group.name = from.text("name", "the group's name");
  group.rows = from.texts("rows");
  if (group.rows.empty()) from.fail("profile.row-missing", "rows", "name at least one row");
  int lowest = 65536, highest = -1;
  for (auto const& name : group.rows) {
    auto const* row = profile.row(name);
    if (row == nullptr) from.fail("profile.row-missing", "rows", fmt::format("there is no row \"{}\"", name));
    if (highest >= 0 && row->table != group.table) {
      from.fail("profile.span", "rows",
                fmt::format("\"{}\" is read by another function than the rows before it", name));
    }
    group.table = row->table;
    lowest = std::min(lowest, row->address);
    highest = std::max(highest, row->address + row->words - 1);
  }
  group.address = lowest;
  group.words = highest - lowest + 1;
  from.finish();
  return group;
}

void read_registers(ObjectReader& from, Profile& profile) {
  for (auto& entry : from.objects("rows")) profile.rows.push_back(read_row(entry));
  for (auto& entry : from.objects("groups")) profile.groups.push_back(read_group(entry, profile));
  profile.write_function = from.integer_or("write_function", 16, "6 or 16", 6, 16) == 6 ? 6 : 16;
  if (auto known = from.optional_object("known")) {
    profile.known_row = known->text("row", "the name of a row");
    profile.known_value = known->number("value", "a number in the row's unit");
    known->finish();
  }
}

void read_commands(ObjectReader& from, Profile& profile) {
  constexpr Word<std::string_view> terminators[] = {{"LF", "\n"}, {"CR", "\r"}, {"CRLF", "\r\n"}};
  profile.terminator = std::string(from.word_or("terminator", std::string_view("\n"), terminators));
  profile.separator = from.text_or("separator", ",", "what stands between the fields of a reply");
  if (profile.separator.empty()) from.fail("profile.command", "separator", "expected at least one character");
  for (auto& entry : from.objects("commands")) profile.commands.push_back(read_command(entry));
}

}  // namespace

Profile parse_profile(std::string_view text, std::string const& name) {
  auto const json = documents::parse_json(text, name);
  ObjectReader from(json, name);
  Profile profile;
  profile.note = from.text_or("note", "");
  profile.id = from.text("id", "the profile's id");
  profile.role = from.text("role", "a role");
  if (names_of_role(profile.role) == nullptr)
    from.fail("profile.role", "role", fmt::format("\"{}\" is no role", profile.role));
  constexpr Word<bool> kinds[] = {{"modbus", false}, {"text", true}};
  profile.text_device = from.word("speaks", kinds);
  profile.maker = from.text("maker");
  profile.model = from.text("model");
  profile.firmware = from.texts("firmware");
  if (profile.firmware.empty()) from.fail("document.out-of-range", "firmware", "name at least one accepted version");
  if (auto highest = from.optional_object("highest")) {
    double const value = highest->number("value", "the largest output", documents::above(0.0));
    profile.highest = value * unit_named(read_unit(*highest, "1"))->in_base;
    highest->finish();
  }
  profile.time_limit =
      seconds(from.number_or("time_limit_s", 0.5, "a number of seconds", documents::between(0.02, 30.0)));
  profile.gap = seconds(from.number_or("gap_s", 0.0, "a number of seconds", documents::between(0.0, 1.0)));
  profile.text_device ? read_commands(from, profile) : read_registers(from, profile);
  if (from.has("sequences")) {
    auto sequences = from.object("sequences");
    for (auto const& sequence : sequences.keys()) {
      for (auto& step : sequences.objects(sequence))
        profile.sequences[sequence].push_back(read_step(step, profile.text_device));
    }
  }
  from.known("sequences");
  from.finish();
  judge_profile(profile, name);
  return profile;
}

Profile read_profile(std::string const& path) { return parse_profile(documents::read_text_file(path), path); }

std::vector<std::string> built_in_profiles() {
  std::vector<std::string> ids;
  for (auto const& [id, text] : built_in_profile_texts()) ids.emplace_back(id);
  return ids;
}

Profile const& built_in_profile(std::string const& id) {
  static auto const profiles = [] {
    std::map<std::string, Profile> all;
    for (auto const& [name, text] : built_in_profile_texts()) {
      all.emplace(name, parse_profile(text, std::string("built-in profile ") + std::string(name)));
    }
    return all;
  }();
  if (auto const found = profiles.find(id); found != profiles.end()) return found->second;
  std::vector<std::string_view> words;
  for (auto const& entry : profiles) words.push_back(entry.first);
  auto const near = documents::nearest(id, words);
  throw DocumentError("profile.unknown", "", "",
                      near.empty() ? fmt::format("there is no built-in profile \"{}\"", id)
                                   : fmt::format("there is no built-in profile \"{}\"; is \"{}\" meant?", id, near));
}

Profile profile_of(InstrumentDeclaration const& instrument, Bench const& bench) {
  auto const index = static_cast<std::size_t>(&instrument - bench.instruments.data());
  auto const at =
      index < bench.instruments.size() ? fmt::format("/instruments/{}/profile", index) : std::string("/instruments");
  auto const is_path =
      instrument.profile.size() > 5 && instrument.profile.rfind(".json") == instrument.profile.size() - 5;
  Profile profile;
  if (is_path) {
    profile = read_profile((std::filesystem::path(bench.file).parent_path() / instrument.profile).string());
  } else {
    try {
      profile = built_in_profile(instrument.profile);
    } catch (DocumentError const& error) {
      throw DocumentError(error.id(), bench.file, at, error.message());
    }
  }
  if (profile.role != instrument.role) {
    throw DocumentError(
        "bench.profile", bench.file, at,
        fmt::format("profile \"{}\" is of a {}, the instrument is a {}", profile.id, profile.role, instrument.role));
  }
  auto const* link = bench.link(instrument.link);
  bool const text_link = link != nullptr && (link->kind == "text" || link->kind == "text_tcp");
  if (link != nullptr && text_link != profile.text_device) {
    throw DocumentError("bench.profile", bench.file, at,
                        fmt::format("profile \"{}\" speaks {}, link \"{}\" is of kind {}", profile.id,
                                    profile.text_device ? "text" : "Modbus", link->name, link->kind));
  }
  return profile;
}

}  // namespace benchward
