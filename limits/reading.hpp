// SPDX-License-Identifier: MIT
#pragma once

/// What an instrument said, as it said it. A reading is a number with its quality, its times and where it came from;
/// without these it is not a reading. Raw readings are kept for ever and never overwritten: results are computed from
/// them, again and again.

#include <cstdint>
#include <string>
#include <vector>

#include "quantity.hpp"

namespace benchward {

/// A moment, by both clocks: monotonic (what durations are computed from) and UTC (what people read).
struct Stamp {
  std::int64_t monotonic_ns = 0;
  std::int64_t utc_us = 0;  ///< microseconds since 1970-01-01T00:00:00Z
};

/// GOOD: may be judged. UNCERTAIN: kept and shown, never judged (settling, outside the range's specified part).
/// BAD: no number at all (link lost, over-range, not a number); its value must not be looked at.
enum class Quality : std::uint8_t { good, uncertain, bad };

/// Where a reading came from: enough to find every unit that rests on an instrument found out of tolerance.
struct ReadingOrigin {
  std::string instrument;                ///< the bench document's name of the instrument
  std::string channel;                   ///< e.g. "voltage.1", "power.sum", "probe.2"
  std::string range;                     ///< the range in force, as the instrument names it; empty if it has one only
  std::vector<std::uint16_t> raw_words;  ///< register words or, for text links, character codes, as they came
};

/// One reading of one quantity.
template <class Q>
struct Reading {
  Q value{};
  Quality quality = Quality::bad;
  Stamp source;    ///< when the instrument says it measured; the receive time if it does not say
  Stamp received;  ///< when the station had it
  ReadingOrigin origin;

  bool good() const { return quality == Quality::good && value.finite(); }
};

/// A dimensionless number as a quantity (turns ratio, power factor), so that it can be a Reading too.
class Number {
 public:
  constexpr Number() = default;
  constexpr explicit Number(double value) : value_(value) {}
  constexpr double value() const { return value_; }
  bool finite() const { return std::isfinite(value_); }

 private:
  double value_ = 0.0;
};

}  // namespace benchward
