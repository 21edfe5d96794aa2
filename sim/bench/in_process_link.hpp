// SPDX-License-Identifier: MIT
#pragma once

/// The guard's link to the simulated I/O block without a wire.

#include "../../drivers/bench/bench_io.hpp"
#include "sim_bench.hpp"

namespace benchward::sim {

/// The simulated bench must outlive it. Only what the bench document wires up should be looked at: the image is whole.
class InProcessLink final : public BenchLink {
 public:
  explicit InProcessLink(SimBench& sim) : sim_(sim) {}
  Exchange exchange(BenchOutputs const& outputs, std::int64_t now_ns) override {
    sim_.advance_to(now_ns);
    Exchange answer;
    answer.ok = true;
    answer.inputs = sim_.exchange(outputs);
    return answer;
  }

 private:
  SimBench& sim_;
};

}  // namespace benchward::sim
