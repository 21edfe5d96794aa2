// SPDX-License-Identifier: MIT
// The connections that the plan gives, laid on the unit in ngspice (a general circuit simulator of the Berkeley family;
// Debian's package): what each pair reads, whether it is in phase, what the tied phase check shows, what impedance the
// shorted connection has. The deck is written from the simulated unit (tests/sim/unit/spice_deck), coil by coil; the
// expected numbers are the station's (rating plate, phasors) and the order's guarantee. For every demo unit, so for
// every family.
#include <catch2/catch.hpp>

#include <algorithm>
#include <complex>
#include <filesystem>
#include <numbers>

#include <fmt/format.h>

#include "limits/documents/limit_set_document.hpp"
#include "limits/documents/unit_document.hpp"
#include "rig.hpp"
#include "tests/sim/unit/spice_deck.hpp"
#include "tests_seq/plan/plan.hpp"

using namespace benchward;
using namespace benchward::testing;

namespace {

using Complex = std::complex<double>;

std::vector<std::string> demo_unit_files() {
  std::vector<std::string> files;
  for (auto const& entry : std::filesystem::directory_iterator(std::string(BENCHWARD_SOURCE_DIR) + "/sim/demo/units"))
    files.push_back(entry.path().string());
  std::sort(files.begin(), files.end());
  return files;
}

/// The unit on its leads, as a person clips them.
class OnTheBench {
 public:
  explicit OnTheBench(std::string const& file) : unit_(read_unit(file)), model_(unit_, {1, true}) {
    auto const sheet = work_out(builtin_limit_set(unit_.standard), unit_);
    auto const bench = demo_bench();
    for (auto const& stage : stages_of(unit_)) {
      auto plan = make_plan(unit_, stage, sheet, bench);
      for (auto& step : plan.steps) steps_.push_back(std::move(step));
    }
    model_.soak(unit_.reference.load.in(celsius));
    if (!unit_.hv.taps.empty()) model_.set_tap(unit_.hv.rated_tap);
  }

  Unit const& unit() const { return unit_; }
  PlanStep const* step(std::string const& test) const {
    auto const found =
        std::find_if(steps_.begin(), steps_.end(), [&](PlanStep const& one) { return one.test == test; });
    return found == steps_.end() ? nullptr : &*found;
  }

  sim::Node at(std::string const& name) const {
    for (auto const& known : {name, std::string("H0X0"), std::string("H0")}) {
      if (known == name ? (name == "tank" || model_.has_terminal(name)) : model_.has_terminal(known))
        return known == "tank" ? sim::earth : model_.terminal(known);
    }
    return model_.terminal(name);
  }
  /// Accessories as the step asks, nothing else on the terminals.
  sim::Network bare(PlanStep const& step) {
    for (auto const& accessory : step.connection.accessories) model_.set_accessory(accessory.name, accessory.state);
    return model_.network();
  }
  void tie_all(sim::Network& network, std::vector<std::string> const& names) const {
    for (std::size_t i = 1; i < names.size(); ++i) network.tie(at(names[0]), at(names[i]), 1e-7);
  }

  sim::spice::Deck::Phasors ask(sim::Network const& network) {
    REQUIRE(model_.solve_ac(network).converged);  // the deck takes the core's working point from here
    return sim::spice::Deck::alternating(model_.internals(), network).run_alternating();
  }

 private:
  Unit unit_;
  sim::UnitModel model_;
  std::vector<PlanStep> steps_;
};

std::pair<std::string, std::string> ends_of(std::string const& pair) {
  auto const dash = pair.find('-');
  return {pair.substr(0, dash), pair.substr(dash + 1)};
}

Complex between(sim::spice::Deck::Phasors const& found, sim::Node from, sim::Node to) {
  return found.node[static_cast<std::size_t>(from)] - found.node[static_cast<std::size_t>(to)];
}

double angle_deg(Complex const& value) { return std::arg(value) * 180.0 / std::numbers::pi; }

}  // namespace

TEST_CASE("ngspice reads on every pair of every family the ratio that the plan expects, in phase", "[ngspice]") {
  auto const file = GENERATE(from_range(demo_unit_files()));
  OnTheBench bench(file);
  auto const* ratio = bench.step("ratio");
  REQUIRE(ratio != nullptr);
  auto const& work = std::get<RatioWork>(ratio->work);
  int read = 0;
  for (auto const& point : work.points) {
    if (point.tap && *point.tap != bench.unit().hv.rated_tap) continue;
    auto const [h, h_return] = ends_of(point.hv_pair);
    auto const [x, x_return] = ends_of(point.lv_pair);
    auto network = bench.bare(*ratio);
    network.add(sim::NetworkEmf{bench.at(h_return), bench.at(h), work.applied.in(volts), 1e-6, 0.0});
    // One point on earth, as the meter has it; the low side is free of it (straps off) or the network has its own.
    network.tie(bench.at(h_return), sim::earth, 1e6);
    if (point.shorted) {
      auto const [from, to] = ends_of(*point.shorted);
      network.tie(bench.at(from), bench.at(to), 1e-7);
    }
    if (point.fed_return_tie) {
      auto const plus = point.fed_return_tie->find('+');
      network.tie(bench.at(h_return), bench.at(point.fed_return_tie->substr(plus + 1)), 1e-7);
    }
    auto const found = bench.ask(network);
    Complex const measured =
        between(found, bench.at(h), bench.at(h_return)) / between(found, bench.at(x), bench.at(x_return));
    INFO(file << ": " << point.hv_pair << ":" << point.lv_pair << " reads " << std::abs(measured) << " at "
              << angle_deg(measured) << " degrees, expected " << point.expected_ratio);
    // Half a percent: whole turns and the drop of the exciting current. A wrong factor is 13 % off at least.
    double const expected = expected_ratio_by_rule(point, bench.unit(), 0.5);
    CHECK(std::abs(measured) == Approx(expected).epsilon(0.005));
    CHECK(std::abs(angle_deg(measured)) < 3.0);
    ++read;
  }
  CHECK(read >= (bench.unit().phases == 3 ? 3 : 1));
}

