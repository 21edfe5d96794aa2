// SPDX-License-Identifier: MIT
#pragma once

/// A device's register map or command set as data. A new instrument of a known kind needs a profile, no code. Read from
/// JSON by profile_document.hpp; values are taken from words and text by register_codec.hpp and text_codec.hpp. The
/// simulator lays out its raw words by the same profiles.

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "../../limits/quantity.hpp"

namespace benchward {

/// `bits`: one word of named bits. `text`: two characters a word. `bcd`: four decimal digits a word.
enum class ValueType { u16, s16, u32, s32, u64, s64, f32, f64, bcd16, bcd32, text, bits };

/// Order of the bytes of a value ON THE WIRE, A the most significant: abcd as in the standard; cdab words swapped; badc
/// bytes of each word swapped; dcba both. The same for reading and for writing.
enum class WordOrder { abcd, cdab, badc, dcba };

/// Which table a register is in: holding registers (read by function 3, written by 16) or input registers (function 4).
enum class RegisterTable { holding, input };

struct NamedBit {
  std::string name;        ///< "done", "over_range"
  int bit = 0;             ///< 0 = least significant
  bool makes_bad = false;  ///< set: every number of the same sample is BAD
  std::string words;       ///< for people: "a terminal is over range"
};

struct RegisterRow {
  std::string name;
  RegisterTable table = RegisterTable::holding;
  int address = 0;  ///< protocol address, zero-based
  int words = 1;
  ValueType type = ValueType::u16;
  WordOrder order = WordOrder::abcd;
  double scale = 1.0;  ///< value in `unit` = raw x scale + offset
  double offset = 0.0;
  std::string unit = "1";
  std::optional<double> lowest, highest;  ///< in `unit`: outside the number is BAD
  bool writable = false;
  bool no_value_mark = false;  ///< all ones (unsigned) or the most negative number (signed) means: there is no value
  /// Name of a whole-number row of the same groups: the value is multiplied by ten to its power. Empty: none.
  std::string exponent;
  std::vector<NamedBit> bits;
};

/// One number, word or bit field of a text device's reply, or an argument of its command.
struct TextField {
  enum class Kind { number, word, bits };
  std::string name;
  Kind kind = Kind::number;
  std::string unit = "1";
  bool suffix = false;       ///< the device writes the unit with an engineering prefix: "77.51mV"
  double least_count = 0.0;  ///< smallest step in `unit`; 0 = as many digits as the number has
  std::optional<double> lowest, highest;
  std::vector<NamedBit> bits;
};

struct TextCommand {
  std::string name;
  std::string line;                  ///< with arguments in braces: "SOUR:CURR {set_current}"
  std::vector<TextField> arguments;  ///< one a brace
  std::vector<TextField> reply;      ///< empty: the device says nothing
};

/// One step of a start-up, trigger or output sequence.
struct SequenceStep {
  enum class Kind { write, send, wait };
  Kind kind = Kind::write;
  std::vector<std::string> rows;              ///< write: neighbours, in one request; values come from the call ...
  std::map<std::string, double> constants;    ///< ... or from here, in the row's unit
  std::string command;                        ///< send: the text command's name
  std::string bit;                            ///< wait: until this bit of the sample ...
  bool until = true;                          ///< ... has this value
  Duration at_most, poll = milliseconds(50);  ///< wait: bench time
  bool energising = false;                    ///< needs a live permit, looked at again just before it is sent
};

/// Rows read together, in one request.
struct ReadGroup {
  std::string name;
  RegisterTable table = RegisterTable::holding;
  int address = 0, words = 0;
  std::vector<std::string> rows;
};

struct Profile {
  std::string id, note;
  std::string role;          ///< "ratio_meter", ...: see role_names.hpp
  bool text_device = false;  ///< text commands; else Modbus registers
  // Identity: what the device must say of itself. The serial number stands in the bench document.
  std::string maker, model;
  std::vector<std::string> firmware;        ///< accepted versions
  std::optional<double> highest;            ///< largest output, base unit of the role's driven quantity
  Duration time_limit = milliseconds(500);  ///< wall time of one request
  Duration gap;                             ///< silence before a request, besides the protocol's own

  // Modbus devices
  std::vector<RegisterRow> rows;
  std::vector<ReadGroup> groups;  ///< "identity" and "sample" at least
  std::string known_row;          ///< a register whose value is known: catches off-by-one maps
  std::optional<double> known_value;
  int write_function = 16;  ///< 16, or 6 for devices that take single registers only

  // Text devices
  std::string terminator = "\n", separator = ",";
  std::vector<TextCommand> commands;  ///< "identity" and "sample" at least; "errors": the error queue, code first

  /// The role's, and optional ones: "start_up" (once, when the identity is proven), "hold" and "release" (before and
  /// after each sample, where a device can keep one moment's values still).
  std::map<std::string, std::vector<SequenceStep>> sequences;

  RegisterRow const* row(std::string const& row_name) const;
  ReadGroup const* group(std::string const& group_name) const;
  TextCommand const* command(std::string const& command_name) const;
  std::vector<SequenceStep> const* sequence(std::string const& sequence_name) const;
};

/// A value taken from words or text. Numbers are in the base unit of their dimension (V, A, W, ohm, Hz, s, rad, degC,
/// 1).
struct Decoded {
  double number = 0.0;
  bool good = false;
  std::string why;                   ///< where it is not good
  std::string text;                  ///< text rows and word fields; the token as it came for text devices
  std::uint16_t bits = 0;            ///< bit rows
  std::vector<std::uint16_t> words;  ///< as they came; character codes for text devices
};

/// What a unit of a profile measures, and how many base units one of it is.
struct UnitWord {
  std::string dimension;  ///< "voltage", "current", "power", "resistance", "frequency", "time", "angle",
                          ///< "temperature", "number", "terminals"
  double in_base = 1.0;
};
/// "mV" -> voltage, 1e-3; nothing for an unknown word.
std::optional<UnitWord> unit_named(std::string const& unit);

}  // namespace benchward
