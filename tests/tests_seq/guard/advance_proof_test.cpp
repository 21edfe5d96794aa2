// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include <chrono>
#include <iostream>

#include "explorer.hpp"

using namespace benchward::guard;

TEST_CASE("every step of the guard from every reachable state with every finding keeps every named property",
          "[guard][proof]") {
  auto const began = std::chrono::steady_clock::now();  // only for the line printed below
  auto const walked = proof::walk(&advance);
  std::chrono::duration<double> const spent = std::chrono::steady_clock::now() - began;
  std::cout << "guard proof: " << walked.machines << " states, " << walked.transitions << " transitions, "
            << proof::step_properties().size() << " properties a step, " << spent.count() << " s\n";
  for (auto const& fallen : walked.violated) UNSCOPED_INFO(fallen);
  REQUIRE(walked.violated.empty());
  CHECK(proof::step_properties().size() + proof::time_properties().size() >= 25);
  CHECK(walked.machines > 50);
  CHECK(walked.transitions > 100'000'000u);
}

TEST_CASE("the guard keeps its bounded-time properties on a healthy bench", "[guard][proof]") {
  auto const walked = proof::walk(&advance, "no property: states only");
  for (auto const& property : proof::time_properties()) {
    std::uint64_t nodes = 0;
    auto const wrong = property.check(&advance, walked.reached, nodes);
    std::cout << "guard proof: " << property.name << ": " << nodes << " nodes\n";
    INFO(property.name << ": " << wrong);
    CHECK(wrong.empty());
    CHECK(nodes > 0);
  }
}
