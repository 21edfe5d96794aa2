// SPDX-License-Identifier: MIT
#include "sim/wires/modbus_pdu.hpp"

namespace benchward::sim {

namespace {

constexpr std::uint8_t read_holding = 3, read_input = 4, write_one = 6, write_many = 16, read_write = 23;
constexpr std::size_t most_read = 125, most_written = 123, most_written_with_read = 121;  // 6.3, 6.12, 6.17

Bytes with_words(std::uint8_t function, std::span<std::uint16_t const> words) {
  Bytes answer{function, static_cast<std::uint8_t>(words.size() * 2)};
  answer.reserve(2 + words.size() * 2);
  for (auto const word : words) append_word(answer, word);
  return answer;
}

std::vector<std::uint16_t> words_of(std::span<std::uint8_t const> bytes) {
  std::vector<std::uint16_t> words(bytes.size() / 2);
  for (std::size_t i = 0; i < words.size(); ++i) words[i] = word_at(bytes, 2 * i);
  return words;
}

/// First and last address must exist: 16 bits do not wrap round (figure 13: "starting address + quantity OK").
bool fits(std::size_t address, std::size_t count) { return address + count <= 65536; }

Bytes answer_read(std::span<std::uint8_t const> request, RegisterSpace& device) {
  std::uint8_t const function = request[0];
  if (request.size() != 5) return exception_pdu(function, ModbusException::illegal_value);
  std::size_t const address = word_at(request, 1), count = word_at(request, 3);
  if (count < 1 || count > most_read) return exception_pdu(function, ModbusException::illegal_value);
  if (!fits(address, count)) return exception_pdu(function, ModbusException::illegal_address);
  std::vector<std::uint16_t> words(count);
  auto const table = function == read_input ? RegisterTable::input : RegisterTable::holding;
  if (auto const refused = device.read(table, static_cast<std::uint16_t>(address), words)) {
    return exception_pdu(function, *refused);
  }
  return with_words(function, words);
}

Bytes answer_write_one(std::span<std::uint8_t const> request, RegisterSpace& device) {
  if (request.size() != 5) return exception_pdu(write_one, ModbusException::illegal_value);
  std::uint16_t const word = word_at(request, 3);
  if (auto const refused = device.write(word_at(request, 1), std::span(&word, 1))) {
    return exception_pdu(write_one, *refused);
  }
  return Bytes(request.begin(), request.end());  // the answer is an echo of the request (6.6)
}

Bytes answer_write_many(std::span<std::uint8_t const> request, RegisterSpace& device) {
  if (request.size() < 6) return exception_pdu(write_many, ModbusException::illegal_value);
  std::size_t const address = word_at(request, 1), count = word_at(request, 3), bytes = request[5];
  if (count < 1 || count > most_written || bytes != 2 * count || request.size() != 6 + bytes) {
    return exception_pdu(write_many, ModbusException::illegal_value);
  }
  if (!fits(address, count)) return exception_pdu(write_many, ModbusException::illegal_address);
  auto const words = words_of(request.subspan(6));
  if (auto const refused = device.write(static_cast<std::uint16_t>(address), words)) {
    return exception_pdu(write_many, *refused);
  }
  return Bytes(request.begin(), request.begin() + 5);
}

Bytes answer_read_write(std::span<std::uint8_t const> request, RegisterSpace& device) {
  if (request.size() < 10) return exception_pdu(read_write, ModbusException::illegal_value);
  std::size_t const from = word_at(request, 1), asked = word_at(request, 3);
  std::size_t const to = word_at(request, 5), written = word_at(request, 7), bytes = request[9];
  if (asked < 1 || asked > most_read || written < 1 || written > most_written_with_read || bytes != 2 * written ||
      request.size() != 10 + bytes) {
    return exception_pdu(read_write, ModbusException::illegal_value);
  }
  if (!fits(from, asked) || !fits(to, written)) return exception_pdu(read_write, ModbusException::illegal_address);
  auto const values = words_of(request.subspan(10));
  std::vector<std::uint16_t> words(asked);
  if (auto const refused =
          device.exchange(static_cast<std::uint16_t>(to), values, static_cast<std::uint16_t>(from), words)) {
    return exception_pdu(read_write, *refused);
  }
  return with_words(read_write, words);
}

}  // namespace

void append_word(Bytes& bytes, std::uint16_t word) {
  bytes.push_back(static_cast<std::uint8_t>(word >> 8));
  bytes.push_back(static_cast<std::uint8_t>(word & 0xFF));
}

Bytes exception_pdu(std::uint8_t function, ModbusException code) {
  return {static_cast<std::uint8_t>(function | 0x80), static_cast<std::uint8_t>(code)};
}

Bytes answer_pdu(std::span<std::uint8_t const> request, RegisterSpace& device) {
  if (request.empty()) return {};
  switch (request[0]) {
    case read_holding:
    case read_input:
      return answer_read(request, device);
    case write_one:
      return answer_write_one(request, device);
    case write_many:
      return answer_write_many(request, device);
    case read_write:
      return answer_read_write(request, device);
    default:
      return exception_pdu(request[0], ModbusException::illegal_function);
  }
}

}  // namespace benchward::sim
