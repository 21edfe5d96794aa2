// SPDX-License-Identifier: MIT
#include "limits/documents/unit_checks.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "limits/documents/document_error.hpp"
#include "limits/unit/vector_group.hpp"

namespace benchward {
namespace {

struct Checker {
  Unit const& unit;
  std::string const& document;
  VectorGroup group{};
  std::set<std::string> terminals{};  ///< that this unit may have

  [[noreturn]] void fail(std::string const& id, std::string const& path, std::string const& message) const {
    throw DocumentError(id, document, path, message);
  }

  void vector_group() {
    try {
      group = parse_vector_group(unit.vector_group);
    } catch (VectorGroupError const& error) {
      fail("unit.vector-group", "/vector_group", error.what());
    }
    if (group.phases() != unit.phases) {
      fail("unit.phases", "/vector_group",
           fmt::format("\"{}\" is a group of {} phase(s), but `phases` is {}", unit.vector_group, group.phases(),
                       unit.phases));
    }
    if (unit.phases == 1 && (unit.core_form == CoreForm::three_limb || unit.core_form == CoreForm::five_limb ||
                             unit.core_form == CoreForm::three_single_cores)) {
      fail("unit.phases", "/core_form", "a single-phase unit has a \"shell\" core here (wound or stacked)");
    }
    if (unit.phases == 3 && unit.core_form == CoreForm::shell) {
      fail("unit.phases", "/core_form",
           "expected \"three_limb\", \"five_limb\" or \"three_single_cores\" for a three-phase unit, got \"shell\"");
    }
  }

  void neutral_of(char const* key, NeutralKind kind, WindingForm form, bool brought_out) const {
    auto const path = std::string("/") + key;
    switch (form) {
      case WindingForm::single:
        if (kind != NeutralKind::none && (kind != NeutralKind::on_tank || key != std::string("hv_neutral"))) {
          fail(
              "unit.neutral", path,
              "a single-phase winding has \"none\" (both ends on bushings), on the high-voltage side also \"on_tank\"");
        }
        return;
      case WindingForm::delta:
        if (kind != NeutralKind::none) fail("unit.neutral", path, "a delta has no neutral: expected \"none\"");
        return;
      case WindingForm::wye:
      case WindingForm::zigzag:
        if (brought_out && (kind == NeutralKind::none || kind == NeutralKind::inner)) {
          fail("unit.neutral", path,
               fmt::format("by \"{}\" this neutral is brought out: expected \"own_bushing\", \"joined\" or \"on_tank\"",
                           unit.vector_group));
        }
        if (!brought_out && kind != NeutralKind::inner) {
          fail("unit.neutral", path,
               fmt::format("by \"{}\" this star point is not brought out: expected \"inner\", or write the group with "
                           "its neutral (YN, yn, ZN, zn)",
                           unit.vector_group));
        }
        return;
    }
  }

  void neutrals() const {
    neutral_of("hv_neutral", unit.hv_neutral, group.hv, group.hv_neutral);
    neutral_of("lv_neutral", unit.lv_neutral, group.lv, group.lv_neutral);
    if ((unit.hv_neutral == NeutralKind::joined) != (unit.lv_neutral == NeutralKind::joined)) {
      fail("unit.neutral", unit.hv_neutral == NeutralKind::joined ? "/lv_neutral" : "/hv_neutral",
           "a joined neutral joins both sides: both are \"joined\" or neither is");
    }
    if (unit.neutral_insulation_kv && unit.hv_neutral != NeutralKind::own_bushing) {
      fail("unit.neutral", "/neutral_insulation_kv", "only a high-voltage neutral on its own bushing has it");
    }
  }

  void taps() const {
    auto const& hv = unit.hv;
    if (hv.taps.empty()) {
      if (hv.has_tap_changer) fail("unit.tap-missing", "/hv/taps", "a tap changer, but no taps: list them");
      return;
    }
    std::set<int> positions;
    for (std::size_t i = 0; i < hv.taps.size(); ++i) {
      auto const at = fmt::format("/hv/taps/{}", i);
      if (!positions.insert(hv.taps[i].position).second) {
        fail("unit.taps-order", at + "/position", fmt::format("position {} stands twice", hv.taps[i].position));
      }
      if (i > 0 && !(hv.taps[i].percent < hv.taps[i - 1].percent)) {
        fail("unit.taps-order", at + "/percent",
             fmt::format("taps must fall strictly from most turns to fewest: {} does not lie below {}",
                         hv.taps[i].percent, hv.taps[i - 1].percent));
      }
    }
    auto const rated =
        std::find_if(hv.taps.begin(), hv.taps.end(), [&](Tap const& tap) { return tap.position == hv.rated_tap; });
    if (rated == hv.taps.end()) {
      fail("unit.tap-missing", "/hv/rated_tap", fmt::format("position {} is not in the list `taps`", hv.rated_tap));
    }
    if (rated->percent < 0.0 || rated->percent > 0.0) {
      fail("unit.rated-tap", "/hv/rated_tap",
           fmt::format("position {} is {} % of rated volts off; the rated tap is the one of 0 %", hv.rated_tap,
                       rated->percent));
    }
  }

