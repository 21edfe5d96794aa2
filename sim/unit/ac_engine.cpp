// SPDX-License-Identifier: MIT
#include "ac_engine.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace benchward::sim {
namespace {

using std::numbers::pi;
using std::numbers::sqrt2;
constexpr double least_ohm = 1e-7;
constexpr double leak_siemens = 1e-13;  ///< to earth from every node: nothing in the world hangs quite free
constexpr int cache_size = 6;

Complex times(Complex const& a, Complex const& b) { return Dense<Complex>::multiply(a, b); }
double size_of(Complex const& a) { return std::max(std::abs(a.real()), std::abs(a.imag())); }

Complex branch_admittance(NetworkBranch const& b, double omega) {
  Complex z(b.resistance_ohm, omega * b.inductance_h);
  if (b.capacitance_f > 0.0) z -= Complex(0.0, 1.0 / (omega * b.capacitance_f));
  if (size_of(z) < least_ohm) z = least_ohm;
  return 1.0 / z;
}

/// The summed flux's way back: magnetic tension between the yokes. Linear part per unit of summed flux.
Complex air_return(Design const& d, int index, double omega) {
  return {d.zero_sequence_mmf, d.zero_sequence_loss * Wave::order(index) * omega / (2.0 * pi * d.hz)};
}

template <class A, class B>
bool same_branch(A const& a, B const& b) {
  return a.from == b.from && a.to == b.to && a.resistance_ohm == b.resistance_ohm && a.inductance_h == b.inductance_h;
}

/// Solves a complex system of up to three unknowns.
void solve_small(int n, Complex m[3][3], Complex r[3]) {
  for (int k = 0; k < n; ++k) {
    int best = k;
    for (int i = k + 1; i < n; ++i)
      if (size_of(m[i][k]) > size_of(m[best][k])) best = i;
    if (best != k) {
      for (int c = 0; c < n; ++c) std::swap(m[k][c], m[best][c]);
      std::swap(r[k], r[best]);
    }
    Complex const inverse = 1.0 / m[k][k];
    for (int i = k + 1; i < n; ++i) {
      Complex const f = times(m[i][k], inverse);
      for (int c = k + 1; c < n; ++c) m[i][c] -= times(f, m[k][c]);
      r[i] -= times(f, r[k]);
    }
  }
  for (int k = n - 1; k >= 0; --k) {
    for (int c = k + 1; c < n; ++c) r[k] -= times(m[k][c], r[c]);
    r[k] /= m[k][k];
  }
}

}  // namespace

Complex AcEngine::emf_phasor(NetworkEmf const& emf, int index) const {
  if (index == 0) return emf.volts;
  double const part = index == 1 ? emf.third_harmonic : (index == 2 ? emf.fifth_harmonic : 0.0);
  if (part == 0.0) return 0.0;
  double const size = std::abs(emf.volts);
  if (size == 0.0) return 0.0;
  // A bent wave shifted in time shifts its harmonics by their order.
  return std::polar(part * size, Wave::order(index) * std::arg(emf.volts));
}

Complex AcEngine::coil_impedance(Circuit const& circuit, Design const& design, UnitCondition const& condition,
                                 double frequency_hz, std::size_t coil) const {
  CircuitCoil const& c = circuit.coils[coil];
  double ohm = c.ohm_20 * resistance_factor(c.metal, c.hv ? condition.hv_c : condition.lv_c);
  if (c.stray_weight > 0.0) {
    double const amperes = coil < coil_current_.size() ? std::abs(coil_current_[coil].phasor[0]) : 0.0;
    ohm += c.stray_weight * design.stray.ohm(amperes, frequency_hz, condition.hv_c);
  }
  return {ohm, 2.0 * pi * frequency_hz * c.leakage_h};
}

