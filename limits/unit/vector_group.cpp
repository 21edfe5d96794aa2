// SPDX-License-Identifier: MIT
#include "limits/unit/vector_group.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <complex>

namespace benchward {
namespace {

using Phasor = std::complex<double>;
constexpr double pi = 3.14159265358979323846;
constexpr double near_zero = 1e-9;  // the coefficients below are 1/3, 1/sqrt(3), 2/3, 1: anything less is rounding
double const root3 = std::sqrt(3.0);

Phasor at_degrees(double degrees) { return std::polar(1.0, degrees * pi / 180.0); }

/// A voltage between two terminals as a sum over the volts of the three limbs.
struct LimbSum {
  std::array<double, 3> of{};
  friend LimbSum operator-(LimbSum const& a, LimbSum const& b) {
    return {{a.of[0] - b.of[0], a.of[1] - b.of[1], a.of[2] - b.of[2]}};
  }
  friend LimbSum operator*(double factor, LimbSum const& a) {
    return {{factor * a.of[0], factor * a.of[1], factor * a.of[2]}};
  }
  friend double dot(LimbSum const& a, LimbSum const& b) {
    return a.of[0] * b.of[0] + a.of[1] * b.of[1] + a.of[2] * b.of[2];
  }
  bool zero() const { return std::sqrt(dot(*this, *this)) < near_zero; }
  int limbs_linked() const {
    int count = 0;
    for (double const coefficient : of) count += std::abs(coefficient) > near_zero ? 1 : 0;
    return count;
  }
  bool all_positive() const {
    for (double const coefficient : of) {
      if (coefficient < -near_zero) return false;
    }
    return true;
  }
  Phasor in_three_phase(std::array<Phasor, 3> const& limb) const {
    return of[0] * limb[0] + of[1] * limb[1] + of[2] * limb[2];
  }
};

/// Two terminals, 0 = neutral.
struct Pair {
  int from = 0, to = 0;
  Pair reversed() const { return {to, from}; }
};

/// One winding: volts of its pairs in units of its line volts. Of a delta each line pair is a coil; of wye and zigzag
/// the coils end in the neutral.
struct Layout {
  WindingForm form = WindingForm::wye;
  std::array<LimbSum, 3> coil{};  ///< wye, zigzag: k to neutral; delta: k to k+1

