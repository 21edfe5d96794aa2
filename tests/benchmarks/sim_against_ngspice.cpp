// SPDX-License-Identifier: MIT
/// The unit model's engines against ngspice on the same cases in the same run: wall and processor times, and how far
/// the answers lie apart. Prints one JSON array; tests/benchmarks/run-sim makes a table of it. ngspice is the oracle,
/// not the engine.

#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <complex>
#include <functional>
#include <string>
#include <vector>

#include "sim/unit/internals.hpp"
#include "tests/sim/unit/example_units.hpp"
#include "tests/sim/unit/spice_deck.hpp"

using namespace benchward;
using namespace benchward::sim;
using namespace benchward::sim::examples;

namespace {

/// Wall time, and processor time of this program with the programs it ran.
struct Spent {
  double wall_s = 0.0, cpu_s = 0.0;
};

double cpu_of(int who) {
  rusage used{};
  getrusage(who, &used);
  auto const in_s = [](timeval t) { return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec); };
  return in_s(used.ru_utime) + in_s(used.ru_stime);
}

Spent spent(std::function<void()> const& work, int who = RUSAGE_SELF) {
  double const cpu = cpu_of(who);
  auto const start = std::chrono::steady_clock::now();
  work();
  return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(), cpu_of(who) - cpu};
}

Spent median(std::vector<Spent> values) {
  Spent out;
  auto const middle = [&](double Spent::*which) {
    std::sort(values.begin(), values.end(), [&](Spent const& a, Spent const& b) { return a.*which < b.*which; });
    return values[values.size() / 2].*which;
  };
  out.wall_s = middle(&Spent::wall_s);
  out.cpu_s = middle(&Spent::cpu_s);
  return out;
}

/// One call, median of five batches.
Spent a_call(int calls, std::function<void(int)> const& call) {
  std::vector<Spent> batches;
  for (int b = 0; b < 5; ++b) {
    Spent batch = spent([&] {
      for (int k = 0; k < calls; ++k) call(k);
    });
    batches.push_back({batch.wall_s / calls, batch.cpu_s / calls});
  }
  return median(batches);
}

bool first_row = true;
void row(std::string const& what, std::string const& unit, Spent ours, Spent theirs, double apart,
         std::string const& of) {
  fmt::print(
      "{}{{\"case\": \"{}\", \"unit\": \"{}\", \"ours_s\": [{:.6g}, {:.6g}], \"ngspice_s\": [{:.6g}, {:.6g}], "
      "\"apart\": {:.3g}, \"quantity\": \"{}\"}}",
      first_row ? "[" : ",\n ", what, unit, ours.wall_s, ours.cpu_s, theirs.wall_s, theirs.cpu_s, apart, of);
  first_row = false;
}

std::array<CoreLimb, 3> without_hysteresis(UnitModel const& m) {
  std::array<CoreLimb, 3> core = m.internals().core;
  for (CoreLimb& limb : core) {
    limb.bank.set_strength(0.0);
    limb.loss.hysteresis_joules = 0.0;
  }
  return core;
}

Network weak_supply(UnitModel const& m, double line_volts, double share) {
  double const base = std::pow(m.unit().lv.rated.in(volts), 2) / m.unit().rated_power.in(volt_amperes);
  return feed_lv(m, line_volts, share * base, share * base / (2.0 * pi * 60.0));
}

/// Linear state: the short-circuited unit at the fundamental.
void short_circuit(std::string const& name, Unit const& unit) {
  UnitModel m(unit, {11, false});
  Network n = feed_hv(m, m.unit().hv.rated.in(volts)*0.05, 0.5, 2e-3);
  short_lv(m, n, 2e-4);
  std::vector<NetworkEmf> const rated = n.emfs;
  Spent const ours = a_call(20000, [&](int k) {
    for (std::size_t e = 0; e < rated.size(); ++e) n.emfs[e].volts = rated[e].volts * (1.0 + 1e-5 * (k % 11));
    m.solve_ac(n);
  });
  n.emfs = rated;
  AcSolution const& s = m.solve_ac(n);
  auto const deck = spice::Deck::alternating(m.internals(), n);
  std::vector<Spent> theirs;
  spice::Deck::Phasors answer;
  for (int k = 0; k < 5; ++k) theirs.push_back(spent([&] { answer = deck.run_alternating(); }, RUSAGE_CHILDREN));
  double apart = 0.0;
  for (std::size_t e = 0; e < answer.emf.size(); ++e)
    apart = std::max(apart, std::abs(s.emf_current[e].fundamental() / answer.emf[e] - 1.0));
  row("short circuit, steady (ngspice: .ac of the linear circuit)", name, ours, median(theirs), apart, "current");
}

