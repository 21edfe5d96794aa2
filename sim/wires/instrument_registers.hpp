// SPDX-License-Identifier: MIT
#pragma once

/// An instrument as registers, laid out by its profile.

#include <map>
#include <string>
#include <vector>

#include "instrument_points.hpp"
#include "modbus_pdu.hpp"

namespace benchward::sim {

class InstrumentRegisters final : public RegisterSpace {
 public:
  /// All must outlive this object.
  InstrumentRegisters(Profile const& profile, SimInstrument& instrument, WireFaults const& faults, std::string serial);

  /// An address exists where a row or a read group of the profile covers it; gaps inside a group read 0.
  std::optional<ModbusException> read(RegisterTable table, std::uint16_t address,
                                      std::span<std::uint16_t> words) override;
  /// Rows are written whole or not at all (exception 3), writable ones only (exception 2).
  std::optional<ModbusException> write(std::uint16_t address, std::span<std::uint16_t const> words) override;

 private:
  bool exists(RegisterTable table, int address) const;
  std::vector<std::uint16_t> words_of_row(RegisterRow const& row);
  /// The power of ten that a row holds for others; nothing: it holds none.
  std::optional<int> power_of_ten(std::string const& exponent_row);
  std::vector<std::uint16_t> with_faults(RegisterRow const& row, std::vector<std::uint16_t> words);
  bool set(RegisterRow const& row, std::span<std::uint16_t const> words);

  InstrumentPoints points_;
  std::map<std::string, std::vector<std::uint16_t>> written_;  ///< settings as they were last written
  std::map<std::string, std::vector<std::uint16_t>> before_;   ///< of torn values
};

}  // namespace benchward::sim
