// SPDX-License-Identifier: MIT
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "internals.hpp"

/// True values at reference conditions, from the design's numbers by closed forms; nothing here solves a network.
namespace benchward::sim {
namespace {

using std::numbers::pi;

struct Truth {
  UnitModel::Internals const& body;
  Design const& d = body.design;
  std::vector<std::pair<std::string, double>> values{};

  void add(std::string name, double value) { values.emplace_back(std::move(name), value); }

  double hv_ohm(CircuitCoil const& c, double celsius_now) const {
    return c.ohm_20 * resistance_factor(c.metal, celsius_now);
  }

  /// Series resistance between a bushing and its winding.
  double series_ohm(int terminal) const {
    double sum = 0.0;
    int at = terminal;
    bool found = true;
    while (found) {
      found = false;
      for (CircuitBranch const& b : body.circuit.branches)
        if (b.from == at && b.to < 0) {
          sum += b.ohm;
          at = b.to;
          found = true;
          break;
        }
    }
    return sum;
  }
  int inner(int terminal) const {
    int at = terminal;
    bool found = terminal > 0;
    while (found) {
      found = false;
      for (CircuitBranch const& b : body.circuit.branches)
        if (b.from == at && b.to < 0) {
          at = b.to;
          found = true;
          break;
        }
    }
    return at;
  }
  std::string name(int terminal) const {
    return terminal == 0 ? "tank" : body.terminals.names[static_cast<std::size_t>(terminal - 1)];
  }

  /// Rated current in the high-voltage coils at the ordered voltage and rated tap; the low-voltage coils balance the
  /// ampere-turns of each limb.
  double ohmic(double celsius_now) const {
    double watts_sum = 0.0;
    double const i = d.hv_coil_amperes;
    std::array<double, 3> limb_mmf{};
    for (CircuitCoil const& c : body.circuit.coils)
      if (c.winding && c.hv) {
        watts_sum += i * i * hv_ohm(c, celsius_now);
        limb_mmf[static_cast<std::size_t>(c.limb)] = std::abs(c.turns) * i;
      }
    for (CircuitCoil const& c : body.circuit.coils) {
      if (!c.winding || c.hv) continue;
      // Half of a zigzag carries its own line's current: 1/sqrt3 of the limb's ampere-turns over its turns.
      double const part = d.group.lv == 'z' ? 1.0 / std::sqrt(3.0) : 1.0 / parts_of(c);
      double const amperes_here = limb_mmf[static_cast<std::size_t>(c.limb)] * part / std::abs(c.turns);
      watts_sum += amperes_here * amperes_here * hv_ohm(c, celsius_now);
    }
    for (bool hv : {true, false}) {
      double const line = hv ? d.hv_line_amperes : d.lv_line_amperes;
      for (int t : hv ? body.terminals.hv_line : body.terminals.lv_line)
        if (t > 0) watts_sum += line * line * series_ohm(t);
    }
    return watts_sum;
  }
  double parts_of(CircuitCoil const& one) const {
    double turns = 0.0;
    for (CircuitCoil const& c : body.circuit.coils)
      if (c.winding && !c.hv && c.limb == one.limb) turns += std::abs(c.turns);
    return turns / std::abs(one.turns);
  }
  double stray(double celsius_now) const {
    double sum = 0.0;
    for (CircuitCoil const& c : body.circuit.coils)
      if (c.winding && c.hv)
        sum +=
            d.hv_coil_amperes * d.hv_coil_amperes * c.stray_weight * d.stray.ohm(d.hv_coil_amperes, d.hz, celsius_now);
    return sum;
  }
  double reactive() const {
    double sum = 0.0;
    double const omega = 2.0 * pi * d.hz, i = d.hv_coil_amperes;
    std::array<double, 3> limb_mmf{};
    for (CircuitCoil const& c : body.circuit.coils)
      if (c.winding && c.hv) {
        sum += i * i * omega * c.leakage_h;
        limb_mmf[static_cast<std::size_t>(c.limb)] = std::abs(c.turns) * i;
      }
    for (CircuitCoil const& c : body.circuit.coils) {
      if (!c.winding || c.hv) continue;
      double const part = d.group.lv == 'z' ? 1.0 / std::sqrt(3.0) : 1.0 / parts_of(c);
      double const amperes_here = limb_mmf[static_cast<std::size_t>(c.limb)] * part / std::abs(c.turns);
      sum += amperes_here * amperes_here * omega * c.leakage_h;
    }
    return sum;
  }

