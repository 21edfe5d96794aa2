// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "drivers/bench/bench_document.hpp"
#include "drivers/bench/io_image.hpp"

using namespace benchward;

namespace {
IoMap small_map() {
  IoMap map;
  map.input_words = 4;
  map.output_words = 2;
  map.inputs["stop_a"] = {0, 0, false};
  map.inputs["source.2.second_open"] = {0, 15, true};
  map.inputs["output_mv"] = {1, std::nullopt, false};
  map.inputs["scan"] = {3, std::nullopt, false};
  map.outputs["first.3"] = {0, 4, false};
  map.outputs["watchdog_ms"] = {1, std::nullopt, false};
  return map;
}
}  // namespace

TEST_CASE("inputs of the I/O block are taken from the words and bits of the map", "[drivers][io]") {
  IoImage const image(small_map());
  // Written by hand: -2 mV is FFFFFFFE, high word first; bit 15 is inverted, so a clear bit reads as open.
  auto const in = image.unpack_inputs({0x0001, 0xFFFF, 0xFFFE, 0x1234});
  CHECK(in.stop_a);
  CHECK(in.source[2].second_open);
  CHECK(in.output_mv == -2);
  CHECK(in.scan == 0x1234);
  CHECK_FALSE(image.unpack_inputs({0x8000, 0, 0, 0}).source[2].second_open);
}

TEST_CASE("an answer with words missing leaves signals idle, inverted ones too", "[drivers][io]") {
  auto const in = IoImage(small_map()).unpack_inputs({});
  CHECK_FALSE(in.source[2].second_open);
  CHECK(in.output_mv == 0);
}

TEST_CASE("outputs of the I/O block are put into the words and bits of the map", "[drivers][io]") {
  BenchOutputs out;
  out.first[3] = true;
  out.second[3] = true;  // not wired: touches no word
  out.watchdog_ms = 1000;
  CHECK(IoImage(small_map()).pack_outputs(out) == std::vector<std::uint16_t>{0x0010, 1000});
}

TEST_CASE("every signal of the demo bench comes back through the words as it went in", "[drivers][io]") {
  auto const bench = read_bench(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/benches/01-scaled.json");
  IoImage const image(bench.io);
  for (auto const& [name, point] : bench.io.inputs) {
    INFO(name);
    auto words = std::vector<std::uint16_t>(static_cast<std::size_t>(bench.io.input_words));
    auto const at = static_cast<std::size_t>(point.word);
    words[at] = static_cast<std::uint16_t>(point.bit ? 1u << static_cast<unsigned>(*point.bit) : 0x1234u);
    CHECK(image.pack_inputs(image.unpack_inputs(words)) == words);
  }
  for (auto const& [name, point] : bench.io.outputs) {
    INFO(name);
    auto words = std::vector<std::uint16_t>(static_cast<std::size_t>(bench.io.output_words));
    words[static_cast<std::size_t>(point.word)] =
        static_cast<std::uint16_t>(point.bit ? 1u << static_cast<unsigned>(*point.bit) : 0x1234u);
    CHECK(image.pack_outputs(image.unpack_outputs(words)) == words);
  }
}
