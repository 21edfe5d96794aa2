// SPDX-License-Identifier: MIT
#include "dc_engine.hpp"

#include <algorithm>
#include <cmath>

namespace benchward::sim {
namespace {

constexpr double least_ohm = 1e-7;
/// Insulation as conductance: capacitance over its time constant. Keeps floating windings where leakage puts them.
constexpr double insulation_seconds = 50.0;
constexpr double leak_siemens = 1e-13;
constexpr int cache_size = 6;

bool same(NetworkBranch const& a, NetworkBranch const& b) {
  return a.from == b.from && a.to == b.to && a.resistance_ohm == b.resistance_ohm && a.capacitance_f == b.capacitance_f;
}
bool same(NetworkEmf const& a, NetworkEmf const& b) {
  return a.from == b.from && a.to == b.to && a.resistance_ohm == b.resistance_ohm;
}

struct Rows {
  int outer, internal, nodes, coils, emfs, sources;
  int node(int n) const { return n > 0 ? n - 1 : (n == 0 ? -1 : outer - 2 - n); }
  int coil(int k) const { return nodes + k; }
  int emf(int k) const { return nodes + coils + k; }
  int source(int k) const { return nodes + coils + emfs + k; }
  int size() const { return nodes + coils + emfs + sources; }
};

Rows rows_of(Circuit const& circuit, Network const& network) {
  Rows r{};
  r.outer = network.next_node;
  r.internal = circuit.internal_nodes;
  r.nodes = r.outer - 1 + r.internal;
  r.coils = static_cast<int>(circuit.coils.size());
  r.emfs = static_cast<int>(network.emfs.size());
  r.sources = static_cast<int>(network.current_sources.size());
  return r;
}

}  // namespace

DcEngine::Prepared& DcEngine::prepare(Circuit const& circuit, double hv_c, double lv_c, std::uint64_t revision,
                                      Network const& network, double step_s, int limbs) {
  ++clock_;
  for (Prepared& p : cache_) {
    bool match = p.revision == revision && p.step_s == step_s && p.next_node == network.next_node &&
                 p.modes == modes_ && p.branches.size() == network.branches.size() &&
                 p.emfs.size() == network.emfs.size();
    for (std::size_t k = 0; match && k < p.branches.size(); ++k) match = same(p.branches[k], network.branches[k]);
    for (std::size_t k = 0; match && k < p.emfs.size(); ++k) match = same(p.emfs[k], network.emfs[k]);
    for (std::size_t k = 0; match && k < modes_.size(); ++k)
      match = p.source_ends[2 * k] == network.current_sources[k].from &&
              p.source_ends[2 * k + 1] == network.current_sources[k].to &&
              p.freewheel[k] == network.current_sources[k].freewheel_ohm;
    if (match) {
      p.used = clock_;
      return p;
    }
  }
  if (cache_.size() < cache_size) {
    cache_.emplace_back();
  } else {
    auto const oldest = std::min_element(cache_.begin(), cache_.end(),
                                         [](Prepared const& a, Prepared const& b) { return a.used < b.used; });
    std::iter_swap(oldest, cache_.end() - 1);
  }
  Prepared& p = cache_.back();
  p.branches = network.branches;
  p.emfs = network.emfs;
  p.modes = modes_;
  p.source_ends.clear();
  p.freewheel.clear();
  for (NetworkCurrentSource const& s : network.current_sources) {
    p.source_ends.push_back(s.from);
    p.source_ends.push_back(s.to);
    p.freewheel.push_back(s.freewheel_ohm);
  }
  p.step_s = step_s;
  p.next_node = network.next_node;
  p.revision = revision;
  p.used = clock_;

  Rows const rows = rows_of(circuit, network);
  Dense<double>& m = p.matrix;
  m.resize(rows.size());
  auto const admit = [&](int a, int b, double y) {
    int const ra = rows.node(a), rb = rows.node(b);
    if (ra >= 0) m(ra, ra) += y;
    if (rb >= 0) m(rb, rb) += y;
    if (ra >= 0 && rb >= 0) {
      m(ra, rb) -= y;
      m(rb, ra) -= y;
    }
  };
  auto const branch_row = [&](int at, int from, int to, double ohm) {
    int const rf = rows.node(from), rt = rows.node(to);
    if (rf >= 0) {
      m(at, rf) += 1.0;
      m(rf, at) += 1.0;
    }
    if (rt >= 0) {
      m(at, rt) -= 1.0;
      m(rt, at) -= 1.0;
    }
    m(at, at) -= ohm;
  };
  for (int n = 0; n < rows.nodes; ++n) m(n, n) += leak_siemens;
  for (CircuitBranch const& b : circuit.branches) admit(b.from, b.to, 1.0 / std::max(b.ohm, least_ohm));
  for (NetworkBranch const& b : network.branches)
    if (b.capacitance_f <= 0.0) admit(b.from, b.to, 1.0 / std::max(b.resistance_ohm, least_ohm));
  for (CapacitanceEntry const& c : circuit.capacitances)
    m(rows.node(c.a), rows.node(c.b)) += c.farad / insulation_seconds;
  for (int k = 0; k < rows.coils; ++k) {
    CircuitCoil const& c = circuit.coils[static_cast<std::size_t>(k)];
    double const ohm = c.ohm_20 * resistance_factor(c.metal, c.hv ? hv_c : lv_c);
    branch_row(rows.coil(k), c.start, c.end, ohm + c.leakage_h / step_s);
  }
  for (int k = 0; k < rows.emfs; ++k) {
    NetworkEmf const& e = network.emfs[static_cast<std::size_t>(k)];
    branch_row(rows.emf(k), e.from, e.to, std::max(e.resistance_ohm, least_ohm));
  }
  for (int k = 0; k < rows.sources; ++k) {
    NetworkCurrentSource const& s = network.current_sources[static_cast<std::size_t>(k)];
    int const at = rows.source(k), rf = rows.node(s.from), rt = rows.node(s.to);
    if (rf >= 0) m(rf, at) += 1.0;
    if (rt >= 0) m(rt, at) -= 1.0;
    if (modes_[static_cast<std::size_t>(k)] == Mode::current) {
      m(at, at) = 1.0;
    } else {
      if (rf >= 0) m(at, rf) += 1.0;
      if (rt >= 0) m(at, rt) -= 1.0;
      m(at, at) -= modes_[static_cast<std::size_t>(k)] == Mode::freewheel ? s.freewheel_ohm : least_ohm;
    }
  }
  m.factor();
  std::size_t const count = static_cast<std::size_t>(limbs);
  p.from_limb.assign(static_cast<std::size_t>(rows.size()) * count, 0.0);
  p.mmf_from_limb.assign(count * count, 0.0);
  std::vector<double> column(static_cast<std::size_t>(rows.size()));
  for (std::size_t l = 0; l < count; ++l) {
    std::fill(column.begin(), column.end(), 0.0);
    for (int k = 0; k < rows.coils; ++k)
      if (circuit.coils[static_cast<std::size_t>(k)].limb == static_cast<int>(l))
        column[static_cast<std::size_t>(rows.coil(k))] = circuit.coils[static_cast<std::size_t>(k)].turns;
    m.solve(column.data());
    for (std::size_t r = 0; r < column.size(); ++r) p.from_limb[r * count + l] = column[r];
    for (int k = 0; k < rows.coils; ++k) {
      CircuitCoil const& c = circuit.coils[static_cast<std::size_t>(k)];
      p.mmf_from_limb[static_cast<std::size_t>(c.limb) * count + l] +=
          c.turns * column[static_cast<std::size_t>(rows.coil(k))];
    }
  }
  return p;
}

/// Finds the limbs' flux at the end of the step: mmf + (linear part) * d(flux)/dt = core(flux).
void DcEngine::solve_core(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
                          double step_s, std::array<double, 3> const& mmf, std::array<double, 3>& flux) const {
  std::size_t const limbs = static_cast<std::size_t>(design.limbs);
  double const volts_a_flux = design.flux_peak_wb / step_s;
  std::array<double, 3> const old{core[0].bank.at(), core[1].bank.at(), core[2].bank.at()};
  bool const back = design.limbs == 3 && design.return_limbs;
  auto const residual = [&](std::array<double, 3> const& x, std::array<double, 3>& r) {
    double sum = 0.0, worst = 0.0, scale = 1e-12;
    for (std::size_t l = 0; l < limbs; ++l) sum += x[l];
    double const yoke = back ? design.return_curve.mmf(sum / design.return_area)
                             : (design.limbs == 3 ? design.zero_sequence_mmf * sum : 0.0);
    for (std::size_t l = 0; l < limbs; ++l) {
      double net = mmf[l];
      for (std::size_t c = 0; c < limbs; ++c)
        net += prepared.mmf_from_limb[l * limbs + c] * volts_a_flux * (x[c] - old[c]);
      double const iron = core[l].curve.mmf(x[l]) + core[l].bank.force(x[l]) +
                          core[l].loss.eddy_siemens * volts_a_flux * (x[l] - old[l]);
      r[l] = net - iron - yoke;
      worst = std::max(worst, std::abs(r[l]));
      scale = std::max({scale, std::abs(mmf[l]), core[l].bank.strength()});
    }
    return worst / scale;
  };
  std::array<double, 3> r{};
  flux = old;
  double now = residual(flux, r);
  for (int round = 0; round < 60 && now > 1e-9; ++round) {
    double m[3][4] = {};
    double sum = 0.0;
    for (std::size_t l = 0; l < limbs; ++l) sum += flux[l];
    double const yoke = back ? design.return_curve.slope(sum / design.return_area) / design.return_area
                             : (design.limbs == 3 ? design.zero_sequence_mmf : 0.0);
    for (std::size_t l = 0; l < limbs; ++l) {
      for (std::size_t c = 0; c < limbs; ++c) m[l][c] = yoke - prepared.mmf_from_limb[l * limbs + c] * volts_a_flux;
      m[l][l] += core[l].curve.slope(flux[l]) + core[l].bank.slope(flux[l]) + core[l].loss.eddy_siemens * volts_a_flux;
      m[l][3] = r[l];
    }
    for (std::size_t k = 0; k < limbs; ++k) {
      std::size_t best = k;
      for (std::size_t i = k + 1; i < limbs; ++i)
        if (std::abs(m[i][k]) > std::abs(m[best][k])) best = i;
      std::swap(m[k], m[best]);
      for (std::size_t i = k + 1; i < limbs; ++i) {
        double const f = m[i][k] / m[k][k];
        for (std::size_t c = k; c < 4; ++c) m[i][c] -= f * m[k][c];
      }
    }
    for (std::size_t k = limbs; k-- > 0;) {
      for (std::size_t c = k + 1; c < limbs; ++c) m[k][3] -= m[k][c] * m[c][3];
      m[k][3] /= m[k][k];
    }
    std::array<double, 3> const start = flux;
    double next = now;
    double length = 1.0;
    for (int cut = 0; cut < 12; ++cut, length *= 0.5) {
      for (std::size_t l = 0; l < limbs; ++l) flux[l] = start[l] + length * m[l][3];
      next = residual(flux, r);
      if (next < now) break;
    }
    if (!(next < now)) break;
    now = next;
  }
}

void DcEngine::substep(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3>& core, double hv_c,
                       double lv_c, std::uint64_t revision, Network const& network, double step_s) {
  Rows const rows = rows_of(circuit, network);
  std::size_t const limbs = static_cast<std::size_t>(design.limbs);
  if (modes_.size() != network.current_sources.size()) modes_.assign(network.current_sources.size(), Mode::current);
  std::array<double, 3> flux{};
  for (int attempt = 0; attempt < 8; ++attempt) {
    Prepared& p = prepare(circuit, hv_c, lv_c, revision, network, step_s, design.limbs);
    right_.assign(static_cast<std::size_t>(rows.size()), 0.0);
    for (int k = 0; k < rows.coils; ++k)
      right_[static_cast<std::size_t>(rows.coil(k))] =
          -circuit.coils[static_cast<std::size_t>(k)].leakage_h / step_s * current_[static_cast<std::size_t>(k)];
    for (int k = 0; k < rows.emfs; ++k)
      right_[static_cast<std::size_t>(rows.emf(k))] = -network.emfs[static_cast<std::size_t>(k)].volts.real();
    for (int k = 0; k < rows.sources; ++k) {
      NetworkCurrentSource const& s = network.current_sources[static_cast<std::size_t>(k)];
      Mode const mode = modes_[static_cast<std::size_t>(k)];
      right_[static_cast<std::size_t>(rows.source(k))] =
          mode == Mode::current ? s.set_amperes : (mode == Mode::limited ? -s.compliance_volts : 0.0);
    }
    p.matrix.solve(right_.data());
    std::array<double, 3> mmf{};
    for (int k = 0; k < rows.coils; ++k) {
      CircuitCoil const& c = circuit.coils[static_cast<std::size_t>(k)];
      mmf[static_cast<std::size_t>(c.limb)] += c.turns * right_[static_cast<std::size_t>(rows.coil(k))];
    }
    solve_core(p, design, core, step_s, mmf, flux);
    full_ = right_;
    for (std::size_t l = 0; l < limbs; ++l) {
      double const volts_per_turn = (flux[l] - core[l].bank.at()) * design.flux_peak_wb / step_s;
      for (std::size_t r = 0; r < full_.size(); ++r) full_[r] += p.from_limb[r * limbs + l] * volts_per_turn;
    }
    bool settled = true;
    for (int k = 0; k < rows.sources; ++k) {
      NetworkCurrentSource const& s = network.current_sources[static_cast<std::size_t>(k)];
      auto const volts_at = [&](Node n) {
        int const r = rows.node(n);
        return r < 0 ? 0.0 : full_[static_cast<std::size_t>(r)];
      };
      double const across = volts_at(s.to) - volts_at(s.from);
      double const amperes = full_[static_cast<std::size_t>(rows.source(k))];
      Mode& mode = modes_[static_cast<std::size_t>(k)];
      Mode next = mode;
      double const slack = 1e-9 * (1.0 + s.set_amperes);
      if (mode == Mode::current) {
        if (s.set_amperes > 0.0 && across > s.compliance_volts * (1.0 + 1e-9))
          next = Mode::limited;
        else if (across < -s.freewheel_ohm * s.set_amperes - 1e-9)
          next = Mode::freewheel;
      } else if (amperes < s.set_amperes - slack ? mode == Mode::freewheel
                                                 : (mode == Mode::limited && amperes > s.set_amperes + slack)) {
        next = Mode::current;
      }
      if (next != mode) {
        mode = next;
        settled = false;
      }
    }
    if (settled) break;
  }
  for (std::size_t l = 0; l < limbs; ++l) core[l].bank.move_to(flux[l]);
  for (int k = 0; k < rows.coils; ++k)
    current_[static_cast<std::size_t>(k)] = full_[static_cast<std::size_t>(rows.coil(k))];
}

void DcEngine::step(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3>& core, double hv_c,
                    double lv_c, std::uint64_t revision, Network const& network, double seconds) {
  if (current_.size() != circuit.coils.size()) current_.assign(circuit.coils.size(), 0.0);
  Rows const rows = rows_of(circuit, network);
  DcSolution& s = solution_;
  s.node_volts.assign(static_cast<std::size_t>(rows.outer), 0.0);
  s.node_volts_peak.assign(static_cast<std::size_t>(rows.outer), 0.0);
  int const count = std::max(1, static_cast<int>(std::ceil(seconds / longest_step_s - 1e-9)));
  double const step_s = seconds / count;
  for (int k = 0; k < count; ++k) {
    substep(circuit, design, core, hv_c, lv_c, revision, network, step_s);
    for (int n = 1; n < rows.outer; ++n) {
      double& peak = s.node_volts_peak[static_cast<std::size_t>(n)];
      peak = std::max(peak, std::abs(full_[static_cast<std::size_t>(n - 1)]));
    }
  }
  for (int n = 1; n < rows.outer; ++n)
    s.node_volts[static_cast<std::size_t>(n)] = full_[static_cast<std::size_t>(n - 1)];
  s.emf_amperes.clear();
  for (int k = 0; k < rows.emfs; ++k) s.emf_amperes.push_back(full_[static_cast<std::size_t>(rows.emf(k))]);
  s.current_source_amperes.clear();
  s.current_source_limited.clear();
  for (int k = 0; k < rows.sources; ++k) {
    s.current_source_amperes.push_back(full_[static_cast<std::size_t>(rows.source(k))]);
    s.current_source_limited.push_back(modes_[static_cast<std::size_t>(k)] == Mode::limited);
  }
  s.branch_amperes.clear();
  for (NetworkBranch const& b : network.branches)
    s.branch_amperes.push_back(b.capacitance_f > 0.0 ? 0.0
                                                     : s.between(b.from, b.to) / std::max(b.resistance_ohm, least_ohm));
  s.stored_joules = 0.0;
  double flowing_mmf = 0.0;
  for (std::size_t k = 0; k < circuit.coils.size(); ++k) {
    s.stored_joules += 0.5 * circuit.coils[k].leakage_h * current_[k] * current_[k];
    flowing_mmf = std::max(flowing_mmf, std::abs(circuit.coils[k].turns * current_[k]));
  }
  for (std::size_t l = 0; l < static_cast<std::size_t>(design.limbs); ++l) {
    s.limb_flux[l] = core[l].bank.at();
    // What the steel gives back once the current is gone; below the coercive force it keeps its flux.
    if (flowing_mmf > core[l].bank.strength())
      s.stored_joules += design.flux_peak_wb * core[l].curve.energy(core[l].bank.at());
  }
}

bool DcEngine::flowing(Circuit const& circuit, Design const& design) const {
  for (std::size_t k = 0; k < current_.size() && k < circuit.coils.size(); ++k) {
    double const rated = circuit.coils[k].hv ? design.hv_coil_amperes : design.lv_part_amperes;
    if (std::abs(current_[k]) > 1e-7 * rated) return true;
  }
  return false;
}

void DcEngine::forget() {
  std::fill(current_.begin(), current_.end(), 0.0);
  modes_.clear();
}

}  // namespace benchward::sim