  void losses() {
    // Flux of each limb when its low-voltage coil stands at rated volts with the turns that it has.
    std::array<double, 3> flux{};
    for (std::size_t l = 0; l < static_cast<std::size_t>(d.limbs); ++l) {
      double turns = 0.0, design_turns = 0.0;
      for (CircuitCoil const& c : body.circuit.coils)
        if (c.winding && !c.hv && c.limb == static_cast<int>(l)) {
          turns += std::abs(c.turns);
          design_turns += d.lv_part_turns;
        }
      if (d.group.lv == 'd' && design_turns > d.lv_part_turns) design_turns = d.lv_part_turns;  // the tapped leg
      flux[l] = turns > 0.0 ? design_turns / turns : 1.0;
    }
    Design as_is = d;
    as_is.core = body.core;
    double const iron = core_watts(as_is, body.core_loss_factor, rated_flux(as_is, body.core_loss_factor, flux));
    double const exciting = exciting_percent(as_is, 20.0, body.core_loss_factor, flux);
    double const amperes_here = exciting / 100.0 * d.lv_part_amperes;
    double const copper = d.phases * d.parts * amperes_here * amperes_here * d.lv_part_ohm_20;
    add("no_load_loss_w", iron + copper);
    // What IEC 60076-1 asks for: the core as warm as it stands in the room, corrected to nothing.
    add("no_load_loss_room_w", iron * core_temperature_factor(body.thermal.now.ambient_c) + copper);
    add("exciting_current_percent", exciting);
    add("load_loss_w", ohmic(d.load_reference_c) + stray(d.load_reference_c));
    double const efficiency_c = body.unit.reference.efficiency_load.in(celsius);
    add("load_loss_55c_w", ohmic(efficiency_c) + stray(efficiency_c));
    add("stray_loss_w", stray(d.load_reference_c));
    double const va = d.kva * 1e3;
    add("impedance_percent",
        100.0 * std::hypot(ohmic(d.load_reference_c) + stray(d.load_reference_c), reactive()) / va);
    add("reactance_percent", 100.0 * reactive() / va);
  }