TEST_CASE("ngspice shows, H1 and X1 tied, the volts that the vector group's phasors say", "[ngspice]") {
  auto const file = GENERATE(from_range(demo_unit_files()));
  OnTheBench bench(file);
  auto const& unit = bench.unit();
  if (unit.phases != 3) return;
  // A tie shorts a winding where both star points are one piece of metal (the connection table: not allowed).
  if (unit.hv_neutral == NeutralKind::joined) return;
  if (unit.hv_neutral == NeutralKind::on_tank && unit.lv_neutral == NeutralKind::on_tank) return;
  auto const* step = bench.step("phase_relation") != nullptr ? bench.step("phase_relation") : bench.step("ratio");
  REQUIRE(step != nullptr);
  auto network = bench.bare(*step);
  double const line_v = 100.0;
  sim::Node const star = network.add_node();
  for (int p = 0; p < 3; ++p) {
    network.add(sim::NetworkEmf{star, bench.at("H" + std::to_string(p + 1)),
                                std::polar(line_v / std::sqrt(3.0), -2.0 * std::numbers::pi * p / 3.0), 1e-6, 0.0});
  }
  network.tie(star, sim::earth, 1e6);
  network.tie(bench.at("H1"), bench.at("X1"), 1e-7);
  auto const found = bench.ask(network);
  auto const group = parse_vector_group(unit.vector_group);
  double const share = unit.lv.rated.in(volts) / unit.hv.rated.in(volts);
  for (auto const& [pair, expected] : phase_check_volts(group, share)) {
    auto const [from, to] = ends_of(pair);
    INFO(file << ": " << pair);
    CHECK(std::abs(between(found, bench.at(from), bench.at(to))) / line_v == Approx(expected).margin(0.002));
  }
}

TEST_CASE("ngspice measures on the planned short circuit the impedance that was ordered", "[ngspice]") {
  auto const file = GENERATE(from_range(demo_unit_files()));
  OnTheBench bench(file);
  auto const* step = bench.step("load_loss");
  REQUIRE(step != nullptr);
  auto const& work = std::get<LoadLossWork>(step->work);
  REQUIRE_FALSE(step->connection.feed.empty());
  auto const& leads = step->connection.feed.front();  // in the order of the source's leads
  auto network = bench.bare(*step);
  double const line_v = work.expected.in(volts);
  bool const three = bench.unit().phases == 3;
  if (three) {
    REQUIRE(leads.size() >= 3);
    sim::Node const star = network.add_node();
    for (std::size_t p = 0; p < 3; ++p) {
      network.add(sim::NetworkEmf{
          star, bench.at(leads[p]),
          std::polar(line_v / std::sqrt(3.0), -2.0 * std::numbers::pi * static_cast<double>(p) / 3.0), 1e-7, 0.0});
    }
    network.tie(star, sim::earth, 1e-3);
  } else {
    REQUIRE(leads.size() == 2);
    network.add(sim::NetworkEmf{bench.at(leads[1]), bench.at(leads[0]), line_v, 1e-7, 0.0});
  }
  for (auto const& tied : step->connection.tie) bench.tie_all(network, tied);
  for (auto const& bar : step->connection.short_bar) bench.tie_all(network, bar);
  for (auto const& earthed : step->connection.earth) network.tie(bench.at(earthed), sim::earth, 1e-3);
  auto const found = bench.ask(network);
  double amperes_sum = 0.0;
  for (auto const& current : found.emf) amperes_sum += std::abs(current);
  double const line_a = amperes_sum / static_cast<double>(found.emf.size());
  double const percent = 100.0 * line_v / line_a * work.rated.in(amperes) / bench.unit().hv.rated.in(volts);
  INFO(file << ": " << line_v << " V, " << line_a << " A, " << percent << " %");
  REQUIRE(bench.unit().guarantees.impedance_percent);
  // 1 %: the core's current beside the load's, and the bar.
  CHECK(percent == Approx(*bench.unit().guarantees.impedance_percent).epsilon(0.01));
}
