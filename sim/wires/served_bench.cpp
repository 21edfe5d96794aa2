// SPDX-License-Identifier: MIT
#include "sim/wires/served_bench.hpp"

namespace benchward::sim {

namespace {

class Served final : public ServedBench {
 public:
  explicit Served(SimBench& bench) : bench_(bench) {}

  void advance_to(std::int64_t monotonic_ns) override {
    if (monotonic_ns > bench_.now_ns()) bench_.advance_to(monotonic_ns);
  }
  SimInstrument* instrument(std::string_view name) override { return bench_.instrument(name); }
  BenchInputs exchange(BenchOutputs const& outputs) override { return bench_.exchange(outputs); }
  BenchInputs inputs() override { return bench_.inputs(); }
  Truth truth() override { return bench_.truth(); }

  std::string connect(Connection const& connection) override { return bench_.connect(connection); }
  std::string disconnect_all() override { return bench_.disconnect_all(); }
  std::string set_tap(int position) override { return bench_.set_tap(position); }
  std::string set_gate(bool open) override { return bench_.set_gate(open); }
  std::string press(std::string_view button) override { return bench_.press(button); }
  std::string set_accessory(std::string const& name, std::string const& state) override {
    return bench_.set_accessory(name, state);
  }
  std::string look(std::string const& name, std::string const& state) override { return bench_.look(name, state); }
  std::string put_unit(Unit const& unit) override { return bench_.put_unit(unit); }
  std::string enter_area(bool inside) override { return bench_.enter_area(inside); }
  std::string set_fault(FaultRequest const& request) override { return bench_.set_fault(request); }
  std::string clear_fault(std::string_view name_or_all) override { return bench_.clear_fault(name_or_all); }
  std::vector<std::pair<std::string, double>> true_values() override { return bench_.true_values(); }

 private:
  SimBench& bench_;
};

}  // namespace

std::unique_ptr<ServedBench> serve_sim_bench(SimBench& bench) { return std::make_unique<Served>(bench); }

}  // namespace benchward::sim
