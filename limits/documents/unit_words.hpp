// SPDX-License-Identifier: MIT
#pragma once

/// The words of the unit document and what they stand for: one list for reader and writer.

#include <array>
#include <string_view>
#include <utility>

#include "../unit/unit.hpp"

namespace benchward::words {

template <class Value, std::size_t N>
using List = std::array<std::pair<std::string_view, Value>, N>;

inline constexpr List<Metal, 2> metals{{{"copper", Metal::copper}, {"aluminum", Metal::aluminum}}};

inline constexpr List<LeadPlacement, 2> lead_placements{
    {{"additive", LeadPlacement::additive}, {"subtractive", LeadPlacement::subtractive}}};

inline constexpr List<Construction, 3> constructions{{{"pad_mounted", Construction::pad_mounted},
                                                      {"submersible", Construction::submersible},
                                                      {"overhead", Construction::overhead}}};

inline constexpr List<CoreForm, 4> core_forms{{{"three_limb", CoreForm::three_limb},
                                               {"five_limb", CoreForm::five_limb},
                                               {"shell", CoreForm::shell},
                                               {"three_single_cores", CoreForm::three_single_cores}}};

inline constexpr List<StandardFamily, 2> standards{{{"ieee", StandardFamily::ieee}, {"iec", StandardFamily::iec}}};

inline constexpr List<LowVoltageForm, 4> lv_forms{{{"plain", LowVoltageForm::plain},
                                                   {"center_tapped", LowVoltageForm::center_tapped},
                                                   {"series_parallel", LowVoltageForm::series_parallel},
                                                   {"mid_tapped_leg", LowVoltageForm::mid_tapped_leg}}};

inline constexpr List<NeutralKind, 5> neutral_kinds{{{"none", NeutralKind::none},
                                                     {"own_bushing", NeutralKind::own_bushing},
                                                     {"joined", NeutralKind::joined},
                                                     {"on_tank", NeutralKind::on_tank},
                                                     {"inner", NeutralKind::inner}}};

inline constexpr List<std::string_view, 6> bushing_kinds{{{"well", "well"},
                                                          {"dead_front", "dead_front"},
                                                          {"live_front", "live_front"},
                                                          {"porcelain", "porcelain"},
                                                          {"spade", "spade"},
                                                          {"stud", "stud"}}};

/// The word that stands for a value.
template <class Value, std::size_t N>
constexpr std::string_view word_of(List<Value, N> const& list, Value value) {
  for (auto const& entry : list) {
    if (entry.second == value) return entry.first;
  }
  return {};
}

}  // namespace benchward::words