AcEngine::Prepared& AcEngine::prepare(Network const& network, UnitCondition const& condition, Circuit const& circuit) {
  ++clock_;
  for (Prepared& p : cache_) {
    if (p.revision != condition.revision || p.frequency_hz != network.frequency_hz ||
        p.next_node != network.next_node || p.branches.size() != network.branches.size() ||
        p.emfs.size() != network.emfs.size())
      continue;
    bool same = true;
    for (std::size_t k = 0; same && k < p.branches.size(); ++k)
      same = same_branch(p.branches[k], network.branches[k]) &&
             p.branches[k].capacitance_f == network.branches[k].capacitance_f;
    for (std::size_t k = 0; same && k < p.emfs.size(); ++k) same = same_branch(p.emfs[k], network.emfs[k]);
    if (same) {
      p.used = clock_;
      return p;
    }
  }
  Prepared* slot = nullptr;
  if (cache_.size() < cache_size) {
    cache_.emplace_back();
    slot = &cache_.back();
  } else {
    slot = &*std::min_element(cache_.begin(), cache_.end(),
                              [](Prepared const& a, Prepared const& b) { return a.used < b.used; });
  }
  slot->branches = network.branches;
  slot->emfs = network.emfs;
  slot->frequency_hz = network.frequency_hz;
  slot->revision = condition.revision;
  slot->next_node = network.next_node;
  slot->used = clock_;
  slot->stray_ohm.assign(circuit.coils.size(), -1.0);
  for (Harmonic& h : slot->harmonic) h.ready = false;
  return *slot;
}

