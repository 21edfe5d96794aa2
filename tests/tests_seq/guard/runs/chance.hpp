// SPDX-License-Identifier: MIT
#pragma once

/// Random numbers of a run, the same on every machine for the same seed.

#include <cstddef>
#include <cstdint>
#include <random>

namespace benchward::guard::runs {

class Chance {
 public:
  explicit Chance(std::uint64_t seed) : random_(seed * 0x9E3779B97F4A7C15ull + 0x1234567ull) {}
  std::uint64_t word() { return random_(); }
  /// 0 to below - 1.
  std::size_t below(std::size_t count) { return static_cast<std::size_t>(random_() % count); }
  /// From 0 up to below 1.
  double share() { return static_cast<double>(random_() >> 11) * 0x1p-53; }
  bool in(double probability) { return share() < probability; }
  double between(double low, double high) { return low + (high - low) * share(); }

 private:
  std::mt19937_64 random_;
};

}  // namespace benchward::guard::runs
