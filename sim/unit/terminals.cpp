// SPDX-License-Identifier: MIT
#include <fmt/format.h>

#include "circuit.hpp"

namespace benchward::sim {
namespace {

bool listed(Unit const& unit, std::string const& name) {
  for (Bushing const& b : unit.bushings)
    if (b.name == name) return true;
  return false;
}

class Table {
 public:
  explicit Table(Unit const& unit) : unit_(unit) {}

  int bushing(std::string const& name, bool hv) {
    table_.names.push_back(name);
    int const node = static_cast<int>(table_.names.size());
    (hv ? table_.hv : table_.lv).push_back(node);
    table_.aliases.emplace_back(name, node);
    // A loop feed's two bushings of a phase are one point.
    table_.aliases.emplace_back(name + "A", node);
    table_.aliases.emplace_back(name + "B", node);
    return node;
  }
  void alias(std::string const& name, int node) { table_.aliases.emplace_back(name, node); }

  TerminalTable single_phase() {
    table_.hv_line[0] = bushing("H1", true);
    table_.hv_line[1] = unit_.hv_neutral == NeutralKind::on_tank ? 0 : bushing("H2", true);
    if (table_.hv_line[1] == 0) alias("H2", 0);
    table_.lv_line[0] = bushing("X1", false);
    switch (unit_.lv_form) {
      case LowVoltageForm::center_tapped:
        table_.middle = bushing("X2", false);
        table_.lv_line[1] = bushing("X3", false);
        break;
      case LowVoltageForm::series_parallel:
        table_.section_end = bushing("X2", false);
        table_.section_start = bushing("X3", false);
        table_.lv_line[1] = bushing("X4", false);
        break;
      default:
        table_.lv_line[1] = unit_.lv_neutral == NeutralKind::on_tank ? 0 : bushing("X2", false);
        if (table_.lv_line[1] == 0) alias("X2", 0);
        break;
    }
    return std::move(table_);
  }

  TerminalTable three_phase(VectorGroup const& group) {
    for (int p = 0; p < 3; ++p) table_.hv_line[static_cast<std::size_t>(p)] = bushing(fmt::format("H{}", p + 1), true);
    bool const joined = unit_.hv_neutral == NeutralKind::joined || unit_.lv_neutral == NeutralKind::joined;
    if (joined) {
      table_.hv_neutral = bushing(listed(unit_, "H0X0") ? "H0X0" : "H0", true);
      alias("H0", table_.hv_neutral);
      alias("H0X0", table_.hv_neutral);
    } else if (group.hv == 'Y') {
      if (unit_.hv_neutral == NeutralKind::on_tank) {
        table_.hv_neutral = 0;
        alias("H0", 0);
      } else if (unit_.hv_neutral == NeutralKind::own_bushing ||
                 (unit_.hv_neutral == NeutralKind::none && group.hv_neutral)) {
        table_.hv_neutral = bushing("H0", true);
      }
    }
    for (int p = 0; p < 3; ++p) table_.lv_line[static_cast<std::size_t>(p)] = bushing(fmt::format("X{}", p + 1), false);
    if (joined) {
      table_.lv_neutral = table_.hv_neutral;
      alias("X0", table_.hv_neutral);
      table_.lv.push_back(table_.hv_neutral);
    } else if (group.lv == 'y' || group.lv == 'z') {
      if (unit_.lv_neutral == NeutralKind::on_tank) {
        table_.lv_neutral = 0;
        alias("X0", 0);
      } else if (unit_.lv_neutral == NeutralKind::own_bushing ||
                 (unit_.lv_neutral == NeutralKind::none && group.lv_neutral)) {
        table_.lv_neutral = bushing("X0", false);
      }
    } else if (unit_.lv_form == LowVoltageForm::mid_tapped_leg) {
      table_.middle = bushing("X4", false);
    }
    return std::move(table_);
  }

 private:
  Unit const& unit_;
  TerminalTable table_;
};

}  // namespace

int TerminalTable::find(std::string_view name) const {
  if (name == "tank" || name == "earth") return 0;
  for (auto const& [known, node] : aliases)
    if (known == name) return node;
  return -1;
}

TerminalTable make_terminals(Unit const& unit, VectorGroup const& group) {
  Table table(unit);
  TerminalTable made = unit.phases == 1 ? table.single_phase() : table.three_phase(group);
  made.aliases.emplace_back("tank", 0);
  return made;
}

}  // namespace benchward::sim
