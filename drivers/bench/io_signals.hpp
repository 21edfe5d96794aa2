// SPDX-License-Identifier: MIT
#pragma once

/// The names of the I/O block's signals, as the bench document's I/O map uses them, and where each lives in the images
/// of bench_io.hpp. Indexed signals: "gate_a.0" (gates from 0), "source.1.first_open" and "first.1" (numbers of
/// SourcePath: 1 ac_source, 2 dielectric, 3 resistance, 4 ratio, 5 insulation).

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "bench.hpp"

namespace benchward {

/// How wide a signal is in the image: one bit of a word, one word, or two words, high word first, two's complement.
enum class SignalWidth { bit, word, two_words };

struct IoSignal {
  std::string name;
  SignalWidth width = SignalWidth::bit;
  std::size_t offset = 0;  ///< byte offset of the field in BenchInputs or BenchOutputs
};

/// All signals there are, in a fixed order.
std::vector<IoSignal> const& input_signals();
std::vector<IoSignal> const& output_signals();
std::optional<IoSignal> input_signal(std::string const& name);
std::optional<IoSignal> output_signal(std::string const& name);

/// The signals that a condition I01 to I36 needs on this bench (its gates, its sources), inputs and outputs. Empty:
/// the condition needs no wire of its own on this bench.
struct ConditionSignals {
  std::vector<std::string> inputs, outputs;
};
ConditionSignals signals_of_condition(int number, Bench const& bench);
/// Whether a bench must wire the condition or declare it absent with a reason.
bool condition_is_mandatory(int number, Bench const& bench);
/// "emergency stops healthy, not pressed": for messages.
std::string words_of_condition(int number);

/// "ac_source" -> SourcePath::ac_source and back; nothing for an unknown word.
std::optional<SourcePath> source_path_named(std::string const& word);
std::string name_of(SourcePath path);

}  // namespace benchward