  LimbSum volts(Pair const& pair) const {
    if (form == WindingForm::delta) {
      int const from = pair.from - 1;
      return pair.to - 1 == (from + 1) % 3 ? coil[static_cast<std::size_t>(from)]
                                           : -1.0 * coil[static_cast<std::size_t>(pair.to - 1)];
    }
    LimbSum const none{};
    LimbSum const& from = pair.from == 0 ? none : coil[static_cast<std::size_t>(pair.from - 1)];
    LimbSum const& to = pair.to == 0 ? none : coil[static_cast<std::size_t>(pair.to - 1)];
    return from - to;
  }
};

int next(int phase) { return phase % 3 + 1; }
int previous(int phase) { return (phase + 1) % 3 + 1; }
double lag(int phase) { return -120.0 * (phase - 1); }  // positive sequence

/// A coil, or for a zigzag two halves in opposition, whose three-phase volts have the wanted phase.
std::optional<LimbSum> coil_at(double degrees, WindingForm form, std::array<Phasor, 3> const& limb) {
  auto const has_phase = [&](LimbSum const& sum) {
    Phasor const turned = sum.in_three_phase(limb) * std::conj(at_degrees(degrees));
    return turned.real() > near_zero && std::abs(turned.imag()) < near_zero;
  };
  for (std::size_t a = 0; a < 3; ++a) {
    for (std::size_t b = 0; b < 3; ++b) {
      LimbSum sum{};
      if (form == WindingForm::zigzag) {
        if (a == b) continue;
        sum.of[a] = 1.0 / 3.0;
        sum.of[b] = -1.0 / 3.0;
      } else {
        if (b > 1) continue;
        double const size = form == WindingForm::delta ? 1.0 : 1.0 / root3;
        sum.of[a] = b == 0 ? size : -size;
      }
      if (has_phase(sum)) return sum;
    }
  }
  return std::nullopt;
}

struct Arrangement {
  Layout hv, lv;
  std::vector<LimbSum> loops;  ///< closed deltas: their volts sum to zero
};

/// Both windings on the limbs. The limbs' phasors follow from the high-voltage winding.
std::optional<Arrangement> arrange(VectorGroup const& group) {
  double const limb_phase = group.hv == WindingForm::delta ? 30.0 : group.hv == WindingForm::zigzag ? -30.0 : 0.0;
  std::array<Phasor, 3> const limb{at_degrees(limb_phase), at_degrees(limb_phase - 120.0),
                                   at_degrees(limb_phase - 240.0)};
  Arrangement arrangement;
  auto const lay = [&](WindingForm form, double lagging, Layout& layout) {
    layout.form = form;
    for (int phase = 1; phase <= 3; ++phase) {
      // A line pair k to k+1 leads the phase k by 30 degrees.
      double const degrees = lag(phase) - lagging + (form == WindingForm::delta ? 30.0 : 0.0);
      auto const coil = coil_at(degrees, form, limb);
      if (!coil) return false;
      layout.coil[static_cast<std::size_t>(phase - 1)] = *coil;
    }
    if (form == WindingForm::delta) {
      LimbSum const opposed = -1.0 * layout.coil[2];
      arrangement.loops.push_back(layout.coil[0] - (-1.0 * layout.coil[1]) - opposed);
    }
    return true;
  };
  if (!lay(group.hv, 0.0, arrangement.hv)) return std::nullopt;
  if (!lay(group.lv, group.displacement_degrees(), arrangement.lv)) return std::nullopt;
  return arrangement;
}

/// Fed volts over read volts where the conditions (each sum zero) fix it and the two are in phase.
std::optional<double> fixed_ratio(LimbSum fed, LimbSum read, std::vector<LimbSum> const& conditions) {
  std::vector<LimbSum> basis;
  auto const project = [&](LimbSum sum) {
    for (auto const& axis : basis) sum = sum - dot(sum, axis) * axis;
    return sum;
  };
  for (auto const& condition : conditions) {
    LimbSum const rest = project(condition);
    if (!rest.zero()) basis.push_back(1.0 / std::sqrt(dot(rest, rest)) * rest);
  }
  fed = project(fed);
  read = project(read);
  if (fed.zero() || read.zero()) return std::nullopt;
  double const share = dot(read, fed) / dot(fed, fed);
  if (share <= near_zero || !(read - share * fed).zero()) return std::nullopt;
  return 1.0 / share;
}

std::string name(char side, Pair const& pair) { return fmt::format("{0}{1}-{0}{2}", side, pair.from, pair.to); }

/// Searches the measurement of one low-voltage phase: plain pair first, then a shorted coil on a limb that is not fed,
/// then two tied terminals; the simpler connection wins.
class PairSearch {
 public:
  PairSearch(Arrangement const& arrangement, VectorGroup const& group) : arrangement_(arrangement) {
    if (group.hv_neutral && group.hv != WindingForm::delta) {
      for (int k = 1; k <= 3; ++k) fed_.push_back({k, 0});
      for (int k = 1; k <= 3; ++k) fed_.push_back({0, k});
    }
    for (int k = 1; k <= 3; ++k) fed_.push_back({k, next(k)});
    for (int k = 1; k <= 3; ++k) fed_.push_back({next(k), k});
  }

  std::optional<PhasePair> find(std::vector<Pair> const& read_candidates, int phase) const {
    for (auto const search : {&PairSearch::plain, &PairSearch::with_short, &PairSearch::with_tie}) {
      for (auto const& read : read_candidates) {
        if (auto found = (this->*search)(read)) {
          found->lv = name('X', read);
          found->phase = phase;
          return found;
        }
      }
    }
    return std::nullopt;
  }

