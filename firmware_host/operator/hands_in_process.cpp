// SPDX-License-Identifier: MIT
#include "firmware_host/operator/hands.hpp"
#include "sim/bench/sim_bench.hpp"

namespace benchward {
namespace {

class HandsInProcess final : public Hands {
 public:
  explicit HandsInProcess(sim::SimBench& bench) : bench_(bench) {}

  Task<std::string> connect(Connection connection) override { co_return bench_.connect(connection); }
  Task<std::string> disconnect_all() override { co_return bench_.disconnect_all(); }
  Task<std::string> set_tap(int position) override { co_return bench_.set_tap(position); }
  Task<std::string> set_gate(bool open) override { co_return bench_.set_gate(open); }
  Task<std::string> press(std::string button) override { co_return bench_.press(button); }
  Task<std::string> set_accessory(std::string name, std::string state) override {
    co_return bench_.set_accessory(name, state);
  }
  Task<std::string> look(std::string name, std::string state) override { co_return bench_.look(name, state); }

 private:
  sim::SimBench& bench_;
};

}  // namespace

std::unique_ptr<Hands> hands_in_process(sim::SimBench& bench) { return std::make_unique<HandsInProcess>(bench); }

}  // namespace benchward
