// SPDX-License-Identifier: MIT
#include "limits/uncertainty/monte_carlo.hpp"

#include <algorithm>
#include <boost/random/mersenne_twister.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/student_t_distribution.hpp>
#include <cmath>
#include <functional>
#include <tuple>
#include <utility>

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
        return input.mean + input.scale * (2.0 * uniform() - 1.0);
      case InputDistribution::Kind::triangular:
        return input.mean + input.scale * (uniform() + uniform() - 1.0);
      case InputDistribution::Kind::arcsine:
        return input.mean + input.scale * std::sin(3.14159265358979323846 * (2.0 * uniform() - 1.0));
      case InputDistribution::Kind::student:
        return input.mean +
               input.scale * boost::random::student_t_distribution<double>(input.degrees_of_freedom)(engine_);
    }
    return input.mean;
  }

 private:
  /// 0 <= x < 1 from the upper 53 bits: every one of its values is equally likely, and no division is needed.
  double uniform() { return static_cast<double>(static_cast<std::int64_t>(engine_() >> 11)) * 0x1p-53; }

  boost::random::mt19937_64 engine_;
  boost::random::normal_distribution<double> normal_;
};

/// The `count` first numbers by `before`, in order. Only what lies before a bound is looked at closer; the bound comes
/// from the first numbers and is generous, and should it be too narrow after all, everything is looked at.
template <class Before>
std::vector<double> first_in_order(std::vector<double> const& numbers, std::size_t count, Before before) {
  std::vector<double> list(
      numbers.begin(), numbers.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(numbers.size(), 10'000)));
  std::sort(list.begin(), list.end(), before);
  auto const share = static_cast<double>(count) / static_cast<double>(numbers.size());
  auto const generous = static_cast<std::size_t>((1.2 * share + 0.005) * static_cast<double>(list.size()));
  if (generous < list.size()) {
    double const bound = list[generous];
    list.clear();
    for (double const number : numbers) {
      if (before(number, bound)) list.push_back(number);
    }
  }
  if (list.size() < count) list = numbers;
  auto const end = list.begin() + static_cast<std::ptrdiff_t>(count);
  std::nth_element(list.begin(), end - 1, list.end(), before);
  list.erase(end, list.end());
  std::sort(list.begin(), list.end(), before);
  return list;
}

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
  for (double const output : outputs) {
    double const off = output - result.mean;
    squares += off * off;
  }
  result.standard_uncertainty = std::sqrt(squares / (count - 1.0));
  auto const inside = static_cast<std::size_t>(plan.coverage * count + 0.5);  // JCGM 101 7.7.2: q = int(pM + 1/2)
  std::size_t const span = std::min(inside, plan.trials - 1);
  std::size_t const tail = plan.trials - span;  // an interval begins among so many lowest, ends among so many highest
  std::vector<double> lowest;
  std::vector<double> highest;  // the very highest first
  executor(2, [&](std::size_t end) {
    if (end == 0)
      lowest = first_in_order(outputs, tail, std::less<>());
    else
      highest = first_in_order(outputs, tail, std::greater<>());
  });
  auto const interval_from = [&](std::size_t i) { return std::pair(lowest[i], highest[tail - 1 - i]); };
  std::tie(result.low, result.high) = interval_from(tail / 2);
  result.shortest_low = result.low;
  result.shortest_high = result.high;
  for (std::size_t i = 0; i < tail; ++i) {
    auto const [low, high] = interval_from(i);
    if (high - low < result.shortest_high - result.shortest_low) {
      result.shortest_low = low;
      result.shortest_high = high;
    }
  }
  return result;
}

}  // namespace benchward
