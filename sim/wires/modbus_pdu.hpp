// SPDX-License-Identifier: MIT
#pragma once

/// The server's half of a Modbus request, as pure functions: "MODBUS Application Protocol Specification V1.1b3"
/// (clauses in brackets). An own reading of the protocol: the station speaks it through another library, so that a
/// shared mistake cannot hide. No sockets, no clock.

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace benchward::sim {

using Bytes = std::vector<std::uint8_t>;

/// Exception codes (7).
enum class ModbusException : std::uint8_t {
  illegal_function = 1,
  illegal_address = 2,
  illegal_value = 3,
  device_failure = 4,
  busy = 6,
  gateway_no_response = 11
};

/// The two tables of 16 bit words that a device can have (4.3).
enum class RegisterTable : std::uint8_t { holding, input };

/// What stands behind the register addresses of one device. Addresses are the protocol's own, from zero. A call that
/// answers an exception has changed nothing that a later read could see half done.
class RegisterSpace {
 public:
  RegisterSpace() = default;
  RegisterSpace(RegisterSpace const&) = delete;
  RegisterSpace& operator=(RegisterSpace const&) = delete;
  virtual ~RegisterSpace() = default;

  /// Fills `words`; its size is the count asked for.
  virtual std::optional<ModbusException> read(RegisterTable table, std::uint16_t address,
                                              std::span<std::uint16_t> words) = 0;
  virtual std::optional<ModbusException> write(std::uint16_t address, std::span<std::uint16_t const> words) = 0;
  /// Function 23: the write is done before the read (6.17). A device that takes both as one act overrides this.
  virtual std::optional<ModbusException> exchange(std::uint16_t write_address, std::span<std::uint16_t const> written,
                                                  std::uint16_t read_address, std::span<std::uint16_t> read_words) {
    if (auto refused = write(write_address, written)) return refused;
    return read(RegisterTable::holding, read_address, read_words);
  }
};

/// The answer to one request PDU (function code and data, no address, no check): functions 3, 4, 6, 16 and 23; any
/// other is exception 1. Lengths and counts that contradict each other are exception 3. Never empty, except for an
/// empty request.
Bytes answer_pdu(std::span<std::uint8_t const> request, RegisterSpace& device);

/// Function code with the top bit, then the code (7).
Bytes exception_pdu(std::uint8_t function, ModbusException code);

/// Big-endian 16 bit word at `at` (4.2).
inline std::uint16_t word_at(std::span<std::uint8_t const> bytes, std::size_t at) {
  return static_cast<std::uint16_t>((bytes[at] << 8) | bytes[at + 1]);
}
void append_word(Bytes& bytes, std::uint16_t word);

}  // namespace benchward::sim