  void voltages() const {
    if (unit.lv.rated > unit.hv.rated) {
      fail("unit.voltages", "/lv/rated_v", "above the high-voltage side's rated volts; are the two sides exchanged?");
    }
    if (auto const& dual = unit.hv.dual) {
      if (!(dual->lower < dual->higher)) {
        fail("unit.voltages", "/hv/dual_voltage/lower_v", "expected less than `higher_v`");
      }
      auto const ordered = dual->ordered_position == 1 ? dual->higher : dual->lower;
      if (ordered < unit.hv.rated || unit.hv.rated < ordered) {
        fail("unit.voltages", "/hv/rated_v",
             fmt::format("expected the ordered voltage of `dual_voltage`, {} V, got {} V", ordered.in(volts),
                         unit.hv.rated.in(volts)));
      }
      std::string const other = dual->ordered_position == 1 ? "2" : "1";
      for (std::size_t i = 0; i < unit.switches.size(); ++i) {
        if (unit.switches[i].shipped_state == other) {
          fail("unit.voltages", fmt::format("/switches/{}/shipped_state", i),
               fmt::format("ships in position {}, the ordered position of `dual_voltage` is {}", other,
                           dual->ordered_position));
        }
      }
    }
    if (unit.lv.bil_kv && unit.hv.bil_kv && *unit.lv.bil_kv > *unit.hv.bil_kv) {
      fail("unit.voltages", "/lv/bil_kv", "above the high-voltage side's; are the two sides exchanged?");
    }
  }

  /// Volts of one phase's turns in series, per turn of the side: what whole turns must agree on.
  static double phase_volts(WindingForm form, double rated_v) {
    switch (form) {
      case WindingForm::single:
      case WindingForm::delta:
        return rated_v;
      case WindingForm::wye:
        return rated_v / std::sqrt(3.0);
      case WindingForm::zigzag:
        return rated_v * 2.0 / 3.0;  // both halves in series; 60 degrees between their volts
    }
    return rated_v;
  }

  void turns() const {
    // A winding of parallel sections is rated for one of its two connections: its turns say nothing of the ratio here.
    if (!unit.hv.turns || !unit.lv.turns || unit.lv_form == LowVoltageForm::series_parallel) return;
    double const by_turns = static_cast<double>(*unit.hv.turns) / *unit.lv.turns;
    double const by_volts =
        phase_volts(group.hv, unit.hv.rated.in(volts)) / phase_volts(group.lv, unit.lv.rated.in(volts));
    double const error = by_turns / by_volts - 1.0;
    // The nearest whole low-voltage turn is at most half a turn off; half a percent where turns are many.
    double const allowed = std::max(0.005, 0.5 / *unit.lv.turns);
    if (!(std::abs(error) <= allowed)) {
      fail("unit.turns", "/hv/turns",
           fmt::format("{} to {} turns are a ratio of {:.4f}, the volts of the rating plate one of {:.4f}: {:+.2f} %, "
                       "more than the nearest whole turn explains",
                       *unit.hv.turns, *unit.lv.turns, by_turns, by_volts, 100.0 * error));
    }
  }

  void applied() const {
    auto const& kv = unit.hv.applied_kv;
    if (kv && unit.hv_neutral == NeutralKind::on_tank) {
      fail("unit.applied-impossible", "/hv/applied_kv",
           "one end of this winding is on the tank: it cannot be lifted from earth, so it has no applied-voltage test; "
           "the induced test to earth takes its place");
    }
    if (unit.hv_neutral == NeutralKind::joined && (kv || unit.lv.applied_kv)) {
      fail("unit.applied-impossible", kv ? "/hv/applied_kv" : "/lv/applied_kv",
           "the neutrals of both sides are joined: neither winding can be tested against the other");
    }
    if (unit.lv.applied_kv && unit.lv_neutral == NeutralKind::on_tank) {
      fail("unit.applied-impossible", "/lv/applied_kv", "this winding's neutral is on the tank: it cannot be lifted");
    }
    if (kv && unit.hv_neutral == NeutralKind::own_bushing &&
        (!unit.neutral_insulation_kv || *unit.neutral_insulation_kv < *kv)) {
      fail("unit.applied-impossible", "/hv/applied_kv",
           "the whole winding sees this level, its neutral too: give `neutral_insulation_kv` of at least as much, or "
           "the level that the neutral bears");
    }
  }

  void lv_form() const {
    if (unit.lv_form == LowVoltageForm::mid_tapped_leg && group.lv != WindingForm::delta) {
      fail("unit.lv-form", "/lv_form", "\"mid_tapped_leg\" is a low-voltage delta with a tap in one leg");
    }
    if ((unit.lv_form == LowVoltageForm::center_tapped || unit.lv_form == LowVoltageForm::series_parallel) &&
        unit.phases != 1) {
      fail("unit.lv-form", "/lv_form", "only a single-phase unit is \"center_tapped\" or \"series_parallel\"");
    }
    if (unit.interlaced && unit.lv_form != LowVoltageForm::center_tapped &&
        unit.lv_form != LowVoltageForm::series_parallel) {
      fail("unit.lv-form", "/interlaced", "only low-voltage halves are interlaced");
    }
  }

