// SPDX-License-Identifier: MIT
#include "drivers/bench/io_image.hpp"

#include <cstring>

namespace benchward {

IoImage::IoImage(IoMap const& map) : input_words_(map.input_words), output_words_(map.output_words) {
  for (auto const& [name, point] : map.inputs) {
    if (auto const signal = input_signal(name)) {
      inputs_.push_back({signal->width, signal->offset, point.word, point.bit.value_or(0), point.inverted});
    }
  }
  for (auto const& [name, point] : map.outputs) {
    if (auto const signal = output_signal(name)) {
      outputs_.push_back({signal->width, signal->offset, point.word, point.bit.value_or(0), point.inverted});
    }
  }
}

void IoImage::pack(std::vector<Wire> const& wires, void const* image, std::vector<std::uint16_t>& words) {
  for (auto const& wire : wires) {
    auto const* field = static_cast<char const*>(image) + wire.offset;
    auto const at = static_cast<std::size_t>(wire.word);
    switch (wire.width) {
      case SignalWidth::bit: {
        bool value = false;
        std::memcpy(&value, field, sizeof value);
        auto const mask = static_cast<std::uint16_t>(1u << static_cast<unsigned>(wire.bit));
        if (value != wire.inverted) {
          words[at] = static_cast<std::uint16_t>(words[at] | mask);
        } else {
          words[at] = static_cast<std::uint16_t>(words[at] & ~mask);
        }
        break;
      }
      case SignalWidth::word:
        std::memcpy(&words[at], field, 2);
        break;
      case SignalWidth::two_words: {
        std::uint32_t value = 0;
        std::memcpy(&value, field, sizeof value);
        words[at] = static_cast<std::uint16_t>(value >> 16);
        words[at + 1] = static_cast<std::uint16_t>(value & 0xFFFFu);
        break;
      }
    }
  }
}

void IoImage::unpack(std::vector<Wire> const& wires, std::vector<std::uint16_t> const& words, void* image) {
  auto const word = [&](std::size_t at) { return words[at]; };
  for (auto const& wire : wires) {
    auto* field = static_cast<char*>(image) + wire.offset;
    auto const at = static_cast<std::size_t>(wire.word);
    // A short list leaves the signal idle: an inverted contact must not read as made because its word is missing.
    if (at + (wire.width == SignalWidth::two_words ? 1 : 0) >= words.size()) continue;
    switch (wire.width) {
      case SignalWidth::bit: {
        bool const value =
            (((static_cast<unsigned>(word(at)) >> static_cast<unsigned>(wire.bit)) & 1u) != 0) != wire.inverted;
        std::memcpy(field, &value, sizeof value);
        break;
      }
      case SignalWidth::word: {
        auto const value = word(at);
        std::memcpy(field, &value, sizeof value);
        break;
      }
      case SignalWidth::two_words: {
        auto const value = (static_cast<std::uint32_t>(word(at)) << 16) | word(at + 1);
        std::memcpy(field, &value, sizeof value);
        break;
      }
    }
  }
}

BenchInputs IoImage::unpack_inputs(std::vector<std::uint16_t> const& words) const {
  BenchInputs inputs;
  unpack(inputs_, words, &inputs);
  return inputs;
}
std::vector<std::uint16_t> IoImage::pack_inputs(BenchInputs const& inputs) const {
  std::vector<std::uint16_t> words(static_cast<std::size_t>(input_words_));
  pack(inputs_, &inputs, words);
  return words;
}
BenchOutputs IoImage::unpack_outputs(std::vector<std::uint16_t> const& words) const {
  BenchOutputs outputs;
  unpack(outputs_, words, &outputs);
  return outputs;
}
std::vector<std::uint16_t> IoImage::pack_outputs(BenchOutputs const& outputs) const {
  std::vector<std::uint16_t> words(static_cast<std::size_t>(output_words_));
  pack_outputs(outputs, words);
  return words;
}
void IoImage::pack_outputs(BenchOutputs const& outputs, std::vector<std::uint16_t>& words) const {
  pack(outputs_, &outputs, words);
}

}  // namespace benchward