void AcEngine::build(Prepared& prepared, int index, Circuit const& circuit, UnitCondition const& condition) {
  Harmonic& h = prepared.harmonic[static_cast<std::size_t>(index)];
  double const hertz = prepared.frequency_hz * Wave::order(index);
  double const omega = 2.0 * pi * hertz;
  int const outer = prepared.next_node;  // nodes 0 .. outer-1, 0 is earth
  int const nodes = outer - 1 + circuit.internal_nodes;
  int const coils = static_cast<int>(circuit.coils.size());
  int const emfs = static_cast<int>(prepared.emfs.size());
  int const size = nodes + coils + emfs;
  auto const row = [&](int node) { return node > 0 ? node - 1 : (node == 0 ? -1 : outer - 2 - node); };

  matrix_.resize(size);
  auto const admit = [&](int a, int b, Complex y) {
    int const ra = row(a), rb = row(b);
    if (ra >= 0) matrix_(ra, ra) += y;
    if (rb >= 0) matrix_(rb, rb) += y;
    if (ra >= 0 && rb >= 0) {
      matrix_(ra, rb) -= y;
      matrix_(rb, ra) -= y;
    }
  };
  for (int n = 0; n < nodes; ++n) matrix_(n, n) += leak_siemens;
  for (CircuitBranch const& b : circuit.branches) admit(b.from, b.to, 1.0 / std::max(b.ohm, least_ohm));
  for (NetworkBranch const& b : prepared.branches) admit(b.from, b.to, branch_admittance(b, omega));
  for (CapacitanceEntry const& c : circuit.capacitances)
    matrix_(row(c.a), row(c.b)) += Complex(condition.loss_tangent * omega * c.farad, omega * c.farad);
  auto const branch_row = [&](int at, int from, int to, Complex impedance) {
    // V(from) - V(to) - z i = right-hand side; i leaves `from` into the branch.
    int const rf = row(from), rt = row(to);
    if (rf >= 0) {
      matrix_(at, rf) += 1.0;
      matrix_(rf, at) += 1.0;
    }
    if (rt >= 0) {
      matrix_(at, rt) -= 1.0;
      matrix_(rt, at) -= 1.0;
    }
    matrix_(at, at) -= impedance;
  };
  for (int k = 0; k < coils; ++k) {
    CircuitCoil const& c = circuit.coils[static_cast<std::size_t>(k)];
    double ohm = c.ohm_20 * resistance_factor(c.metal, c.hv ? condition.hv_c : condition.lv_c);
    if (c.stray_weight > 0.0) {
      double const scale = index == 0 ? 1.0 : std::pow(Wave::order(index), StrayLaw::frequency_exponent);
      ohm += std::max(0.0, prepared.stray_ohm[static_cast<std::size_t>(k)]) * scale;
    }
    branch_row(nodes + k, c.start, c.end, Complex(ohm, omega * c.leakage_h));
  }
  for (int k = 0; k < emfs; ++k) {
    NetworkEmf const& e = prepared.emfs[static_cast<std::size_t>(k)];
    Complex z(e.resistance_ohm, omega * e.inductance_h);
    if (size_of(z) < least_ohm) z = least_ohm;
    // Current delivered at `to`: counted from `from` through the source, V(from) - V(to) - z i = -E.
    branch_row(nodes + coils + k, e.from, e.to, z);
  }
  matrix_.factor();
  h.branch_admittance.clear();
  for (NetworkBranch const& b : prepared.branches) h.branch_admittance.push_back(branch_admittance(b, omega));

  std::size_t const emf_count = static_cast<std::size_t>(emfs), limb_count = static_cast<std::size_t>(limbs_);
  h.from_emf.assign(static_cast<std::size_t>(size) * emf_count, 0.0);
  h.from_limb.assign(static_cast<std::size_t>(size) * limb_count, 0.0);
  h.mmf_from_emf.assign(limb_count * emf_count, 0.0);
  h.mmf_from_limb.assign(limb_count * limb_count, 0.0);
  column_.resize(static_cast<std::size_t>(size));
  for (std::size_t source = 0; source < emf_count + limb_count; ++source) {
    std::fill(column_.begin(), column_.end(), Complex(0.0));
    if (source < emf_count) {
      column_[static_cast<std::size_t>(nodes + coils) + source] = -1.0;
    } else {
      int const limb = static_cast<int>(source - emf_count);
      for (int k = 0; k < coils; ++k)
        if (circuit.coils[static_cast<std::size_t>(k)].limb == limb)
          column_[static_cast<std::size_t>(nodes + k)] = circuit.coils[static_cast<std::size_t>(k)].turns;
    }
    matrix_.solve(column_.data());
    for (int r = 0; r < size; ++r) {
      std::size_t const at = static_cast<std::size_t>(r);
      if (source < emf_count)
        h.from_emf[at * emf_count + source] = column_[at];
      else
        h.from_limb[at * limb_count + (source - emf_count)] = column_[at];
    }
    for (int k = 0; k < coils; ++k) {
      CircuitCoil const& c = circuit.coils[static_cast<std::size_t>(k)];
      Complex const part = c.turns * column_[static_cast<std::size_t>(nodes + k)];
      std::size_t const limb = static_cast<std::size_t>(c.limb);
      if (source < emf_count)
        h.mmf_from_emf[limb * emf_count + source] += part;
      else
        h.mmf_from_limb[limb * limb_count + (source - emf_count)] += part;
    }
  }
  h.ready = true;
}

