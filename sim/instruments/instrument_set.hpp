// SPDX-License-Identifier: MIT
#pragma once

/// The instruments of a bench document on the simulated bench.

#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "../../drivers/bench/bench.hpp"
#include "../bench/physics.hpp"
#include "sim_instrument.hpp"

namespace benchward::sim {

class InstrumentSet {
 public:
  InstrumentSet(Bench const& bench, SimulationParameters const& parameters, FaultSet const& faults, Physics& physics,
                std::uint64_t seed);
  std::vector<SimInstrument*> all() const;
  SimInstrument* find(std::string_view name) const;  ///< nullptr: none of that name

 private:
  std::vector<std::unique_ptr<SimInstrument>> instruments_;
};

}  // namespace benchward::sim