 private:
  std::optional<PhasePair> plain(Pair const& read) const {
    for (auto const& fed : fed_) {
      auto const ratio = fixed_ratio(arrangement_.hv.volts(fed), arrangement_.lv.volts(read), arrangement_.loops);
      if (ratio) return pair(fed, *ratio);
    }
    return std::nullopt;
  }

  std::optional<PhasePair> with_short(Pair const& read) const {
    for (auto const& fed : fed_) {
      for (int k = 1; k <= 3; ++k) {
        Pair const shorted{k, next(k)};
        LimbSum const coil = arrangement_.lv.volts(shorted);
        LimbSum const feed = arrangement_.hv.volts(fed);
        if (coil.limbs_linked() != 1 || std::abs(dot(coil, feed)) > near_zero) continue;
        auto conditions = arrangement_.loops;
        conditions.push_back(coil);
        if (auto const ratio = fixed_ratio(feed, arrangement_.lv.volts(read), conditions)) {
          auto found = pair(fed, *ratio);
          found.shorted = name('X', shorted);
          return found;
        }
      }
    }
    return std::nullopt;
  }

  /// Of the possible ties the one with most volts on the read pair: Dz6 is fed H2+H3 against H1, not H2 against H1+H3.
  std::optional<PhasePair> with_tie(Pair const& read) const {
    std::optional<PhasePair> best;
    for (bool const reversed : {false, true}) {
      for (int single = 1; single <= 3; ++single) {
        Pair const tied{std::min(next(single), previous(single)), std::max(next(single), previous(single))};
        Pair const fed = reversed ? Pair{tied.from, single} : Pair{single, tied.from};
        auto conditions = arrangement_.loops;
        conditions.push_back(arrangement_.hv.volts(tied));
        auto const ratio = fixed_ratio(arrangement_.hv.volts(fed), arrangement_.lv.volts(read), conditions);
        if (!ratio || (best && *ratio > best->factor - near_zero)) continue;
        auto found = pair(fed, *ratio);
        found.feed = reversed ? fmt::format("H{}+H{}-H{}", tied.from, tied.to, single)
                              : fmt::format("H{}-H{}+H{}", single, tied.from, tied.to);
        best = found;
      }
    }
    return best;
  }

  static PhasePair pair(Pair const& fed, double ratio) {
    PhasePair found;
    found.hv = name('H', fed);
    found.factor = ratio;
    return found;
  }

  Arrangement const& arrangement_;
  std::vector<Pair> fed_;
};

WindingForm form_of(char letter, std::string_view notation) {
  switch (letter) {
    case 'D':
    case 'd':
      return WindingForm::delta;
    case 'Y':
    case 'y':
      return WindingForm::wye;
    case 'Z':
    case 'z':
      return WindingForm::zigzag;
    case 'I':
    case 'i':
      return WindingForm::single;
    default:
      break;
  }
  throw VectorGroupError(
      fmt::format("vector group \"{}\": '{}' is no winding connection (D, Y, Z or I)", notation, letter));
}

/// Volts of the winding's line pair that one turn in series per phase stands for, times the turns: D and I 1,
/// Y 1/sqrt(3), Z 2/3 (each half, of half the turns, has a third of the line volts).
double line_volts_share(WindingForm form) {
  switch (form) {
    case WindingForm::wye:
      return 1.0 / root3;
    case WindingForm::zigzag:
      return 2.0 / 3.0;
    case WindingForm::single:
    case WindingForm::delta:
      break;
  }
  return 1.0;
}

}  // namespace

VectorGroup parse_vector_group(std::string_view notation) {
  auto const fail = [&](std::string const& what) -> VectorGroupError {
    return VectorGroupError(fmt::format("vector group \"{}\": {}", notation, what));
  };
  std::string_view rest = notation;
  auto const take = [&](bool capital) {
    if (rest.empty()) throw fail("too short; expected for example Dyn1 or Ii0");
    char const letter = rest.front();
    if ((letter >= 'A' && letter <= 'Z') != capital) {
      throw fail("the high-voltage winding has a capital letter and comes first, the low-voltage winding a small one");
    }
    rest.remove_prefix(1);
    return form_of(letter, notation);
  };
  auto const take_neutral = [&](char letter) {
    if (rest.empty() || rest.front() != letter) return false;
    rest.remove_prefix(1);
    return true;
  };
  VectorGroup group;
  group.hv = take(true);
  group.hv_neutral = take_neutral('N');
  group.lv = take(false);
  group.lv_neutral = take_neutral('n');
  if ((group.hv_neutral && (group.hv == WindingForm::delta || group.hv == WindingForm::single)) ||
      (group.lv_neutral && (group.lv == WindingForm::delta || group.lv == WindingForm::single))) {
    throw fail("only a wye or a zigzag has a neutral");
  }
  auto const [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), group.clock);
  if (error != std::errc() || end != rest.data() + rest.size() || group.clock < 0 || group.clock > 11) {
    throw fail(fmt::format("expected a clock number 0 to 11 at the end, got \"{}\"", rest));
  }
  if ((group.hv == WindingForm::single) != (group.lv == WindingForm::single)) {
    throw fail("one side is single-phase, the other is not");
  }
  if (group.phases() == 1) {
    if (group.clock != 0 && group.clock != 6) throw fail("a single-phase unit has clock number 0 or 6");
    return group;
  }
  if (!arrange(group)) {
    throw fail(fmt::format("no arrangement of these windings has clock number {}; {} numbers are possible", group.clock,
                           group.clock % 2 == 0 ? "odd" : "even"));
  }
  return group;
}