double AcEngine::residual(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
                          UnitCondition const& condition, Network const& network, bool want_slopes) {
  std::size_t const limbs = static_cast<std::size_t>(limbs_), emfs = network.emfs.size();
  double worst = 0.0, scale = 0.0;
  for (std::size_t l = 0; l < limbs; ++l)
    response_[l] = respond(core[l], flux_[l], omega_, condition.flux_offset[l], condition.core_loss_factor,
                           want_slopes ? &slopes_[l] : nullptr, want_slopes ? &crest_[l] : nullptr);
  FluxWave sum{};
  if (limbs == 3 && (design.zero_sequence_mmf > 0.0 || design.return_limbs))
    for (std::size_t l = 0; l < limbs; ++l)
      for (std::size_t n = 0; n < Wave::harmonic_count; ++n) sum[n] += flux_[l][n];
  FluxWave yoke{};
  if (limbs == 3 && design.return_limbs) {
    CoreLimb back;
    back.curve = design.return_curve;
    FluxWave scaled = sum;
    for (Complex& s : scaled) s /= design.return_area;
    return_response_ = respond(back, scaled, omega_, 0.0, 1.0, want_slopes ? &slopes_[3] : nullptr,
                               want_slopes ? &crest_[3] : nullptr);
    yoke = return_response_.mmf;
  } else if (limbs == 3 && design.zero_sequence_mmf > 0.0) {
    for (int n = 0; n < Wave::harmonic_count; ++n)
      yoke[static_cast<std::size_t>(n)] = air_return(design, n, omega_) * sum[static_cast<std::size_t>(n)];
  }
  for (int n = 0; n < Wave::harmonic_count; ++n) {
    std::size_t const k = static_cast<std::size_t>(n);
    Harmonic const& h = prepared.harmonic[k];
    Complex const volts_a_flux(0.0, Wave::order(n) * omega_ * design.flux_peak_wb);
    for (std::size_t l = 0; l < limbs; ++l) {
      Complex net = 0.0;
      for (std::size_t e = 0; e < emfs; ++e)
        net += times(h.mmf_from_emf[l * emfs + e], sqrt2 * emf_phasor(network.emfs[e], n));
      for (std::size_t m = 0; m < limbs; ++m)
        net += times(times(h.mmf_from_limb[l * limbs + m], volts_a_flux), flux_[m][k]);
      residual_[l][k] = net - response_[l].mmf[k] - yoke[k];
      worst = std::max(worst, size_of(residual_[l][k]));
      if (n == 0) scale = std::max(scale, size_of(response_[l].mmf[k]) + size_of(yoke[k]));
    }
  }
  return scale > 0.0 ? worst / scale : (worst > 0.0 ? 1.0 : 0.0);
}

bool AcEngine::iterate(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
                       UnitCondition const& condition, Network const& network) {
  std::size_t const limbs = static_cast<std::size_t>(limbs_);
  constexpr double good = 1e-6;
  double previous = 1e300;
  for (int round = 0; round < 14; ++round) {
    double const now = residual(prepared, design, core, condition, network, false);
    if (now < good) return true;
    if (!(now < 1e12)) return false;
    if (round > 3 && now > 0.5 * previous) return false;
    previous = now;
    for (int n = 0; n < Wave::harmonic_count; ++n) {
      std::size_t const k = static_cast<std::size_t>(n);
      Harmonic const& h = prepared.harmonic[k];
      Complex const volts_a_flux(0.0, Wave::order(n) * omega_ * design.flux_peak_wb);
      Complex yoke = 0.0;
      if (limbs == 3 && design.return_limbs)
        yoke = return_response_.mean_slope / design.return_area;
      else if (limbs == 3)
        yoke = air_return(design, n, omega_);
      Complex m[3][3], r[3];
      for (std::size_t l = 0; l < limbs; ++l) {
        for (std::size_t c = 0; c < limbs; ++c) m[l][c] = yoke - times(h.mmf_from_limb[l * limbs + c], volts_a_flux);
        m[l][l] += response_[l].mean_slope + eddy_mmf_per_flux(core[l], omega_, n, condition.core_loss_factor);
        if (n == 0) m[l][l] += Complex(response_[l].stiffness, response_[l].loss_force);
        r[l] = residual_[l][k];
      }
      solve_small(limbs_, m, r);
      for (std::size_t l = 0; l < limbs; ++l) flux_[l][k] += r[l];
    }
  }
  return residual(prepared, design, core, condition, network, false) < good;
}

