// SPDX-License-Identifier: MIT
#pragma once

/// A small random stream of our own: the same numbers for the same seed with every standard library.

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace benchward::sim {

class RandomStream {
 public:
  explicit RandomStream(std::uint64_t seed = 1) : state_(seed) {}
  std::uint64_t bits() {  // SplitMix64 (Steele, Lea, Flood 2014)
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15ull);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ull;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBull;
    return z ^ (z >> 31);
  }
  /// In the open interval 0 to 1.
  double uniform() { return (static_cast<double>(bits() >> 11) + 0.5) * 0x1.0p-53; }
  double normal() {
    double const radius = std::sqrt(-2.0 * std::log(uniform()));
    return radius * std::cos(6.283185307179586 * uniform());
  }
  /// Normal, cut at 2.5 sigma: no factory ships the tail.
  double spread(double mean, double sigma) { return mean + sigma * std::clamp(normal(), -2.5, 2.5); }
  double exponential() { return -std::log(uniform()); }

 private:
  std::uint64_t state_;
};

}  // namespace benchward::sim
