// SPDX-License-Identifier: MIT
#include "limits/uncertainty/monte_carlo.hpp"

#include <algorithm>
#include <boost/random/mersenne_twister.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/student_t_distribution.hpp>
#include <boost/random/uniform_real_distribution.hpp>
#include <cmath>

#include "limits/correct/input_error.hpp"

namespace benchward {
namespace {

/// SplitMix64 finaliser: neighbouring block numbers become unrelated seeds.
std::uint64_t mixed(std::uint64_t value) {
  value += 0x9E3779B97F4A7C15ULL;
  value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9ULL;
  value = (value ^ (value >> 27)) * 0x94D049BB133111EBULL;
  return value ^ (value >> 31);
}

class Stream {
 public:
  explicit Stream(std::uint64_t seed) : engine_(seed) {}

  double draw(InputDistribution const& input) {
    switch (input.kind) {
      case InputDistribution::Kind::normal:
        return input.mean + input.scale * normal_(engine_);
      case InputDistribution::Kind::rectangular:
        return input.mean + input.scale * (2.0 * uniform_(engine_) - 1.0);
      case InputDistribution::Kind::triangular:
        return input.mean + input.scale * (uniform_(engine_) + uniform_(engine_) - 1.0);
      case InputDistribution::Kind::arcsine:
        return input.mean + input.scale * std::sin(3.14159265358979323846 * (2.0 * uniform_(engine_) - 1.0));
      case InputDistribution::Kind::student:
        return input.mean +
               input.scale * boost::random::student_t_distribution<double>(input.degrees_of_freedom)(engine_);
    }
    return input.mean;
  }

 private:
  boost::random::mt19937_64 engine_;
  boost::random::normal_distribution<double> normal_;
  boost::random::uniform_real_distribution<double> uniform_{0.0, 1.0};
};

}  // namespace

void run_blocks_in_turn(std::size_t count, std::function<void(std::size_t)> const& block) {
  for (std::size_t i = 0; i < count; ++i) block(i);
}

MonteCarloResult monte_carlo(std::vector<InputDistribution> const& inputs, MonteCarloModel const& model,
                             MonteCarloPlan const& plan, BlockExecutor const& executor) {
  if (plan.trials < 1000) throw InputError("trials", "expected at least 1000");
  if (plan.trials_per_block == 0) throw InputError("trials_per_block", "expected above zero");
  if (!(plan.coverage > 0.0 && plan.coverage < 1.0)) throw InputError("coverage", "expected above 0 and below 1");
  for (auto const& input : inputs) {
    if (!std::isfinite(input.mean) || !(input.scale >= 0.0) || !std::isfinite(input.scale)) {
      throw InputError("inputs", "expected a finite mean and a scale of zero or above");
    }
    if (input.kind == InputDistribution::Kind::student && !(input.degrees_of_freedom > 0.0)) {
      throw InputError("inputs", "Student's t needs degrees of freedom above zero");
    }
  }
  std::size_t const blocks = (plan.trials + plan.trials_per_block - 1) / plan.trials_per_block;
  std::vector<double> outputs(plan.trials);
  // Each block writes its own part of `outputs`: no two threads touch one element.
  executor(blocks, [&](std::size_t block) {
    Stream stream(mixed(plan.seed ^ mixed(block)));
    std::vector<double> draws(inputs.size());
    std::size_t const last = std::min(plan.trials, (block + 1) * plan.trials_per_block);
    for (std::size_t trial = block * plan.trials_per_block; trial < last; ++trial) {
      for (std::size_t i = 0; i < inputs.size(); ++i) draws[i] = stream.draw(inputs[i]);
      outputs[trial] = model(draws.data());
    }
  });
  MonteCarloResult result;
  result.trials = plan.trials;
  auto const count = static_cast<double>(plan.trials);
  double sum = 0.0;
  for (double const output : outputs) {
    if (!std::isfinite(output)) throw InputError("model", "a trial gave no finite number");
    sum += output;
  }
  result.mean = sum / count;
  double squares = 0.0;
  for (double const output : outputs) squares += (output - result.mean) * (output - result.mean);
  result.standard_uncertainty = std::sqrt(squares / (count - 1.0));
  std::sort(outputs.begin(), outputs.end());
  auto const inside = static_cast<std::size_t>(plan.coverage * count + 0.5);  // JCGM 101 7.7.2: q = int(pM + 1/2)
  std::size_t const span = std::min(inside, plan.trials - 1);
  std::size_t const first = (plan.trials - span) / 2;  // span < trials: first + span stays inside
  result.low = outputs[first];
  result.high = outputs[first + span];
  result.shortest_low = result.low;
  result.shortest_high = result.high;
  for (std::size_t i = 0; i + span < plan.trials; ++i) {
    if (outputs[i + span] - outputs[i] < result.shortest_high - result.shortest_low) {
      result.shortest_low = outputs[i];
      result.shortest_high = outputs[i + span];
    }
  }
  return result;
}

}  // namespace benchward