bool AcEngine::newton(Prepared const& prepared, Design const& design, std::array<CoreLimb, 3> const& core,
                      UnitCondition const& condition, Network const& network) {
  constexpr int harmonics = Wave::harmonic_count;
  int const size = 2 * harmonics * limbs_;
  std::size_t const limbs = static_cast<std::size_t>(limbs_);
  double now = residual(prepared, design, core, condition, network, true);
  for (int round = 0; round < 40; ++round) {
    if (now < 1e-6) return true;
    if (!std::isfinite(now)) return false;
    jacobian_.resize(size);
    auto const place = [&](std::size_t l, int n, std::size_t c, int k, Complex of_flux, Complex of_conjugate) {
      // d(mmf) = a dX + b dX*, split into real and imaginary parts.
      int const r = 2 * (static_cast<int>(l) * harmonics + n), q = 2 * (static_cast<int>(c) * harmonics + k);
      jacobian_(r, q) += of_flux.real() + of_conjugate.real();
      jacobian_(r, q + 1) += -of_flux.imag() + of_conjugate.imag();
      jacobian_(r + 1, q) += of_flux.imag() + of_conjugate.imag();
      jacobian_(r + 1, q + 1) += of_flux.real() - of_conjugate.real();
    };
    // Even harmonics of the slope, about the fundamental's crest.
    std::array<std::array<Complex, 2 * harmonics>, 4> slope_harmonic{};
    bool const back = limbs == 3 && design.return_limbs;
    for (std::size_t l = 0; l < 4; ++l) {
      if ((l < 3 && l >= limbs) || (l == 3 && !back)) continue;
      for (int p = 0; p < 2 * harmonics; ++p) {
        Complex sum = 0.0;
        for (int s = 0; s < half_period_samples; ++s) {
          double const angle = 2.0 * p * pi * s / half_period_samples;
          sum += slopes_[l][static_cast<std::size_t>(s)] * Complex(std::cos(angle), -std::sin(angle));
        }
        slope_harmonic[l][static_cast<std::size_t>(p)] =
            sum / static_cast<double>(half_period_samples) * std::polar(1.0, 2.0 * p * crest_[l]);
      }
    }
    auto const d = [&](std::size_t l, int even) {  // of order 2 * even
      Complex const v = slope_harmonic[l][static_cast<std::size_t>(std::abs(even))];
      return even >= 0 ? v : std::conj(v);
    };
    for (int n = 0; n < harmonics; ++n) {
      Harmonic const& h = prepared.harmonic[static_cast<std::size_t>(n)];
      Complex const volts_a_flux(0.0, Wave::order(n) * omega_ * design.flux_peak_wb);
      for (std::size_t l = 0; l < limbs; ++l)
        for (std::size_t c = 0; c < limbs; ++c) {
          Complex own = -times(h.mmf_from_limb[l * limbs + c], volts_a_flux);
          if (limbs == 3 && !back) own += air_return(design, n, omega_);
          if (l == c) {
            own += eddy_mmf_per_flux(core[l], omega_, n, condition.core_loss_factor);
            if (n == 0) own += Complex(response_[l].stiffness, response_[l].loss_force);
          }
          place(l, n, c, n, own, 0.0);
          for (int k = 0; k < harmonics; ++k) {
            if (l == c) place(l, n, c, k, d(l, n - k), d(l, n + k + 1));
            if (back) place(l, n, c, k, d(3, n - k) / design.return_area, d(3, n + k + 1) / design.return_area);
          }
        }
    }
    step_.resize(static_cast<std::size_t>(size));
    for (std::size_t l = 0; l < limbs; ++l)
      for (int n = 0; n < harmonics; ++n) {
        std::size_t const at = 2 * (l * harmonics + static_cast<std::size_t>(n));
        step_[at] = residual_[l][static_cast<std::size_t>(n)].real();
        step_[at + 1] = residual_[l][static_cast<std::size_t>(n)].imag();
      }
    if (!jacobian_.factor()) return false;
    jacobian_.solve(step_.data());
    auto const start = flux_;
    double length = 1.0;
    double next = now;
    for (int cut = 0; cut < 8; ++cut, length *= 0.5) {
      for (std::size_t l = 0; l < limbs; ++l)
        for (int n = 0; n < harmonics; ++n) {
          std::size_t const at = 2 * (l * harmonics + static_cast<std::size_t>(n));
          flux_[l][static_cast<std::size_t>(n)] =
              start[l][static_cast<std::size_t>(n)] + length * Complex(step_[at], step_[at + 1]);
        }
      next = residual(prepared, design, core, condition, network, true);
      if (next < now) break;
    }
    if (!(next < now) && now < 1e-4) return true;  // at the floor of rounding
    now = next;
  }
  return now < 1e-4;
}

