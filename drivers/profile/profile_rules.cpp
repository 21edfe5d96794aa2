// SPDX-License-Identifier: MIT
#include "drivers/profile/profile_rules.hpp"

#include <algorithm>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "drivers/profile/role_names.hpp"
#include "limits/documents/document_error.hpp"

namespace benchward {
namespace {

constexpr int most_words_read = 125, most_words_written = 123;  // Modbus application protocol V1.1b3, 6.3, 6.12

class Rules {
 public:
  Rules(Profile const& profile, std::string const& name) : profile_(profile), name_(name) {}

  void rows() const {
    std::set<std::string> names;
    for (std::size_t i = 0; i < profile_.rows.size(); ++i) {
      auto const& row = profile_.rows[i];
      auto const at = fmt::format("/rows/{}", i);
      if (!names.insert(row.name).second)
        fail("profile.name-twice", at + "/name", fmt::format("\"{}\" stands twice", row.name));
      if (row.scale == 0.0) fail("profile.scale", at + "/scale", "a scale of 0 makes every value the same");
      if (row.lowest && row.highest && !(*row.lowest < *row.highest)) {
        fail("profile.range", at + "/range", fmt::format("{} to {} is no range", *row.lowest, *row.highest));
      }
      bool const words_swapped = row.order == WordOrder::cdab || row.order == WordOrder::dcba;
      if (row.type == ValueType::text && words_swapped) {
        fail("profile.order", at + "/order",
             "characters come in the order of their words: abcd, or badc where the two of a word are swapped");
      }
      if (row.address + row.words > 65536)
        fail("profile.address", at + "/address", "the value runs past register 65535");
      if (row.writable && row.table != RegisterTable::holding) {
        fail("profile.address", at + "/writable", "input registers (function 4) cannot be written");
      }
      for (std::size_t other = 0; other < i; ++other) {
        auto const& earlier = profile_.rows[other];
        if (earlier.table == row.table && earlier.address < row.address + row.words &&
            row.address < earlier.address + earlier.words) {
          fail("profile.overlap", at + "/address",
               fmt::format("registers {} to {} overlap \"{}\" at {} to {}", row.address, row.address + row.words - 1,
                           earlier.name, earlier.address, earlier.address + earlier.words - 1));
        }
      }
      bits(row.bits, at, row.type == ValueType::bits);
    }
    if (!profile_.known_row.empty() && profile_.row(profile_.known_row) == nullptr) {
      fail("profile.row-missing", "/known/row", fmt::format("there is no row \"{}\"", profile_.known_row));
    }
  }

  void groups() const {
    for (std::size_t i = 0; i < profile_.groups.size(); ++i) {
      auto const& group = profile_.groups[i];
      auto const at = fmt::format("/groups/{}", i);
      if (group.words > most_words_read) {
        fail("profile.span", at,
             fmt::format("{} words in one request, at most {}: what is read together must fit", group.words,
                         most_words_read));
      }
      for (auto const& name : group.rows) exponent(*profile_.row(name), group);
    }
  }

  void commands() const {
    std::set<std::string> names;
    for (std::size_t i = 0; i < profile_.commands.size(); ++i) {
      auto const& command = profile_.commands[i];
      auto const at = fmt::format("/commands/{}", i);
      if (!names.insert(command.name).second)
        fail("profile.name-twice", at + "/name", fmt::format("\"{}\" stands twice", command.name));
      for (auto const& argument : command.arguments) {
        if (command.line.find("{" + argument.name + "}") == std::string::npos) {
          fail("profile.command", at + "/line", fmt::format("the line has no {{{}}} for this argument", argument.name));
        }
      }
      auto const braces = static_cast<std::size_t>(std::count(command.line.begin(), command.line.end(), '{'));
      if (braces != command.arguments.size())
        fail("profile.command", at + "/line", "every {name} of the line needs one entry in \"arguments\"");
      if (command.name == "errors" &&
          (command.reply.empty() || command.reply.front().kind != TextField::Kind::number)) {
        fail("profile.command", at + "/reply", "the error queue answers a number first, 0 for none");
      }
      for (auto const& field : command.reply) bits(field.bits, at, field.kind == TextField::Kind::bits);
    }
  }

