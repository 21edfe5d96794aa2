// SPDX-License-Identifier: MIT
#pragma once

/// Propagation of distributions by a Monte Carlo method (JCGM 101:2008). Trials are cut into blocks; each block has a
/// random stream of its own, seeded from the run's seed and the block's number, and the blocks' sums are put together
/// in order. So the result is the same bits however many threads the executor has, and in whatever order it runs them.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

namespace benchward {

struct InputDistribution {
  enum class Kind { normal, rectangular, triangular, arcsine, student };
  Kind kind = Kind::normal;
  double mean = 0.0;
  double scale = 0.0;               ///< normal, student: standard deviation (scale of t); others: half width
  double degrees_of_freedom = 0.0;  ///< student
};

/// Runs `block(0)` ... `block(count - 1)`, in any order, on any threads, and returns when all are done.
using BlockExecutor = std::function<void(std::size_t count, std::function<void(std::size_t)> const& block)>;
/// All blocks in turn on the calling thread.
void run_blocks_in_turn(std::size_t count, std::function<void(std::size_t)> const& block);

/// Output of one trial; `draws` has one number per input distribution.
using MonteCarloModel = std::function<double(double const* draws)>;

struct MonteCarloPlan {
  std::uint64_t seed = 1;
  std::size_t trials = 200'000;
  std::size_t trials_per_block = 10'000;
  double coverage = 0.95;
};

struct MonteCarloResult {
  double mean = 0.0;
  double standard_uncertainty = 0.0;
  double low = 0.0, high = 0.0;  ///< probabilistically symmetric coverage interval (JCGM 101 7.7)
  double shortest_low = 0.0, shortest_high = 0.0;
  std::size_t trials = 0;
};

MonteCarloResult monte_carlo(std::vector<InputDistribution> const& inputs, MonteCarloModel const& model,
                             MonteCarloPlan const& plan, BlockExecutor const& executor = run_blocks_in_turn);

}  // namespace benchward