  void ratios() {
    CircuitState state = body.state;
    std::size_t const taps = std::max<std::size_t>(1, body.unit.hv.taps.size());
    for (std::size_t t = 0; t < taps; ++t) {
      int position = 0;
      if (!body.unit.hv.taps.empty()) {
        state.tap_percent_index = static_cast<int>(t);
        position = body.unit.hv.taps[t].position;
      }
      Circuit const circuit = compile(body.unit, d, body.terminals, state);
      for (CircuitCoil const& hv : circuit.coils) {
        if (!hv.winding || !hv.hv) continue;
        double whole = 0.0;
        std::vector<CircuitCoil> lv;
        for (CircuitCoil const& c : circuit.coils)
          if (c.winding && !c.hv && c.limb == hv.limb) {
            lv.push_back(c);
            whole += c.turns;
          }
        for (std::size_t k = 0; k < lv.size(); ++k) {
          if (d.group.lv == 'z') break;
          std::string const pair = coil_pair(hv, lv[k]);
          if (!pair.empty() && lv.size() > 1)
            add(fmt::format("ratio tap {}, {}", position, pair), hv.turns / lv[k].turns);
        }
        if (d.group.lv != 'z' && !lv.empty()) {
          CircuitCoil both = lv.front();
          both.end = lv.back().end;
          std::string const pair = coil_pair(hv, both);
          if (!pair.empty()) add(fmt::format("ratio tap {}, {}", position, pair), hv.turns / whole);
        }
      }
      zigzag_ratios(circuit, position);
      inner_star_ratios(circuit, position);
    }
  }
  /// Star points that are not brought out. Yd: two lines fed, the third limb's low-voltage coil shorted: 2 N/n. Yy:
  /// line pair against line pair, N/n where the two phases have equal coils.
  void inner_star_ratios(Circuit const& circuit, int position) {
    if (d.group.hv != 'Y' || d.group.lv == 'z') return;
    bool const no_pair = body.terminals.hv_neutral < 0 || (d.group.lv == 'y' && body.terminals.lv_neutral < 0);
    if (!no_pair) return;
    std::array<CircuitCoil, 3> hv{}, lv{};
    for (CircuitCoil const& c : circuit.coils)
      if (c.winding) {
        if (c.hv)
          hv[static_cast<std::size_t>(c.limb)] = c;
        else if (c.part == 0)
          lv[static_cast<std::size_t>(c.limb)] = c;
      }
    for (std::size_t p = 0; p < 3; ++p) {
      std::size_t const q = (p + 1) % 3;
      std::string const pair = fmt::format("{}-{}", name(body.terminals.hv_line[static_cast<std::size_t>(hv[p].phase)]),
                                           name(body.terminals.hv_line[static_cast<std::size_t>(hv[q].phase)]));
      if (d.group.lv == 'd') {
        std::string const read = coil_pair(lv[p], lv[p]);
        if (read.empty()) continue;
        // One flux runs up limb p and down limb q.
        add(fmt::format("ratio tap {}, {}:{}", position, pair, read.substr(0, read.find(':'))),
            (hv[p].turns + hv[q].turns) / lv[p].turns);
      } else if (hv[p].turns == hv[q].turns && lv[p].turns == lv[q].turns) {
        add(fmt::format("ratio tap {}, {}:{}-{}", position, pair,
                        name(body.terminals.lv_line[static_cast<std::size_t>(lv[p].phase)]),
                        name(body.terminals.lv_line[static_cast<std::size_t>(lv[q].phase)])),
            hv[p].turns / lv[p].turns);
      }
    }
  }
  /// A zigzag's line to neutral against what links its two limbs.
  void zigzag_ratios(Circuit const& circuit, int position) {
    if (d.group.lv != 'z' || body.terminals.lv_neutral < 0) return;
    for (int p = 0; p < 3; ++p) {
      std::vector<CircuitCoil> halves;
      for (CircuitCoil const& c : circuit.coils)
        if (c.winding && !c.hv && c.phase == p) halves.push_back(c);
      if (halves.size() != 2) continue;
      double turns[3] = {};
      int line[3] = {-1, -1, -1};
      for (CircuitCoil const& c : circuit.coils)
        if (c.winding && c.hv) {
          turns[c.limb] = c.turns;
          line[c.limb] = body.terminals.hv_line[static_cast<std::size_t>(c.phase)];
        }
      int const a = halves[0].limb, b = halves[1].limb;
      std::string const lv = fmt::format("{}-{}", name(body.terminals.lv_line[static_cast<std::size_t>(p)]),
                                         name(body.terminals.lv_neutral));
      if (d.group.hv == 'D') {
        // The line that a limb's coil shares with the other limb's, against the two others tied.
        for (int h = 0; h < 3; ++h) {
          int const end = body.terminals.hv_line[static_cast<std::size_t>(h)];
          double sum = 0.0;
          int joined = 0;
          for (CircuitCoil const& c : circuit.coils) {
            if (!c.winding || !c.hv || (c.limb != a && c.limb != b)) continue;
            if (c.start != inner(end) && c.end != inner(end)) continue;
            ++joined;
            // Volts a turn of a coil fed from this line, signed from its start.
            sum += (c.start == inner(end) ? 1.0 : -1.0) * (c.limb == a ? halves[0].turns : halves[1].turns) / c.turns;
          }
          if (joined == 2 && std::abs(sum) > 0.0) {
            std::string others;
            for (int o = 0; o < 3; ++o)
              if (o != h)
                others += (others.empty() ? "" : "+") + name(body.terminals.hv_line[static_cast<std::size_t>(o)]);
            add(fmt::format("ratio tap {}, {}-{}:{}", position, name(end), others, lv), 1.0 / sum);
          }
        }
      }
      if (d.group.hv == 'Y') {
        // Fed between two star lines: the limbs share the volts, the halves add whatever the share.
        bool const positive = halves[0].turns > 0.0;
        add(fmt::format("ratio tap {}, {}-{}:{}", position, name(line[positive ? a : b]), name(line[positive ? b : a]),
                        lv),
            0.5 * (turns[a] / std::abs(halves[0].turns) + turns[b] / std::abs(halves[1].turns)));
      }
    }
  }
  std::string coil_pair(CircuitCoil const& hv, CircuitCoil const& lv) const {
    auto const outer = [&](int node) -> std::string {
      if (node >= 0) return name(node);
      for (std::size_t n = 0; n < body.terminals.names.size(); ++n)
        if (inner(static_cast<int>(n) + 1) == node) return body.terminals.names[n];
      return "";
    };
    std::string const a = outer(hv.start), b = outer(hv.end), x = outer(lv.start), y = outer(lv.end);
    if (a.empty() || b.empty() || x.empty() || y.empty()) return "";
    return fmt::format("{}-{}:{}-{}", a, b, x, y);
  }

