// SPDX-License-Identifier: MIT
#include "tests_seq/plan/terminals.hpp"

#include <algorithm>
#include <cmath>

namespace benchward {

namespace {

bool has_bushing(Unit const& unit, std::string const& name) {
  return std::any_of(unit.bushings.begin(), unit.bushings.end(),
                     [&](Bushing const& bushing) { return bushing.name == name; });
}

}  // namespace

UnitTerminals::UnitTerminals(Unit const& unit) : group(parse_vector_group(unit.vector_group)) {
  joined = unit.hv_neutral == NeutralKind::joined;
  if (unit.phases == 1) {
    one_bushing = unit.hv_neutral == NeutralKind::on_tank;
    h_lines = {"H1", one_bushing && !has_bushing(unit, "H2") ? "tank" : "H2"};
    h_bushings = h_lines;
    h_bushings.erase(std::remove(h_bushings.begin(), h_bushings.end(), "tank"), h_bushings.end());
    switch (unit.lv_form) {
      case LowVoltageForm::center_tapped:
        x_lines = {"X1", "X3"};
        x_bushings = {"X1", "X2", "X3"};
        x_middle = "X2";
        break;
      case LowVoltageForm::series_parallel:
        // Halves in series for every test that needs the whole winding: X2 and X3 tied, ends X1 and X4.
        x_lines = {"X1", "X4"};
        x_bushings = {"X1", "X2", "X3", "X4"};
        break;
      case LowVoltageForm::plain:
      case LowVoltageForm::mid_tapped_leg:
        x_lines = {"X1", "X2"};
        x_bushings = {"X1", "X2"};
        break;
    }
  } else {
    h_lines = {"H1", "H2", "H3"};
    x_lines = {"X1", "X2", "X3"};
    h_bushings = h_lines;
    x_bushings = x_lines;
    if (joined) {
      bool const one = has_bushing(unit, "H0X0");
      h_neutral = one ? "H0X0" : "H0";
      x_neutral = one ? "H0X0" : "X0";
      h_bushings.push_back(h_neutral);
      x_bushings.push_back(x_neutral);
    } else {
      if (unit.hv_neutral == NeutralKind::own_bushing) h_bushings.push_back(h_neutral = "H0");
      if (unit.hv_neutral == NeutralKind::on_tank) h_neutral = "tank";
      if (unit.lv_neutral == NeutralKind::own_bushing) x_bushings.push_back(x_neutral = "X0");
      if (unit.lv_neutral == NeutralKind::on_tank) x_neutral = "tank";
    }
    if (unit.lv_form == LowVoltageForm::mid_tapped_leg) {
      x_middle = "X4";
      x_bushings.push_back("X4");
    }
  }
  if (unit.phases == 3) {
    x_earth = x_neutral == "tank" ? "" : !x_neutral.empty() ? x_neutral : x_middle;
  } else {
    x_earth = x_middle;
  }
}

double UnitTerminals::h_line_to_earth() const {
  bool const star_on_earth = group.hv != WindingForm::delta && !h_neutral.empty();
  return group.phases() == 3 && star_on_earth ? 1.0 / std::sqrt(3.0) : 1.0;
}

std::string lead_of(UnitTerminals const& terminals, std::string const& name) {
  if (terminals.one_bushing && name == "H2") return terminals.h_lines[1];
  if (name == "H0" && terminals.h_neutral == "tank") return "tank";
  if (name == "X0" && terminals.x_neutral == "tank") return "tank";
  return name;
}

std::pair<std::string, std::string> ends_of(std::string const& pair) {
  auto const dash = pair.find('-');
  if (dash == std::string::npos) return {pair, ""};
  return {pair.substr(0, dash), pair.substr(dash + 1)};
}

std::string joined_by(std::vector<std::string> const& names, char const* between) {
  std::string text;
  for (auto const& name : names) {
    if (!text.empty()) text += between;
    text += name;
  }
  return text;
}

}  // namespace benchward
