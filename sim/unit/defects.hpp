// SPDX-License-Identifier: MIT
#pragma once

/// The defects that are set on a unit, by kind.

#include <array>
#include <optional>
#include <string_view>

namespace benchward::sim {

enum class Defect : int {
  shorted_turn,
  hv_turns_error,
  lv_turns_error,
  reversed_coil,
  tap_step_wrong,
  poor_joint,
  open_winding,
  wrong_conductor,
  core_burrs,
  core_gap,
  core_double_earth,
  leakage_gap,
  stray_high,
  weak_insulation_hv,
  weak_insulation_lv,
  weak_insulation_hv_lv,
  weak_insulation_turn,
  moisture,
  remanence,
  unit_warm,
  wrong_vector_group,
  lead_swap,
  center_tap_off,
  count
};

class Defects {
 public:
  void set(Defect defect, double value) { value_[index(defect)] = value; }
  void clear(Defect defect) { value_[index(defect)].reset(); }
  void clear_all() { value_ = {}; }
  bool has(Defect defect) const { return value_[index(defect)].has_value(); }
  double value(Defect defect, double otherwise = 0.0) const { return value_[index(defect)].value_or(otherwise); }

 private:
  static std::size_t index(Defect defect) { return static_cast<std::size_t>(defect); }
  std::array<std::optional<double>, static_cast<std::size_t>(Defect::count)> value_{};
};

/// The kind of a name in unit_fault_list(); nothing for a name that is none.
std::optional<Defect> defect_named(std::string_view name);

}  // namespace benchward::sim