  /// Between two terminals of one side with everything else open, 20 degC: at most three coils in a ring or a star.
  void resistances() {
    for (bool hv : {true, false}) {
      std::vector<int> ends(hv ? body.terminals.hv : body.terminals.lv);
      if (std::find(ends.begin(), ends.end(), 0) == ends.end()) ends.push_back(0);
      for (std::size_t i = 0; i < ends.size(); ++i)
        for (std::size_t k = i + 1; k < ends.size(); ++k) {
          double const ohm = between(hv, ends[i], ends[k]);
          if (std::isfinite(ohm)) add(fmt::format("resistance_ohm {}-{}", name(ends[i]), name(ends[k])), ohm);
        }
    }
  }
  double between(bool hv, int a, int b) const {
    // Walk along the coils: star and single windings have one path, a delta two that are in parallel.
    std::vector<double> paths;
    std::vector<char> used(body.circuit.coils.size(), 0);
    auto const walk = [&](auto const& self, int at, double ohm) -> void {
      if (at == inner(b)) {
        paths.push_back(ohm);
        return;
      }
      for (std::size_t c = 0; c < body.circuit.coils.size(); ++c) {
        CircuitCoil const& coil = body.circuit.coils[c];
        if (used[c] || !coil.winding || coil.hv != hv || (coil.start != at && coil.end != at)) continue;
        used[c] = 1;
        self(self, coil.start == at ? coil.end : coil.start, ohm + coil.ohm_20 * resistance_factor(coil.metal, 20.0));
        used[c] = 0;
      }
    };
    walk(walk, inner(a), 0.0);
    double siemens = 0.0;
    for (double p : paths) siemens += 1.0 / p;
    return siemens > 0.0 ? 1.0 / siemens + series_ohm(a) + series_ohm(b) : INFINITY;
  }
};

}  // namespace

std::vector<std::pair<std::string, double>> UnitModel::Internals::truth() const {
  // The circuit as the switches, the tap and the defects stand; losses and impedance at the rated tap.
  Truth t{*this};
  t.losses();
  t.ratios();
  t.resistances();
  return std::move(t.values);
}

}  // namespace benchward::sim
