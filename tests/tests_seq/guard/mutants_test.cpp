// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <iostream>
#include <string>

#include "explorer.hpp"
#include "judge_checks.hpp"

using namespace benchward::guard;

namespace {

/// A wrong version of one function of the guard, and the property that must catch it.
struct Mutant {
  char const* wrong;
  char const* caught_by;
  proof::AdvanceFunction advance;  ///< null where judge or observe is the wrong one
  proof::Judging judging;
};

}  // namespace

#include "mutant_list.inc"

namespace {

/// Empty where the named property holds: the mutant lives.
std::string caught(Mutant const& mutant) {
  if (mutant.advance == nullptr) {
    for (auto const& check : proof::judge_checks()) {
      if (check.name == mutant.caught_by) return check.check(mutant.judging, check.condition);
    }
    return "";
  }
  for (auto const& property : proof::time_properties()) {
    if (mutant.caught_by != std::string(property.name)) continue;
    std::uint64_t nodes = 0;
    return property.check(mutant.advance, proof::walk(mutant.advance, "states only").reached, nodes);
  }
  auto const walked = proof::walk(mutant.advance, mutant.caught_by);
  return walked.violated.empty() ? "" : walked.violated.front();
}

}  // namespace

TEST_CASE("each seeded wrong version of the guard is caught by the property that names its fault", "[guard][proof]") {
  int count = 0;
  for (auto const& mutant : mutants) {
    auto const how = caught(mutant);
    INFO(mutant.wrong << " must be caught by: " << mutant.caught_by);
    CHECK_FALSE(how.empty());
    std::cout << "guard mutant: " << mutant.wrong << " -> " << how << '\n';
    ++count;
  }
  CHECK(count >= 12);
}