/// The steady state by our engine, without the capacitances that a deck in time has not: time of a call where the
/// source's volts moved a little since the last, time of one on a connection new each time, and the solution.
struct OurSteadyState {
  OurSteadyState(UnitModel& m, std::array<CoreLimb, 3> const& core, Network& n) {
    m.solve_ac(n);
    UnitCondition const condition = m.internals().condition();
    Circuit circuit = m.internals().circuit;
    circuit.capacitances.clear();
    auto const solve = [&](AcEngine& with) { with.solve(circuit, m.internals().design, core, condition, n); };
    std::vector<NetworkEmf> const rated = n.emfs;
    moving = a_call(5000, [&](int k) {
      for (std::size_t e = 0; e < rated.size(); ++e) n.emfs[e].volts = rated[e].volts * (1.0 + 1e-5 * (k % 11));
      solve(engine);
    });
    n.emfs = rated;
    cold = a_call(200, [&](int) {
      AcEngine anew;
      solve(anew);
    });
    solve(engine);
  }
  /// Largest relative difference of a source's rms current from the last two periods of a run in time.
  double apart_from(std::vector<std::vector<double>> rows, Network const& n) const {
    rows.resize(std::min<std::size_t>(rows.size(), 800));
    double apart = 0.0;
    for (std::size_t e = 0; e < n.emfs.size(); ++e) {
      double squares = 0.0;
      for (auto const& r : rows)
        squares += r[static_cast<std::size_t>(n.next_node) + e] * r[static_cast<std::size_t>(n.next_node) + e];
      double const rms = std::sqrt(squares / static_cast<double>(rows.size()));
      apart = std::max(apart, std::abs(engine.solution().emf_current[e].rms() / rms - 1.0));
    }
    return apart;
  }
  AcEngine engine;
  Spent moving, cold;
};

/// The same short circuit with the core that both engines have to find the working point of: a saturating curve, given
/// to ngspice in time. The leakage's time constant is a few milliseconds, so a tenth of a second of growth leaves no
/// offset.
void short_circuit_in_time(std::string const& name, Unit const& unit) {
  UnitModel m(unit, {11, true});
  Network n = feed_hv(m, m.unit().hv.rated.in(volts)*0.05, 0.5, 2e-3);
  short_lv(m, n, 2e-4);
  std::array<CoreLimb, 3> const core = without_hysteresis(m);
  OurSteadyState const own(m, core, n);
  double const period = 1.0 / n.frequency_hz;
  auto const deck = spice::Deck::transient(m.internals(), core, n, spice::Deck::Drive::soft_sine, 0.1);
  std::vector<std::vector<double>> rows;
  std::vector<Spent> theirs;
  for (int k = 0; k < 3; ++k)
    theirs.push_back(
        spent([&] { rows = deck.run_transient(period / 400.0, 14.0 * period, 12.0 * period); }, RUSAGE_CHILDREN));
  double const apart = own.apart_from(std::move(rows), n);
  row("short circuit, steady, source moving (ngspice: in time until it stands)", name, own.moving, median(theirs),
      apart, "rms current");
  row("the same, connection new each time", name, own.cold, median(theirs), apart, "rms current");
}