  /// Terminals that the connection needs, and those that it may have besides.
  void bushings() {
    std::set<std::string> needed{"H1", "X1", "X2"};
    std::set<std::string> possible;
    if (unit.phases == 1) {
      (unit.hv_neutral == NeutralKind::on_tank ? possible : needed).insert("H2");
      if (unit.lv_form != LowVoltageForm::plain) needed.insert("X3");
      if (unit.lv_form == LowVoltageForm::series_parallel) needed.insert("X4");
    } else {
      needed.insert({"H2", "H3", "X3"});
      if (unit.hv_neutral == NeutralKind::own_bushing) needed.insert("H0");
      if (unit.lv_neutral == NeutralKind::own_bushing) needed.insert("X0");
      if (unit.hv_neutral == NeutralKind::joined) possible.insert({"H0X0", "H0", "X0"});
      if (unit.hv_neutral == NeutralKind::on_tank) possible.insert("H0");
      if (unit.lv_neutral == NeutralKind::on_tank) possible.insert("X0");
      if (unit.lv_form == LowVoltageForm::mid_tapped_leg) needed.insert("X4");
    }
    terminals = needed;
    terminals.insert(possible.begin(), possible.end());
    std::set<std::string> seen;
    for (std::size_t i = 0; i < unit.bushings.size(); ++i) {
      auto const& name = unit.bushings[i].name;
      auto const at = fmt::format("/bushings/{}/name", i);
      if (!seen.insert(name).second) fail("unit.bushings", at, fmt::format("\"{}\" stands twice", name));
      if (!terminals.contains(name)) {
        fail("unit.bushings", at,
             fmt::format("this unit has no terminal \"{}\"; it has {}", name, fmt::join(terminals, ", ")));
      }
    }
    for (auto const& name : needed) {
      if (!seen.contains(name)) fail("unit.bushings", "/bushings", fmt::format("terminal \"{}\" is missing", name));
    }
    if (unit.hv_neutral == NeutralKind::joined && !seen.contains("H0X0") &&
        !(seen.contains("H0") && seen.contains("X0"))) {
      fail("unit.bushings", "/bushings", "the joined neutral is missing: \"H0X0\", or \"H0\" and \"X0\" joined inside");
    }
  }

  void accessories() const {
    auto const check = [&](std::vector<Accessory> const& list, char const* key, bool at_terminal) {
      for (std::size_t i = 0; i < list.size(); ++i) {
        auto const at = fmt::format("/{}/{}/terminal", key, i);
        auto const& terminal = list[i].terminal;
        if (terminal.empty() && !at_terminal) continue;
        if (!terminals.contains(terminal)) {
          fail("unit.accessory", at,
               fmt::format("expected a terminal of this unit ({}), got \"{}\"", fmt::join(terminals, ", "), terminal));
        }
      }
    };
    check(unit.straps, "straps", true);
    check(unit.arresters, "arresters", true);
    check(unit.fuses, "fuses", true);
    check(unit.switches, "switches", false);
    for (auto const* list : {&unit.straps, &unit.arresters}) {
      for (std::size_t i = 0; i < list->size(); ++i) {
        auto const& state = (*list)[i].shipped_state;
        if (state != "on" && state != "off") {
          fail("unit.accessory", fmt::format("/{}/{}/shipped_state", list == &unit.straps ? "straps" : "arresters", i),
               fmt::format("expected \"on\" or \"off\", got \"{}\"", state));
        }
      }
    }
  }

  void options() const {
    static constexpr char const* known[] = {"before_closing", "before_shipping", "routine"};
    std::size_t last = 0;
    auto const& stages = unit.options.stages;
    for (std::size_t i = 0; i < stages.size(); ++i) {
      auto const at = fmt::format("/options/stages/{}", i);
      auto const found = std::find(std::begin(known), std::end(known), stages[i]);
      if (found == std::end(known)) {
        fail("unit.options", at,
             fmt::format("expected \"before_closing\", \"before_shipping\" or \"routine\", got \"{}\"", stages[i]));
      }
      auto const rank = static_cast<std::size_t>(found - std::begin(known)) + 1;
      if (rank <= last) fail("unit.options", at, "stages stand once each, \"before_closing\" first");
      if (stages[i] == "routine" && stages.size() > 1) {
        fail("unit.options", at, "\"routine\" is one run for the whole unit: it stands alone");
      }
      last = rank;
    }
    auto const& percents = unit.options.no_load_percents;
    if (std::none_of(percents.begin(), percents.end(), [](double p) { return p >= 100.0 && p <= 100.0; })) {
      fail("unit.options", "/options/no_load_percents",
           "100 % of rated volts must be among them: the losses are judged there");
    }
  }

  void all() {
    vector_group();
    neutrals();
    lv_form();
    voltages();
    taps();
    turns();
    applied();
    bushings();
    accessories();
    options();
  }
};

}  // namespace

void check_unit(Unit const& unit, std::string const& document) { Checker{unit, document}.all(); }

}  // namespace benchward
