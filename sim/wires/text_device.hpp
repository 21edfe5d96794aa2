// SPDX-License-Identifier: MIT
#pragma once

/// An instrument that speaks lines of text, by its profile's commands, with the error queue of IEEE 488.2 and SCPI-99
/// (volume 2, chapter 21.8: numbers and words of the errors). Pure: a line in, a line or nothing out.

#include <deque>
#include <optional>
#include <string>
#include <string_view>

#include "instrument_points.hpp"

namespace benchward::sim {

class TextDevice {
 public:
  /// All must outlive this object.
  TextDevice(Profile const& profile, SimInstrument& instrument, WireFaults const& faults, std::string serial);

  /// The reply without its terminator; nothing for a command that has none, and for a line that is no command (it goes
  /// into the error queue, as a real device's would).
  std::optional<std::string> answer(std::string_view line);
  /// A line that never ended.
  void overrun();

 private:
  std::optional<std::string> reply_to(TextCommand const& command);
  void carry_out(TextCommand const& command, std::map<std::string, std::pair<double, std::string>> const& values);
  void queue_error(int code, std::string words);
  std::string next_error();

  InstrumentPoints points_;
  std::deque<std::pair<int, std::string>> errors_;
};

}  // namespace benchward::sim