/// Saturating steady state: volts above rated behind a supply's impedance, as in the tests.
void saturated_steady(std::string const& name, Unit const& unit, double factor) {
  UnitModel m(unit, {1, true});
  Network n = weak_supply(m, factor * m.unit().lv.rated.in(volts), 0.1);
  std::array<CoreLimb, 3> const core = without_hysteresis(m);
  OurSteadyState const own(m, core, n);
  double const period = 1.0 / n.frequency_hz;
  std::vector<std::vector<double>> rows;
  Spent const theirs = spent(
      [&] {
        rows = spice::Deck::transient(m.internals(), core, n, spice::Deck::Drive::soft_sine)
                   .run_transient(period / 400.0, 122.0 * period, 120.0 * period);
      },
      RUSAGE_CHILDREN);
  double const apart = own.apart_from(std::move(rows), n);
  row("saturated no-load, steady, source moving (ngspice: in time until it stands)", name, own.moving, theirs, apart,
      "rms current");
  row("the same, connection new each time", name, own.cold, theirs, apart, "rms current");
}

/// Ten cycles from switching on at the angle that saturates most: inrush.
void inrush(std::string const& name, Unit const& unit) {
  UnitModel m(unit, {1, true});
  Network n = weak_supply(m, m.unit().lv.rated.in(volts), 0.05);
  for (NetworkEmf& e : n.emfs) {
    e.volts *= std::polar(1.0, -pi / 2.0);
    e.inductance_h = 0.0;  // the engine in time has resistances only outside the unit
  }
  m.solve_ac(m.network());
  std::array<CoreLimb, 3> const core = without_hysteresis(m);
  UnitCondition const condition = m.internals().condition();
  double const omega = 2.0 * pi * n.frequency_hz, step = 1.0 / n.frequency_hz / 400.0;
  int const count = 4000;
  std::vector<std::complex<double>> phasors;
  for (NetworkEmf const& e : n.emfs) phasors.push_back(e.volts);
  std::vector<std::vector<double>> ours(static_cast<std::size_t>(count), std::vector<double>(n.emfs.size()));
  auto const run = [&] {
    DcEngine engine;
    auto limbs = core;
    for (int k = 0; k < count; ++k) {
      for (std::size_t e = 0; e < n.emfs.size(); ++e)
        n.emfs[e].volts =
            std::sqrt(2.0) * std::abs(phasors[e]) * std::cos(omega * step * (k + 1) + std::arg(phasors[e]));
      engine.step(m.internals().circuit, m.internals().design, limbs, condition.hv_c, condition.lv_c, 1, n, step);
      for (std::size_t e = 0; e < n.emfs.size(); ++e)
        ours[static_cast<std::size_t>(k)][e] = engine.solution().emf_amperes[e];
    }
  };
  Spent const mine = a_call(3, [&](int) { run(); });
  for (std::size_t e = 0; e < n.emfs.size(); ++e) n.emfs[e].volts = phasors[e];
  std::vector<std::vector<double>> rows;
  auto const deck = spice::Deck::transient(m.internals(), core, n, spice::Deck::Drive::sudden_sine);
  std::vector<Spent> times;
  for (int k = 0; k < 3; ++k)
    times.push_back(spent([&] { rows = deck.run_transient(step, step * count, 0.0); }, RUSAGE_CHILDREN));
  double largest = 0.0, peak = 0.0, difference = 0.0;
  for (std::size_t e = 0; e < n.emfs.size(); ++e)
    for (std::size_t k = 0; k < ours.size() && k + 1 < rows.size(); ++k) {
      double const theirs = rows[k + 1][static_cast<std::size_t>(n.next_node) + e];
      largest = std::max(largest, std::abs(theirs));
      peak = std::max(peak, std::abs(ours[k][e]));
      difference = std::max(difference, std::abs(ours[k][e] - theirs));
    }
  row("ten cycles of inrush, 400 steps a cycle", name, mine, median(times), peak / largest - 1.0, "highest current");
  row("the same: anywhere in the wave, of the highest", name, mine, median(times), difference / largest, "current");
}

}  // namespace

int main() {
  short_circuit("Ii0", single_phase());
  short_circuit("Dyn1", three_phase("Dyn1"));
  short_circuit_in_time("Ii0", single_phase());
  short_circuit_in_time("Dyn1", three_phase("Dyn1"));
  saturated_steady("Ii0", single_phase(), 1.1);
  saturated_steady("YNyn0", three_phase("YNyn0"), 1.1);
  inrush("Ii0", single_phase());
  inrush("YNyn0", three_phase("YNyn0"));
  fmt::print("]\n");
}
