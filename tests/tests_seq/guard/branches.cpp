// SPDX-License-Identifier: MIT
// Everything that the proofs do to the guard's pure part, in one plain program: what gcov counts the branches of.
#include <fmt/format.h>

#include "cortex/table.hpp"
#include "explorer.hpp"
#include "judge_checks.hpp"

using namespace benchward::guard;

int main() {
  int wrong = 0;
  auto const walked = proof::walk(&advance);
  wrong += static_cast<int>(walked.violated.size());
  for (auto const& property : proof::time_properties()) {
    std::uint64_t nodes = 0;
    wrong += property.check(&advance, walked.reached, nodes).empty() ? 0 : 1;
  }
  for (auto const& check : proof::judge_checks()) {
    wrong += check.check({&judge, &observe}, check.condition).empty() ? 0 : 1;
  }
  std::uint32_t met = 0, sum = 0;
  for (std::uint32_t seed = 1; seed <= 200; ++seed) sum ^= table::turns_of(seed, 4000, met);
  fmt::print("{} states, {} transitions, {} broken, states met by turns {:x}, sum {:x}\n", walked.machines,
             walked.transitions, wrong, met, sum);
  return wrong == 0 ? 0 : 1;
}