void AcEngine::collect(Prepared const& prepared, Circuit const& circuit, Network const& network) {
  std::size_t const emfs = network.emfs.size(), limbs = static_cast<std::size_t>(limbs_);
  std::size_t const nodes = static_cast<std::size_t>(prepared.next_node);
  std::size_t const inner = static_cast<std::size_t>(circuit.internal_nodes);
  std::size_t const coils = circuit.coils.size();
  AcSolution& s = solution_;
  s.node.resize(nodes);
  s.node[0] = Wave{};
  s.emf_current.resize(emfs);
  s.emf_watts.resize(emfs);
  s.branch_current.resize(network.branches.size());
  coil_current_.resize(coils);
  s.limbs = limbs_;
  for (int n = 0; n < Wave::harmonic_count; ++n) {
    std::size_t const k = static_cast<std::size_t>(n);
    Harmonic const& h = prepared.harmonic[k];
    double const omega = omega_ * Wave::order(n);
    emf_now_.resize(emfs);
    Complex limb[3];
    bool const silent = n > 0 && std::all_of(network.emfs.begin(), network.emfs.end(), [&](NetworkEmf const& e) {
                          return e.third_harmonic == 0.0 && e.fifth_harmonic == 0.0;
                        });
    for (std::size_t e = 0; e < emfs; ++e) emf_now_[e] = emf_phasor(network.emfs[e], n);
    for (std::size_t l = 0; l < limbs; ++l) {
      limb[l] = times(Complex(0.0, omega * rated_flux_ / sqrt2), flux_[l][k]);
      s.limb_volts_per_turn[l].phasor[k] = limb[l];
    }
    auto const value = [&](std::size_t row) {
      Complex v = 0.0;
      if (!silent)
        for (std::size_t e = 0; e < emfs; ++e) v += times(h.from_emf[row * emfs + e], emf_now_[e]);
      for (std::size_t l = 0; l < limbs; ++l) v += times(h.from_limb[row * limbs + l], limb[l]);
      return v;
    };
    for (std::size_t node = 1; node < nodes; ++node) s.node[node].phasor[k] = value(node - 1);
    for (std::size_t c = 0; c < coils; ++c) coil_current_[c].phasor[k] = value(nodes - 1 + inner + c);
    for (std::size_t e = 0; e < emfs; ++e) s.emf_current[e].phasor[k] = value(nodes - 1 + inner + coils + e);
    for (std::size_t b = 0; b < network.branches.size(); ++b) {
      NetworkBranch const& br = network.branches[b];
      Complex const v =
          s.node[static_cast<std::size_t>(br.from)].phasor[k] - s.node[static_cast<std::size_t>(br.to)].phasor[k];
      s.branch_current[b].phasor[k] = times(h.branch_admittance[b], v);
    }
  }
  for (std::size_t e = 0; e < emfs; ++e) {
    NetworkEmf const& source = network.emfs[e];
    s.emf_watts[e] = active_power(
        s.node[static_cast<std::size_t>(source.to)] - s.node[static_cast<std::size_t>(source.from)], s.emf_current[e]);
  }
  for (std::size_t l = 0; l < limbs; ++l) s.limb_flux_peak[l] = response_[l].peak;
}

