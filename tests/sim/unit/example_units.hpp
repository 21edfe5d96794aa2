// SPDX-License-Identifier: MIT
#pragma once

/// Invented units, and the usual ways to hang them on a supply.

#include <cmath>
#include <string>
#include <vector>

#include "limits/unit/unit.hpp"
#include "sim/unit/unit_model.hpp"

namespace benchward::sim::examples {

inline constexpr double pi = 3.14159265358979323846;
inline double const root_three = std::sqrt(3.0);

inline Unit single_phase(double kva = 25.0, double hv = 7200.0, double lv = 240.0) {
  Unit u;
  u.serial = "DEMO-1";
  u.phases = 1;
  u.rated_power = kilovolt_amperes(kva);
  u.rated_frequency = hertz(60.0);
  u.vector_group = "Ii0";
  u.core_form = CoreForm::shell;
  u.hv.rated = volts(hv);
  u.lv.rated = volts(lv);
  u.lv_form = LowVoltageForm::center_tapped;
  u.interlaced = true;
  u.guarantees.no_load_loss = watts(66.0);
  u.guarantees.load_loss = watts(285.0);
  u.guarantees.impedance_percent = 2.1;
  u.guarantees.exciting_current_percent = 0.6;
  return u;
}

inline Unit three_phase(std::string const& group, CoreForm form = CoreForm::three_limb, double kva = 500.0,
                        double hv = 12470.0, double lv = 480.0) {
  Unit u;
  u.serial = "DEMO-3";
  u.phases = 3;
  u.rated_power = kilovolt_amperes(kva);
  u.rated_frequency = hertz(60.0);
  u.vector_group = group;
  u.core_form = form;
  u.hv.rated = volts(hv);
  u.lv.rated = volts(lv);
  u.guarantees.no_load_loss = watts(830.0);
  u.guarantees.load_loss = watts(3600.0);
  u.guarantees.impedance_percent = 5.0;
  u.guarantees.exciting_current_percent = 0.6;
  u.hv.has_tap_changer = true;
  u.hv.taps = {{1, 5.0}, {2, 2.5}, {3, 0.0}, {4, -2.5}, {5, -5.0}};
  u.hv.rated_tap = 3;
  return u;
}

/// The two terminals of a single-phase side, outer ones.
inline std::string last_lv(UnitModel const& m) {
  return m.has_terminal("X4") ? "X4" : (m.has_terminal("X3") ? "X3" : "X2");
}

/// Low-voltage side on a supply of these volts (line to line, or the winding's), one earth, high-voltage side open.
inline Network feed_lv(UnitModel const& m, double line_volts, double ohm = 1e-6, double henry = 0.0) {
  Network n = m.network();
  if (m.unit().phases == 1) {
    n.add(NetworkEmf{m.terminal(last_lv(m)), m.terminal("X1"), line_volts, ohm, henry});
    n.tie(m.terminal(m.has_terminal("X2") && last_lv(m) == "X3" ? "X2" : last_lv(m)), earth);
    return n;
  }
  Node const star = m.has_terminal("X0") ? m.terminal("X0") : n.add_node();
  for (int p = 0; p < 3; ++p)
    n.add(NetworkEmf{star, m.terminal("X" + std::to_string(p + 1)),
                     std::polar(line_volts / root_three, -2.0 * pi * p / 3.0), ohm, henry});
  if (star != earth) n.tie(star, earth);
  return n;
}

/// High-voltage side on a supply; what is done to the low-voltage side is the caller's.
inline Network feed_hv(UnitModel const& m, double line_volts, double ohm = 1e-6, double henry = 0.0) {
  Network n = m.network();
  if (m.unit().phases == 1) {
    n.add(NetworkEmf{m.terminal("H2"), m.terminal("H1"), line_volts, ohm, henry});
    return n;
  }
  Node const star = n.add_node();
  for (int p = 0; p < 3; ++p)
    n.add(NetworkEmf{star, m.terminal("H" + std::to_string(p + 1)),
                     std::polar(line_volts / root_three, -2.0 * pi * p / 3.0), ohm, henry});
  n.tie(star, earth);
  return n;
}

inline void short_lv(UnitModel const& m, Network& n, double ohm = 1e-7) {
  if (m.unit().phases == 1) {
    n.tie(m.terminal("X1"), m.terminal(last_lv(m)), ohm);
  } else {
    n.tie(m.terminal("X1"), m.terminal("X2"), ohm);
    n.tie(m.terminal("X2"), m.terminal("X3"), ohm);
  }
  n.tie(m.terminal("X1"), earth);
}

inline double total_watts(AcSolution const& s) {
  double sum = 0.0;
  for (double w : s.emf_watts) sum += w;
  return sum;
}
inline double mean_amperes(AcSolution const& s) {
  double sum = 0.0;
  for (Wave const& w : s.emf_current) sum += w.rms();
  return sum / static_cast<double>(s.emf_current.size());
}
inline void scale_sources(Network& n, double factor) {
  for (NetworkEmf& e : n.emfs) e.volts *= factor;
}

/// Ratio as a ratio meter sees it: volts over volts with one side fed, everything else open.
inline Complex ratio(UnitModel& m, std::string const& h1, std::string const& h2, std::string const& x1,
                     std::string const& x2, double feed_volts) {
  Network n = m.network();
  n.add(NetworkEmf{m.terminal(h2), m.terminal(h1), feed_volts, 1e-3, 0.0});
  AcSolution const& s = m.solve_ac(n);
  return s.between(m.terminal(h1), m.terminal(h2)).fundamental() /
         s.between(m.terminal(x1), m.terminal(x2)).fundamental();
}

}  // namespace benchward::sim::examples