  void role() const {
    auto const* names = names_of_role(profile_.role);
    for (auto const& need : {std::string("identity"), std::string("sample")}) {
      bool const there = profile_.text_device ? profile_.command(need) != nullptr : profile_.group(need) != nullptr;
      if (!there) {
        fail("profile.row-missing", "",
             fmt::format("there is no {} \"{}\"", profile_.text_device ? "command" : "read group", need));
      }
    }
    for (auto const& need : {"maker", "model", "serial", "firmware"}) in_sample("identity", need, "", true);
    for (auto const& need : names->sample) in_sample("sample", need.name, need.dimension, need.required);
    for (auto const& need : names->settings) setting(need);
    for (auto const& need : names->bits) bit_in_sample(need);
    for (auto const& need : names->sequences) {
      if (profile_.sequence(need) == nullptr) {
        fail("profile.sequence", "/sequences", fmt::format("a {} needs the sequence \"{}\"", profile_.role, need));
      }
    }
    for (auto const& need : names->energising) {
      auto const& steps = *profile_.sequence(need);
      if (std::none_of(steps.begin(), steps.end(), [](auto const& step) { return step.energising; })) {
        fail("profile.sequence", "/sequences/" + need,
             "this sequence drives the unit: mark the step that does with \"energising\": true");
      }
    }
    if (!names->driven.empty() && !profile_.highest) {
      fail("profile.row-missing", "/highest", fmt::format("a {} states its largest {}", profile_.role, names->driven));
    }
  }

  void sequences() const {
    for (auto const& [name, steps] : profile_.sequences) {
      for (std::size_t i = 0; i < steps.size(); ++i) {
        auto const at = fmt::format("/sequences/{}/{}", name, i);
        auto const& step = steps[i];
        bool const at_reading = name == "hold" || name == "release";
        if (at_reading && (step.energising || step.kind == SequenceStep::Kind::wait))
          fail("profile.sequence", at, "what holds values still for reading neither drives the unit nor waits");
        switch (step.kind) {
          case SequenceStep::Kind::write:
            write_step(step, at);
            break;
          case SequenceStep::Kind::send:
            if (profile_.command(step.command) == nullptr) {
              fail("profile.command", at + "/send", fmt::format("there is no command \"{}\"", step.command));
            }
            break;
          case SequenceStep::Kind::wait:
            bit_in_sample(step.bit, at + "/wait");
            break;
        }
      }
    }
  }

 private:
  [[noreturn]] void fail(char const* id, std::string const& at, std::string const& words) const {
    throw DocumentError(id, name_, at, words);
  }

  void bits(std::vector<NamedBit> const& list, std::string const& at, bool allowed) const {
    if (!allowed && !list.empty())
      fail("profile.bits", at + "/bits", "only a row or field of type bits has named bits");
    if (allowed && list.empty()) fail("profile.bits", at + "/bits", "name at least one bit");
    std::set<std::string> names;
    std::set<int> places;
    for (auto const& bit : list) {
      if (!names.insert(bit.name).second || !places.insert(bit.bit).second) {
        fail("profile.bits", at + "/bits", fmt::format("bit {} \"{}\" stands twice", bit.bit, bit.name));
      }
    }
  }

  /// Number and power of ten of two moments would be a thousand times wrong: they come in one request or not at all.
  void exponent(RegisterRow const& row, ReadGroup const& group) const {
    if (row.exponent.empty()) return;
    auto const at = fmt::format("/rows/{}/exponent", &row - profile_.rows.data());
    auto const* power = profile_.row(row.exponent);
    bool const whole = power != nullptr && power->exponent.empty() && power->scale == 1.0 && power->offset == 0.0 &&
                       (power->type == ValueType::s16 || power->type == ValueType::u16);
    if (!whole) fail("profile.exponent", at, fmt::format("there is no plain s16 or u16 row \"{}\"", row.exponent));
    if (std::find(group.rows.begin(), group.rows.end(), row.exponent) == group.rows.end()) {
      fail(
          "profile.exponent", at,
          fmt::format("\"{}\" must be read in the same request: add it to the group \"{}\"", row.exponent, group.name));
    }
    if (row.writable || row.type == ValueType::text || row.type == ValueType::bits)
      fail("profile.exponent", at, "only a number that is read has a power of ten of its own");
  }