void AcEngine::forget() {
  excited_ = false;
  flux_ = {};
  response_ = {};
  for (Wave& w : coil_current_) w = Wave{};
  for (Wave& w : solution_.node) w = Wave{};
  for (Wave& w : solution_.emf_current) w = Wave{};
  for (Wave& w : solution_.branch_current) w = Wave{};
  for (double& w : solution_.emf_watts) w = 0.0;
  solution_.limb_volts_per_turn = {};
  solution_.limb_flux_peak = {};
}

void AcEngine::solve(Circuit const& circuit, Design const& design, std::array<CoreLimb, 3> const& core,
                     UnitCondition const& condition, Network const& network) {
  limbs_ = design.limbs;
  omega_ = 2.0 * pi * network.frequency_hz;
  rated_flux_ = design.flux_peak_wb;
  Prepared& prepared = prepare(network, condition, circuit);

  auto const stray_at = [&](std::size_t k) {
    CircuitCoil const& c = circuit.coils[k];
    if (c.stray_weight <= 0.0) return 0.0;
    double const amperes = k < coil_current_.size() ? std::abs(coil_current_[k].phasor[0]) : 0.0;
    return c.stray_weight * design.stray.ohm(amperes, network.frequency_hz, condition.hv_c);
  };
  // Stray loss follows the current's own power; matters only where real current flows.
  auto const stray_moved = [&] {
    bool moved = false;
    for (std::size_t k = 0; k < circuit.coils.size(); ++k) {
      if (circuit.coils[k].stray_weight <= 0.0) continue;
      double& stored = prepared.stray_ohm[k];
      double const amperes = k < coil_current_.size() ? std::abs(coil_current_[k].phasor[0]) : 0.0;
      if (stored >= 0.0 && amperes < 0.05 * design.stray.rated_amperes) continue;
      double const now = stray_at(k);
      if (stored < 0.0 || std::abs(now - stored) > 1e-4 * stored) moved = true;
    }
    if (moved)
      for (std::size_t k = 0; k < circuit.coils.size(); ++k) prepared.stray_ohm[k] = stray_at(k);
    return moved;
  };
  stray_moved();
  for (int n = 0; n < Wave::harmonic_count; ++n)
    if (!prepared.harmonic[static_cast<std::size_t>(n)].ready) build(prepared, n, circuit, condition);

  double drive = 0.0;
  for (NetworkEmf const& e : network.emfs) drive = std::max(drive, std::abs(e.volts));
  if (drive == 0.0) {
    flux_ = {};
    response_ = {};
    for (std::size_t l = 0; l < 3; ++l) response_[l].peak = 0.0;
    solution_.converged = true;
    excited_ = false;
    last_drive_ = 0.0;
    collect(prepared, circuit, network);
    return;
  }
  // Sources that only moved a little: the old flux scaled is nearly the answer.
  if (last_drive_ > 0.0 && excited_) {
    double const scale = std::clamp(drive / last_drive_, 0.2, 5.0);
    for (std::size_t l = 0; l < static_cast<std::size_t>(limbs_); ++l)
      for (Complex& f : flux_[l]) f *= scale;
  } else {
    flux_ = {};
  }
  last_drive_ = drive;
  excited_ = true;
  for (int round = 0; round < 3; ++round) {
    auto const start = flux_;
    bool good = iterate(prepared, design, core, condition, network);
    if (!good) {
      flux_ = start;
      bool finite = true;
      for (auto const& wave : start)
        for (Complex const& f : wave) finite = finite && std::isfinite(f.real()) && std::isfinite(f.imag());
      if (!finite) flux_ = {};
      good = newton(prepared, design, core, condition, network);
      if (!good) {
        flux_ = {};
        good = newton(prepared, design, core, condition, network);
      }
    }
    solution_.converged = good;
    collect(prepared, circuit, network);
    if (!stray_moved()) break;
    build(prepared, 0, circuit, condition);
  }
}

}  // namespace benchward::sim
