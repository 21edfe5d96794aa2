// SPDX-License-Identifier: MIT
#include "vector_group.hpp"

#include <fmt/format.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "unit_model.hpp"

namespace benchward::sim {
namespace {

using std::numbers::pi;
using Phasor = std::complex<double>;

WindingEnd line(int phase) { return static_cast<WindingEnd>(((phase % 3) + 3) % 3); }
WindingEnd middle(int phase) { return static_cast<WindingEnd>(4 + ((phase % 3) + 3) % 3); }

/// Line-to-neutral volts of the high-voltage terminals in positive sequence.
Phasor hv_line(int phase) { return std::polar(1.0, -2.0 * pi * phase / 3.0); }

/// Volts of a limb (per turn, any scale): the high-voltage coil l from H_l to the neutral, or to H_{l+step}.
Phasor limb_volts(char hv, int step, int limb) {
  return hv == 'D' ? hv_line(limb) - hv_line(limb + step + 3) : hv_line(limb);
}

/// Line-to-neutral phasor of X1.
Phasor x1_volts(char hv, int hv_step, char lv, int lv_step, int turn, int sign) {
  auto const e = [&](int limb) { return limb_volts(hv, hv_step, (limb + turn + 3) % 3) * static_cast<double>(sign); };
  if (lv == 'y') return e(0);
  if (lv == 'z') return e(0) - e(lv_step + 3);
  // Delta, coil p from X_p to X_{p+step}: V_p - V_{p+step} = e(p) and the sum is zero, so V_0 = (e_0 - e_{-step}) / 3.
  return (e(0) - e(-lv_step + 3)) / 3.0;
}

}  // namespace

VectorGroup parse_vector_group(std::string const& text, int phases) {
  VectorGroup group;
  group.text = text;
  auto const bad = [&](std::string const& why) {
    return UnsolvableUnit(fmt::format("vector group \"{}\": {}", text, why));
  };
  std::size_t at = 0;
  if (text.empty()) throw bad("empty; expected for example Dyn1, YNyn0 or Ii0");
  group.hv = text[at++];
  if (group.hv != 'I' && group.hv != 'Y' && group.hv != 'D')
    throw bad(fmt::format("the high-voltage letter is \"{}\", expected I, Y or D", group.hv));
  if (at < text.size() && text[at] == 'N') {
    group.hv_neutral = true;
    ++at;
  }
  if (at >= text.size()) throw bad("the low-voltage letter is missing");
  group.lv = text[at++];
  if (group.lv != 'i' && group.lv != 'y' && group.lv != 'd' && group.lv != 'z')
    throw bad(fmt::format("the low-voltage letter is \"{}\", expected i, y, d or z", group.lv));
  if (at < text.size() && text[at] == 'n') {
    group.lv_neutral = true;
    ++at;
  }
  if (at >= text.size()) throw bad("the clock number is missing");
  int clock = 0, digits = 0;
  for (; at < text.size(); ++at, ++digits) {
    if (text[at] < '0' || text[at] > '9' || digits == 2) throw bad("the clock number is not 0 to 11");
    clock = clock * 10 + (text[at] - '0');
  }
  if (clock > 11) throw bad(fmt::format("the clock number is {}, expected 0 to 11", clock));
  group.clock = clock;
  bool const single = group.hv == 'I' && group.lv == 'i';
  if (single != (phases == 1) || (group.hv == 'I') != (group.lv == 'i'))
    throw bad(fmt::format("does not fit a unit of {} phase{}", phases, phases == 1 ? "" : "s"));
  if (single && clock != 0 && clock != 6) throw bad("a single-phase unit has clock number 0 or 6");
  if ((group.hv == 'D' && group.hv_neutral) || (group.lv == 'd' && group.lv_neutral))
    throw bad("a delta has no neutral");
  return group;
}

std::vector<CoilPlace> place_coils(VectorGroup const& group, bool halves) {
  std::vector<CoilPlace> coils;
  if (group.hv == 'I') {
    int const sense = group.clock == 6 ? -1 : 1;
    coils.push_back({0, 1, true, 0, 0, WindingEnd::line_1, WindingEnd::line_2});
    if (halves) {
      coils.push_back({0, sense, false, 0, 0, WindingEnd::line_1, WindingEnd::middle_1});
      coils.push_back({0, sense, false, 0, 1, WindingEnd::middle_1, WindingEnd::line_2});
    } else {
      coils.push_back({0, sense, false, 0, 0, WindingEnd::line_1, WindingEnd::line_2});
    }
    return coils;
  }
  for (int turn = 0; turn < 3; ++turn)
    for (int sign : {1, -1})
      for (int hv_step : {-1, 1})
        for (int lv_step : {-1, 1}) {
          if (group.hv == 'Y' && hv_step == 1) continue;
          if (group.lv == 'y' && lv_step == 1) continue;
          Phasor const x1 = x1_volts(group.hv, hv_step, group.lv, lv_step, turn, sign);
          double const hours = -std::arg(x1 / hv_line(0)) / (pi / 6.0);
          if (std::abs(hours - std::round(hours)) > 1e-6) continue;
          if ((static_cast<int>(std::lround(hours)) + 12) % 12 != group.clock) continue;
          for (int l = 0; l < 3; ++l)
            coils.push_back({l, 1, true, l, 0, line(l), group.hv == 'D' ? line(l + hv_step) : WindingEnd::neutral});
          for (int p = 0; p < 3; ++p) {
            int const limb = (p + turn) % 3;
            if (group.lv == 'y') {
              coils.push_back({limb, sign, false, p, 0, line(p), WindingEnd::neutral});
            } else if (group.lv == 'd') {
              coils.push_back({limb, sign, false, p, 0, line(p), line(p + lv_step)});
            } else {
              coils.push_back({limb, sign, false, p, 0, line(p), middle(p)});
              coils.push_back({(p + lv_step + turn + 3) % 3, -sign, false, p, 1, middle(p), WindingEnd::neutral});
            }
          }
          return coils;
        }
  throw UnsolvableUnit(fmt::format("vector group \"{}\": no connection of {} and {} coils has clock number {}",
                                   group.text, group.hv, group.lv, group.clock));
}

}  // namespace benchward::sim
