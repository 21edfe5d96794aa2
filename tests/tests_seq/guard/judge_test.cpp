// SPDX-License-Identifier: MIT
#include <catch2/catch.hpp>

#include "judge_checks.hpp"

using namespace benchward::guard;

TEST_CASE("each condition of the guard counts where it must, with everything else random", "[guard][judge]") {
  for (auto const& check : proof::judge_checks()) {
    auto const wrong = check.check({&judge, &observe}, check.condition);
    INFO(check.name << ": " << wrong);
    CHECK(wrong.empty());
  }
}

TEST_CASE("of several causes in one image a person hears first what somebody did, and last what follows from it",
          "[guard][judge]") {
  auto const bench = proof::full_bench();
  auto const step = proof::full_step();
  Machine m;
  m.at = benchward::GuardState::hold;
  Orders orders;
  orders.coils = Coils::both;
  auto image = proof::healthy_image(m.at, bench, step);
  Watch w;
  w.ever = w.fresh = w.owner_seen = true;
  image.chain_closed = false;
  w.not_closed_ms = 400;
  CHECK(judge(image, w, bench, step, m, orders).first == chain_open);
  image.output_mv = step.ceiling_mv + 1;
  CHECK(judge(image, w, bench, step, m, orders).first == 16);
  image.stop_b = false;
  CHECK(judge(image, w, bench, step, m, orders).first == 1);
}
