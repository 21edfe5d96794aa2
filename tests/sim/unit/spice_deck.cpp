// SPDX-License-Identifier: MIT
#include "spice_deck.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <map>
#include <stdexcept>

namespace benchward::sim::spice {
namespace {

constexpr double pi = 3.14159265358979323846;

/// Node names: nN outside, iN inside, 0 earth.
std::string node_name(int node) {
  if (node == 0) return "0";
  return node > 0 ? fmt::format("n{}", node) : fmt::format("i{}", -node);
}

std::string at_least(double ohm) { return fmt::format("{:.15g}", std::max(ohm, 1e-7)); }

/// Resistor and inductor in series from a to b.
void series(std::string& text, std::string const& name, std::string const& a, std::string const& b, double ohm,
            double henry) {
  if (henry > 0.0) {
    text += fmt::format("R{} {} m{} {}\nL{} m{} {} {:.15g}\n", name, a, name, at_least(ohm), name, name, b, henry);
  } else {
    text += fmt::format("R{} {} {} {}\n", name, a, b, at_least(ohm));
  }
}

void coils(std::string& text, UnitModel::Internals const& body, double frequency_hz, bool with_stray) {
  UnitCondition const condition = body.condition();
  for (std::size_t k = 0; k < body.circuit.coils.size(); ++k) {
    CircuitCoil const& c = body.circuit.coils[k];
    double ohm = body.ac.coil_impedance(body.circuit, body.design, condition, frequency_hz, k).real();
    if (!with_stray) ohm = c.ohm_20 * resistance_factor(c.metal, c.hv ? condition.hv_c : condition.lv_c);
    series(text, fmt::format("coil{}", k), node_name(c.start), fmt::format("a{}", k), ohm, c.leakage_h);
    text += fmt::format("Vcoil{} a{} b{} 0\n", k, k, k);
    text += fmt::format("Ecoil{} b{} {} limb{} 0 {:.15g}\n", k, k, node_name(c.end), c.limb, c.turns);
    text += fmt::format("Fcoil{} 0 limb{} Vcoil{} {:.15g}\n", k, c.limb, k, c.turns);
  }
}

void fixed_parts(std::string& text, UnitModel::Internals const& body, Network const& network, bool capacitances) {
  for (std::size_t k = 0; k < body.circuit.branches.size(); ++k) {
    CircuitBranch const& b = body.circuit.branches[k];
    text += fmt::format("Rin{} {} {} {}\n", k, node_name(b.from), node_name(b.to), at_least(b.ohm));
  }
  for (std::size_t k = 0; k < network.branches.size(); ++k) {
    NetworkBranch const& b = network.branches[k];
    series(text, fmt::format("net{}", k), node_name(b.from), node_name(b.to), b.resistance_ohm, b.inductance_h);
  }
  for (int n = 1; n < network.next_node; ++n) text += fmt::format("Rleak{} n{} 0 1e13\n", n, n);
  for (int n = 1; n <= body.circuit.internal_nodes; ++n) text += fmt::format("Rinner{} i{} 0 1e13\n", n, n);
  if (!capacitances) return;
  // The capacitance matrix as capacitors: minus the off-diagonal entry between two nodes, the row's sum to earth.
  std::map<std::pair<int, int>, double> matrix;
  for (CapacitanceEntry const& c : body.circuit.capacitances) matrix[{c.a, c.b}] += c.farad;
  std::map<int, double> to_earth;
  double const tangent = body.condition().loss_tangent;
  double const omega = 2.0 * pi * network.frequency_hz;
  auto const place = [&](std::string const& name, std::string const& a, std::string const& b, double farad) {
    if (std::abs(farad) < 1e-18) return;
    text += fmt::format("C{} {} {} {:.15g}\n", name, a, b, farad);
    text += fmt::format("Rt{} {} {} {:.15g}\n", name, a, b, 1.0 / (tangent * omega * farad));
  };
  for (auto const& [key, farad] : matrix) {
    to_earth[key.first] += farad;
    if (key.first < key.second)
      place(fmt::format("c{}x{}", key.first + 100, key.second + 100), node_name(key.first), node_name(key.second),
            -farad);
  }
  for (auto const& [node, farad] : to_earth) place(fmt::format("e{}", node + 100), node_name(node), "0", farad);
}

std::vector<std::vector<double>> run(std::string const& deck, std::string const& name) {
  std::string const folder = BENCHWARD_BINARY_DIR;
  std::string const in = folder + "/" + name + ".cir", out = folder + "/" + name + ".out";
  std::remove(out.c_str());
  std::string body = deck;
  body.replace(body.find("@OUT@"), 5, out);
  {
    std::ofstream file(in);
    file << body;
  }
  std::string const command = fmt::format("\"{}\" -b \"{}\" > \"{}.log\" 2>&1", BENCHWARD_NGSPICE, in, out);
  int const status = std::system(command.c_str());
  std::ifstream file(out);
  if (!file) throw std::runtime_error(fmt::format("ngspice answered {}; its words are in {}.log", status, out));
  std::vector<std::vector<double>> rows;
  std::string line;
  while (std::getline(file, line)) {
    std::vector<double> row;
    char const* at = line.data();
    char const* const end = line.data() + line.size();
    while (at < end) {
      while (at < end && (*at == ' ' || *at == '\t')) ++at;
      double value = 0.0;
      auto const [next, error] = std::from_chars(at, end, value);
      if (error != std::errc{}) break;
      row.push_back(value);
      at = next;
    }
    if (!row.empty()) rows.push_back(row);
  }
  return rows;
}

}  // namespace

Deck Deck::alternating(UnitModel::Internals const& body, Network const& network) {
  Deck deck;
  deck.frequency_hz_ = network.frequency_hz;
  deck.nodes_ = network.next_node;
  deck.emfs_ = static_cast<int>(network.emfs.size());
  double const omega = 2.0 * pi * network.frequency_hz;
  std::string& t = deck.text;
  t = "unit under test, fundamental\n";
  coils(t, body, network.frequency_hz, true);
  fixed_parts(t, body, network, true);
  for (std::size_t k = 0; k < network.emfs.size(); ++k) {
    NetworkEmf const& e = network.emfs[k];
    t += fmt::format("Vemf{} s{} {} dc 0 ac {:.15g} {:.15g}\n", k, k, node_name(e.from), std::abs(e.volts),
                     std::arg(e.volts) * 180.0 / pi);
    series(t, fmt::format("emf{}", k), fmt::format("s{}", k), node_name(e.to), e.resistance_ohm, e.inductance_h);
  }
  Design const& d = body.design;
  for (int l = 0; l < d.limbs; ++l) {
    std::size_t const k = static_cast<std::size_t>(l);
    Complex const flux = body.ac.flux()[k][0];
    Complex const volts_per_turn = Complex(0.0, omega * d.flux_peak_wb) * flux;  // peak, as the response is
    Complex const y = body.ac.response()[k].mmf[0] / volts_per_turn;
    t += fmt::format("Rlimb{} limb{} 0 {:.15g}\nLlimb{} limb{} 0 {:.15g}\n", l, l, 1.0 / y.real(), l, l,
                     -1.0 / (omega * y.imag()));
  }
  if (d.limbs == 3 && d.zero_sequence_mmf > 0.0) {
    // Yoke to yoke: the sum of the limbs' volts per turn drives a current that each limb has to pay.
    t += "Es1 q1 0 limb0 0 1\nEs2 q2 q1 limb1 0 1\nEs3 q3 q2 limb2 0 1\nVyoke q3 q4 0\n";
    t += fmt::format("Lyoke q4 0 {:.15g}\n", d.flux_peak_wb / d.zero_sequence_mmf);
    t += fmt::format("Ryoke q4 0 {:.15g}\n", 2.0 * pi * d.hz * d.flux_peak_wb / d.zero_sequence_loss);
    for (int l = 0; l < 3; ++l) t += fmt::format("Fyoke{} limb{} 0 Vyoke 1\n", l, l);
  }
  return deck;
}

Deck::Phasors Deck::run_alternating() const {
  std::string t = text;
  t += fmt::format(
      ".control\nset wr_singlescale\nset wr_vecnames\nset numdgt=12\nac lin 1 {:.15g} {:.15g}\nwrdata @OUT@",
      frequency_hz_, frequency_hz_);
  for (int n = 1; n < nodes_; ++n) t += fmt::format(" v(n{})", n);
  for (int k = 0; k < emfs_; ++k) t += fmt::format(" i(vemf{})", k);
  t += "\nquit\n.endc\n.end\n";
  auto const rows = run(t, "unit_ac");
  Phasors p;
  p.node.push_back(0.0);
  std::size_t const columns = static_cast<std::size_t>(nodes_ - 1 + emfs_);
  if (rows.size() != 1 || rows[0].size() != 1 + 2 * columns)
    throw std::runtime_error("ngspice answered another number of values than asked for");
  for (std::size_t c = 0; c < columns; ++c) {
    std::complex<double> const value(rows[0][1 + 2 * c], rows[0][2 + 2 * c]);
    // A source's current counts into its plus end in ngspice.
    if (c < static_cast<std::size_t>(nodes_ - 1))
      p.node.push_back(value);
    else
      p.emf.push_back(-value);
  }
  return p;
}

Deck Deck::transient(UnitModel::Internals const& body, std::array<CoreLimb, 3> const& core, Network const& network,
                     Drive drive, double growth_s) {
  bool const direct_current = drive != Drive::soft_sine;
  Deck deck;
  deck.frequency_hz_ = network.frequency_hz;
  deck.nodes_ = network.next_node;
  deck.emfs_ = static_cast<int>(network.emfs.size());
  std::string& t = deck.text;
  t = "unit under test, in time\n";
  coils(t, body, network.frequency_hz, !direct_current);
  fixed_parts(t, body, network, false);
  for (std::size_t k = 0; k < network.emfs.size(); ++k) {
    NetworkEmf const& e = network.emfs[k];
    if (drive == Drive::direct) {
      t += fmt::format("Vemf{} s{} {} pwl(0 0 1e-6 {:.15g} 1e6 {:.15g})\n", k, k, node_name(e.from), e.volts.real(),
                       e.volts.real());
    } else {
      // Phasors are rms and cosine: sqrt2 |V| cos(wt + a), started softly so that little standing flux is left.
      t += fmt::format("Bemf{} g{} 0 V = {:.15g} * cos({:.15g} * time + {:.15g}){}\n", k, k,
                       std::sqrt(2.0) * std::abs(e.volts), 2.0 * pi * network.frequency_hz, std::arg(e.volts),
                       drive == Drive::soft_sine ? fmt::format(" * min(1, time / {:.15g})", growth_s) : "");
      t += fmt::format("Eemf{} u{} {} g{} 0 1\nVemf{} s{} u{} 0\n", k, k, node_name(e.from), k, k, k, k);
    }
    series(t, fmt::format("emf{}", k), fmt::format("s{}", k), node_name(e.to), e.resistance_ohm, e.inductance_h);
  }
  Design const& d = body.design;
  for (int l = 0; l < d.limbs; ++l) {
    CoreLimb const& limb = core[static_cast<std::size_t>(l)];
    MagnetisationCurve const& c = limb.curve;
    double const tension = direct_current ? 1.0 : core_temperature_factor(body.thermal.now.core_c);
    // Flux in units of rated flux on node x: an integrator of volts per turn.
    t += fmt::format("Gx{} 0 x{} limb{} 0 {:.15g}\nCx{} x{} 0 1 ic=0\nRx{} x{} 0 1e12\n", l, l, l, 1.0 / d.flux_peak_wb,
                     l, l, l, l);
    std::string const x = fmt::format("abs(v(x{}))", l);
    double const b9 = std::pow(1.3, 9), b8 = std::pow(1.3, 8);
    t += fmt::format(
        "Bcurve{0} limb{0} 0 I = sgn(v(x{0})) * ({1:.15g} * ({2} + {3:.15g} * ({2} < 1.3 ? {2}^9 : {4:.15g} + "
        "{5:.15g} * ({2} - 1.3))) + ({2} > {6:.15g} ? {7:.15g} * ({2} - {8:.15g}) : ({2} > {9:.15g} ? {10:.15g} * "
        "({2} - {9:.15g})^2 : 0)))\n",
        l, c.m, x, c.bend, b9, 9.0 * b8, c.knee + c.knee_width, c.air, c.knee, c.knee - c.knee_width,
        c.air / (4.0 * c.knee_width));
    t += fmt::format("Reddy{} limb{} 0 {:.15g}\n", l, l, 1.0 / (limb.loss.eddy_siemens * tension));
  }
  if (d.limbs == 3 && d.zero_sequence_mmf > 0.0) {
    t += "Bsum ysum 0 V = v(x0) + v(x1) + v(x2)\nRsum ysum 0 1\n";
    for (int l = 0; l < 3; ++l) t += fmt::format("Gyoke{} limb{} 0 ysum 0 {:.15g}\n", l, l, d.zero_sequence_mmf);
    if (!direct_current) {
      // The tank's part, in phase with the summed volts.
      t += fmt::format("Btank tank 0 V = (v(limb0) + v(limb1) + v(limb2)) * {:.15g}\nRtank tank 0 1\n",
                       d.zero_sequence_loss / (2.0 * pi * d.hz * d.flux_peak_wb));
      for (int l = 0; l < 3; ++l) t += fmt::format("Gtank{} limb{} 0 tank 0 1\n", l, l);
    }
  }
  return deck;
}

std::vector<std::vector<double>> Deck::run_transient(double step_s, double end_s, double keep_from_s) const {
  std::string t = text;
  t += ".options reltol=1e-6 abstol=1e-9 vntol=1e-9 method=gear maxord=2 itl4=200\n";
  t += fmt::format(
      ".control\nset wr_singlescale\nset numdgt=12\ntran {:.15g} {:.15g} {:.15g} {:.15g} uic\nlinearize\nwrdata @OUT@",
      step_s, end_s, keep_from_s, step_s);
  for (int n = 1; n < nodes_; ++n) t += fmt::format(" v(n{})", n);
  for (int k = 0; k < emfs_; ++k) t += fmt::format(" i(vemf{})", k);
  t += "\nquit\n.endc\n.end\n";
  auto rows = run(t, "unit_tran");
  if (rows.size() <= 2) throw std::runtime_error("ngspice stopped before the end of the time asked for");
  std::size_t const nodes = static_cast<std::size_t>(nodes_);
  for (auto& row : rows)
    for (std::size_t c = nodes; c < row.size(); ++c) row[c] = -row[c];
  return rows;
}

}  // namespace benchward::sim::spice