std::vector<PhasePair> phase_pairs(VectorGroup const& group, bool zigzag_neutral_reachable) {
  if (group.phases() == 1) {
    PhasePair pair;
    pair.lv = "X1-X2";
    pair.hv = group.clock == 0 ? "H1-H2" : "H2-H1";
    return {pair};
  }
  auto const arrangement = arrange(group);
  if (!arrangement) throw VectorGroupError("no arrangement of these windings has this clock number");
  PairSearch const search(*arrangement, group);
  bool const to_neutral = group.lv_neutral || (group.lv == WindingForm::zigzag && zigzag_neutral_reachable);
  std::vector<PhasePair> pairs;
  for (int phase = 1; phase <= 3; ++phase) {
    std::optional<PhasePair> found;
    if (to_neutral) found = search.find({{phase, 0}}, phase);
    if (!found) {
      std::vector<Pair> candidates{{phase, next(phase)}, {phase, previous(phase)}};
      // Of a delta, the coil in phase with its limb first: Yd11 is read X1-X3 when H1-H2 is fed.
      if (!arrangement->lv.volts(candidates[0]).all_positive() && arrangement->lv.volts(candidates[1]).all_positive()) {
        std::swap(candidates[0], candidates[1]);
      }
      found = search.find(candidates, phase);
    }
    if (!found) throw VectorGroupError(fmt::format("no single-phase measurement fixes the ratio of phase {}", phase));
    pairs.push_back(*found);
  }
  return pairs;
}

std::map<std::string, double> phase_check_volts(VectorGroup const& group, double lv_over_hv, int tied_phase) {
  std::array<Phasor, 3> h, x;
  for (int phase = 1; phase <= 3; ++phase) {
    auto const k = static_cast<std::size_t>(phase - 1);
    h[k] = at_degrees(lag(phase)) / root3;  // line volts are 1
    x[k] = lv_over_hv * at_degrees(lag(phase) - group.displacement_degrees()) / root3;
  }
  auto const tie = static_cast<std::size_t>(tied_phase - 1);
  Phasor const shift = h[tie] - x[tie];
  std::map<std::string, double> volts{{"H1-H2", std::abs(h[0] - h[1])}};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      if (i == tie || j == tie) continue;
      volts[fmt::format("H{}-X{}", i + 1, j + 1)] = std::abs(h[i] - (x[j] + shift));
    }
  }
  return volts;
}

double pair_ratio_from_turns(VectorGroup const& group, PhasePair const& pair, double hv_turns, double lv_turns) {
  return pair.factor * (hv_turns / line_volts_share(group.hv)) / (lv_turns / line_volts_share(group.lv));
}

}  // namespace benchward
