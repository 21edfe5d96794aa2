// SPDX-License-Identifier: MIT
#include "sim/wires/instrument_registers.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "drivers/roles/connection.hpp"
#include "sim/wires/register_words.hpp"

namespace benchward::sim {

namespace {

bool in_table(RegisterTable table, benchward::RegisterTable of_row) {
  return (table == RegisterTable::holding) == (of_row == benchward::RegisterTable::holding);
}

bool is_terminals(RegisterRow const& row) {
  auto const unit = unit_named(row.unit);
  return unit && unit->dimension == "terminals";
}

/// Bit n is Terminal n; tied terminals joined by "+".
std::string names_of_terminals(double bits) {
  std::string names;
  for (int terminal = 0; terminal < terminal_count; ++terminal) {
    if (((static_cast<unsigned>(bits) >> static_cast<unsigned>(terminal)) & 1u) == 0) continue;
    names += (names.empty() ? "" : "+") + name_of(static_cast<Terminal>(terminal));
  }
  return names;
}

}  // namespace

InstrumentRegisters::InstrumentRegisters(Profile const& profile, SimInstrument& instrument, WireFaults const& faults,
                                         std::string serial)
    : points_(profile, instrument, faults, std::move(serial)) {}

bool InstrumentRegisters::exists(RegisterTable table, int address) const {
  auto const covers = [&](auto const& part) {
    return in_table(table, part.table) && address >= part.address && address < part.address + part.words;
  };
  auto const& profile = points_.profile();
  return std::any_of(profile.rows.begin(), profile.rows.end(), covers) ||
         std::any_of(profile.groups.begin(), profile.groups.end(), covers);
}

std::vector<std::uint16_t> InstrumentRegisters::words_of_row(RegisterRow const& row) {
  if (row.type == ValueType::text) return words_of_text(points_.text(row.name).value_or(""), row);
  if (row.type == ValueType::bits) return words_of_number(static_cast<double>(points_.bits(row.bits)), row);
  if (auto const kept = written_.find(row.name); kept != written_.end()) return kept->second;
  auto number = points_.number(row.name);
  if (auto const power = power_of_ten(row.name)) {
    return words_of_number(static_cast<double>(*power), row);
  }
  if (number && !row.exponent.empty()) number = *number / std::pow(10.0, *power_of_ten(row.exponent));
  if (!number && row.writable) return std::vector<std::uint16_t>(static_cast<std::size_t>(row.words));  // never set
  return with_faults(row, words_of_number(number, row));
}

std::optional<int> InstrumentRegisters::power_of_ten(std::string const& exponent_row) {
  std::optional<int> power;
  for (auto const& row : points_.profile().rows) {
    if (row.exponent != exponent_row) continue;
    auto const unit = unit_named(row.unit);
    double const count = std::abs(points_.number(row.name).value_or(0.0)) / (unit ? unit->in_base : 1.0) / row.scale;
    // Every value of this power fits: the largest decides, with some digits to spare for a signed word.
    int own = -9;
    while (own < 9 && count / std::pow(10.0, own) > 32000.0) ++own;
    power = std::max(power.value_or(own), own);
  }
  return power;
}

std::vector<std::uint16_t> InstrumentRegisters::with_faults(RegisterRow const& row, std::vector<std::uint16_t> words) {
  if (words.size() > 1 && points_.fault("torn-value")) {
    auto& before = before_[row.name];
    auto const now = words;
    if (before.size() == words.size()) words.front() = before.front();
    before = now;
  }
  if (points_.fault("words-swapped")) std::reverse(words.begin(), words.end());
  return words;
}

std::optional<ModbusException> InstrumentRegisters::read(RegisterTable table, std::uint16_t address,
                                                         std::span<std::uint16_t> words) {
  bool const shifted = points_.fault("register-off-by-one");
  int const first = static_cast<int>(address) - (shifted ? 1 : 0), end = first + static_cast<int>(words.size());
  for (int at = first; at < end; ++at) {
    if (!shifted && !exists(table, at)) return ModbusException::illegal_address;
  }
  std::fill(words.begin(), words.end(), std::uint16_t{0});
  for (auto const& row : points_.profile().rows) {
    if (!in_table(table, row.table) || row.address >= end || row.address + row.words <= first) continue;
    auto const content = words_of_row(row);
    for (int i = 0; i < row.words; ++i) {
      int const at = row.address + i - first;
      if (at >= 0 && at < static_cast<int>(words.size()))
        words[static_cast<std::size_t>(at)] = content[static_cast<std::size_t>(i)];
    }
  }
  return std::nullopt;
}

std::optional<ModbusException> InstrumentRegisters::write(std::uint16_t address, std::span<std::uint16_t const> words) {
  int const first = address, end = first + static_cast<int>(words.size());
  if (points_.profile().write_function == 6 && words.size() > 1) return ModbusException::illegal_function;
  std::vector<RegisterRow const*> rows;
  int covered = 0;
  for (auto const& row : points_.profile().rows) {
    if (row.table != benchward::RegisterTable::holding || row.address >= end || row.address + row.words <= first)
      continue;
    if (!row.writable) return ModbusException::illegal_address;
    if (row.address < first || row.address + row.words > end) return ModbusException::illegal_value;
    rows.push_back(&row);
    covered += row.words;
  }
  if (covered != static_cast<int>(words.size())) return ModbusException::illegal_address;
  std::sort(rows.begin(), rows.end(), [](auto const* a, auto const* b) { return a->address < b->address; });
  auto const words_for = [&](RegisterRow const& row) {
    return words.subspan(static_cast<std::size_t>(row.address - first), static_cast<std::size_t>(row.words));
  };
  for (auto const* row : rows) {
    if (row->type == ValueType::text) continue;
    auto const number = number_of_words(words_for(*row), *row);
    if (!number) return ModbusException::illegal_value;
    auto const unit = unit_named(row->unit);
    double const in_unit = *number / (unit ? unit->in_base : 1.0);
    if ((row->lowest && in_unit < *row->lowest) || (row->highest && in_unit > *row->highest)) {
      return ModbusException::illegal_value;
    }
  }
  // Settings first, then what sets them off, whatever the order of the addresses.
  std::map<std::string, double> in_units;
  for (auto const* row : rows) {
    auto const own = words_for(*row);
    written_[row->name].assign(own.begin(), own.end());
    if (row->type != ValueType::text) {
      auto const unit = unit_named(row->unit);
      in_units[row->name] = *number_of_words(own, *row) / (unit ? unit->in_base : 1.0);
      if (points_.is_command(row->name, in_units[row->name])) continue;
    }
    if (!set(*row, own)) return ModbusException::illegal_value;
  }
  auto const sequence = points_.sequence_of(in_units);
  if (sequence && *sequence != "hold" && *sequence != "release" && !points_.instrument().write("do." + *sequence, 1.0))
    return ModbusException::device_failure;
  return std::nullopt;
}

bool InstrumentRegisters::set(RegisterRow const& row, std::span<std::uint16_t const> words) {
  if (row.type == ValueType::text) return points_.instrument().write_text(row.name, text_of_words(words, row));
  double const value = *number_of_words(words, row);
  if (is_terminals(row)) return points_.instrument().write_text(row.name, names_of_terminals(value));
  return points_.instrument().write(row.name, value);
}

}  // namespace benchward::sim
