// SPDX-License-Identifier: MIT
#include "sim/wires/io_block.hpp"

#include <algorithm>

namespace benchward::sim {

IoBlock::IoBlock(IoMap const& map, WireContext& context)
    : image_(map),
      input_address_(map.input_address),
      output_address_(map.output_address),
      outputs_(static_cast<std::size_t>(map.output_words)),
      time_limit_s_(map.time_limit.in(seconds)),
      context_(context) {}

bool IoBlock::inside(std::size_t address, std::size_t count, int first, int words) const {
  auto const from = static_cast<std::size_t>(first);
  return address >= from && address + count <= from + static_cast<std::size_t>(words);
}

void IoBlock::take_outputs(std::size_t address, std::span<std::uint16_t const> words) {
  auto const offset = address - static_cast<std::size_t>(output_address_);
  std::copy(words.begin(), words.end(), outputs_.begin() + static_cast<std::ptrdiff_t>(offset));
}

BenchInputs IoBlock::turn() {
  auto const commanded = image_.unpack_outputs(outputs_);
  auto const now = context_.bench.exchange(commanded);
  bool closed = false;
  for (int source = 0; source < max_sources; ++source) {
    closed = closed || (commanded.first[source] && commanded.second[source] && !now.source[source].first_open &&
                        !now.source[source].second_open);
  }
  if (!closed) {
    context_.contactors_closed_at_ns.reset();
  } else if (!context_.contactors_closed_at_ns) {
    context_.contactors_closed_at_ns = context_.time.now_ns();
  }
  return now;
}

std::vector<std::uint16_t> IoBlock::input_words(BenchInputs const& now) {
  if (!context_.faults.io_frozen(context_.answer_context(time_limit_s_))) {
    frozen_words_.clear();
    return image_.pack_inputs(now);
  }
  if (frozen_words_.empty()) frozen_words_ = image_.pack_inputs(now);
  return frozen_words_;
}

std::optional<ModbusException> IoBlock::read(RegisterTable, std::uint16_t address, std::span<std::uint16_t> words) {
  if (inside(address, words.size(), input_address_, image_.input_words())) {
    auto const all = input_words(context_.bench.inputs());
    auto const offset = static_cast<std::ptrdiff_t>(address) - input_address_;
    std::copy_n(all.begin() + offset, words.size(), words.begin());
    return std::nullopt;
  }
  if (inside(address, words.size(), output_address_, image_.output_words())) {
    auto const offset = static_cast<std::ptrdiff_t>(address) - output_address_;
    std::copy_n(outputs_.begin() + offset, words.size(), words.begin());
    return std::nullopt;
  }
  return ModbusException::illegal_address;
}

std::optional<ModbusException> IoBlock::write(std::uint16_t address, std::span<std::uint16_t const> words) {
  if (!inside(address, words.size(), output_address_, image_.output_words())) return ModbusException::illegal_address;
  take_outputs(address, words);
  turn();
  return std::nullopt;
}

std::optional<ModbusException> IoBlock::exchange(std::uint16_t write_address, std::span<std::uint16_t const> written,
                                                 std::uint16_t read_address, std::span<std::uint16_t> read_words) {
  if (!inside(write_address, written.size(), output_address_, image_.output_words()) ||
      !inside(read_address, read_words.size(), input_address_, image_.input_words())) {
    return ModbusException::illegal_address;
  }
  take_outputs(write_address, written);
  auto const all = input_words(turn());
  std::copy_n(all.begin() + (static_cast<std::ptrdiff_t>(read_address) - input_address_), read_words.size(),
              read_words.begin());
  return std::nullopt;
}

}  // namespace benchward::sim
