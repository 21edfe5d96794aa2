// SPDX-License-Identifier: MIT
#pragma once

/// Register words of the bench I/O block from and to the images of bench_io.hpp, by the bench document's I/O map. Pure.
/// The station packs outputs and unpacks inputs; the simulated block does the reverse of both.

#include <cstdint>
#include <vector>

#include "bench.hpp"
#include "bench_io.hpp"
#include "io_signals.hpp"

namespace benchward {

/// An I/O map worked out once, so that a turn costs no look-up by name. A signal that is not wired keeps its idle value
/// (zero, false) in the image and touches no word. Precondition: the map passed the bench document's reader.
class IoImage {
 public:
  explicit IoImage(IoMap const& map);

  int input_words() const { return input_words_; }
  int output_words() const { return output_words_; }

  /// The station's half. Signals whose words are missing (a short list) stay idle.
  BenchInputs unpack_inputs(std::vector<std::uint16_t> const& words) const;
  std::vector<std::uint16_t> pack_outputs(BenchOutputs const& outputs) const;
  /// The same into `words`, which has output_words() words: what no signal touches stays. Does not allocate.
  void pack_outputs(BenchOutputs const& outputs, std::vector<std::uint16_t>& words) const;

  /// The block's half.
  std::vector<std::uint16_t> pack_inputs(BenchInputs const& inputs) const;
  BenchOutputs unpack_outputs(std::vector<std::uint16_t> const& words) const;

 private:
  struct Wire {
    SignalWidth width;
    std::size_t offset;
    int word, bit;
    bool inverted;
  };
  static void pack(std::vector<Wire> const& wires, void const* image, std::vector<std::uint16_t>& words);
  static void unpack(std::vector<Wire> const& wires, std::vector<std::uint16_t> const& words, void* image);

  int input_words_ = 0, output_words_ = 0;
  std::vector<Wire> inputs_, outputs_;
};

}  // namespace benchward