  void dimension(std::string const& unit, std::string const& wanted, std::string const& name,
                 std::string const& at) const {
    auto const known = unit_named(unit);
    if (!wanted.empty() && (!known || known->dimension != wanted)) {
      fail("profile.unit", at,
           fmt::format("\"{}\" of a {} is a {}, \"{}\" is not a unit of that", name, profile_.role, wanted, unit));
    }
  }

  void in_sample(std::string const& group, std::string const& name, std::string const& wanted, bool required) const {
    if (profile_.text_device) {
      auto const* command = profile_.command(group);
      auto const at = std::find_if(command->reply.begin(), command->reply.end(),
                                   [&](auto const& field) { return field.name == name; });
      if (at != command->reply.end()) {
        dimension(at->unit, wanted, name, "/commands");
      } else if (required) {
        fail("profile.row-missing", "/commands", fmt::format("the reply to \"{}\" lacks \"{}\"", group, name));
      }
      return;
    }
    auto const& rows = profile_.group(group)->rows;
    if (std::find(rows.begin(), rows.end(), name) == rows.end()) {
      if (required) fail("profile.row-missing", "/groups", fmt::format("the group \"{}\" lacks \"{}\"", group, name));
      return;
    }
    auto const* row = profile_.row(name);
    auto const at = fmt::format("/rows/{}/unit", row - profile_.rows.data());
    if (!wanted.empty()) dimension(row->unit, wanted, name, at);
    if (wanted.empty() != (row->type == ValueType::text)) {
      fail("profile.unit", at, wanted.empty() ? "this row is a text" : "this row is a number");
    }
  }

  void setting(RoleName const& need) const {
    if (profile_.text_device) {
      for (auto const& command : profile_.commands) {
        for (auto const& argument : command.arguments) {
          if (argument.name != need.name) continue;
          dimension(argument.unit, need.dimension, need.name, "/commands");
          return;
        }
      }
      fail("profile.row-missing", "/commands", fmt::format("no command takes \"{}\"", need.name));
    }
    auto const* row = profile_.row(need.name);
    if (row == nullptr || !row->writable) {
      fail("profile.row-missing", "/rows", fmt::format("there is no writable row \"{}\"", need.name));
    }
    dimension(row->unit, need.dimension, need.name, fmt::format("/rows/{}/unit", row - profile_.rows.data()));
  }

  void bit_in_sample(std::string const& name, std::string const& at = "/rows") const {
    auto const has = [&](std::vector<NamedBit> const& list) {
      return std::any_of(list.begin(), list.end(), [&](auto const& bit) { return bit.name == name; });
    };
    if (profile_.text_device) {
      for (auto const& field : profile_.command("sample")->reply) {
        if (has(field.bits)) return;
      }
    } else {
      for (auto const& row : profile_.group("sample")->rows) {
        if (has(profile_.row(row)->bits)) return;
      }
    }
    fail("profile.row-missing", at, fmt::format("no status of the sample has the bit \"{}\"", name));
  }

  void write_step(SequenceStep const& step, std::string const& at) const {
    int next = -1, words = 0;
    for (auto const& name : step.rows) {
      auto const* row = profile_.row(name);
      if (row == nullptr || !row->writable)
        fail("profile.row-missing", at + "/write", fmt::format("there is no writable row \"{}\"", name));
      if (next >= 0 && row->address != next) {
        fail("profile.sequence", at + "/write",
             fmt::format("\"{}\" is not next to the row before it: one request writes neighbours", name));
      }
      next = row->address + row->words;
      words += row->words;
    }
    if (words > most_words_written)
      fail("profile.span", at + "/write", fmt::format("{} words, at most {}", words, most_words_written));
    if (profile_.write_function == 6 && words != 1) {
      fail("profile.sequence", at + "/write", "function 6 writes one register in a request");
    }
    for (auto const& [name, value] : step.constants) {
      if (std::find(step.rows.begin(), step.rows.end(), name) == step.rows.end()) {
        fail("profile.sequence", at + "/values", fmt::format("\"{}\" is not written in this step", name));
      }
      static_cast<void>(value);
    }
  }

  Profile const& profile_;
  std::string const& name_;
};

}  // namespace

void judge_profile(Profile const& profile, std::string const& name) {
  Rules const rules(profile, name);
  rules.rows();
  rules.groups();
  rules.commands();
  rules.role();
  rules.sequences();
}

}  // namespace benchward
