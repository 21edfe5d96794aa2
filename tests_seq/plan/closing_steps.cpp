// SPDX-License-Identifier: MIT
// Steps that need no power but block release: hand checks, results of other stations, the unit as it ships.
#include <algorithm>

#include <fmt/format.h>

#include "tests_seq/plan/step_builder.hpp"

namespace benchward::planning {

namespace {

/// Whether a fuse, switch or breaker in this state lets current through.
bool conducts(std::string const& state) {
  static constexpr char const* not_conducting[] = {"open", "off", "out", "removed", "blown"};
  return std::find(std::begin(not_conducting), std::end(not_conducting), state) == std::end(not_conducting);
}

bool is_impulse(std::string const& item) { return item.find("impulse") != std::string::npos; }

}  // namespace

void add_hand_checks(StepBuilder& at) {
  if (at.unit.options.hand_checks.empty()) at.leave_out("hand_check", "the order names none");
  for (auto const& item : at.unit.options.hand_checks) {
    PlanStep step;
    step.test = "hand_check";
    HandCheckWork work;
    work.item = item;
    step.work = std::move(work);
    step.connection.name = "Hand check: " + item;
    step.connection.instrument = "none";
    step.predicted = seconds(30);
    step.reason = "ordered; blocks release";
    at.add(std::move(step));
  }
}

void add_elsewhere(StepBuilder& at, bool impulse) {
  auto const& items = at.unit.options.elsewhere;
  if (items.empty() && !impulse) at.leave_out("elsewhere", "the order names no result of another station");
  for (auto const& item : items) {
    if (is_impulse(item) != impulse) continue;
    PlanStep step;
    step.test = "elsewhere";
    ElsewhereWork work;
    work.item = item;
    step.work = std::move(work);
    step.connection.name = "Result of another station: " + item;
    step.connection.instrument = "none";
    step.predicted = seconds(10);
    step.reason = impulse ? "impulse comes before applied and induced; blocks release" : "ordered; blocks release";
    at.add(std::move(step));
  }
}

void add_as_shipped(StepBuilder& at) {
  if (!at.needs("ratio_meter", "as_shipped")) return;
  PlanStep step;
  step.test = "as_shipped";
  step.area = AreaKind::gate_or_covers;
  AsShippedWork work;
  work.tap = at.rated_tap();
  work.ratio.points = ratio_plan_on_tap(at.unit, at.rated_tap());
  if (work.ratio.points.size() > 1) work.ratio.points.resize(1);
  work.ratio.start = volts(1.0);
  work.ratio.applied = volts(std::min(80.0, at.hv_volts()));
  Connection& connection = step.connection;
  connection.instrument = "ratio_meter";
  if (!work.ratio.points.empty()) {
    auto const [h_from, h_to] = ends_of(work.ratio.points.front().hv_pair);
    auto const [x_from, x_to] = ends_of(work.ratio.points.front().lv_pair);
    connection.feed = {at.terminals.h_bushings};
    if (at.terminals.one_bushing && at.terminals.h_lines[1] == "tank") connection.feed.front().push_back("tank");
    connection.measure = {at.terminals.x_bushings};
    connection.name = fmt::format("As shipped, one ratio reading: {}-{} against {}-{}; then all leads off", h_from,
                                  h_to, x_from, x_to);
  }
  bool opened_after = false;
  auto const put = [&](Accessory const& accessory, char const* conducting) {
    AccessoryState entry;
    entry.name = accessory.name;
    entry.state = accessory.shipped_state;
    work.shipped.push_back(entry);
    // Nothing can be read through an open contact: it is opened after the reading.
    if (conducting != nullptr && !conducts(entry.state)) {
      entry.state = conducting;
      opened_after = true;
    }
    connection.accessories.push_back(std::move(entry));
  };
  for (auto const* list : {&at.unit.straps, &at.unit.arresters}) {
    for (auto const& accessory : *list) put(accessory, nullptr);
  }
  for (auto const& fuse : at.unit.fuses) put(fuse, "fitted");
  for (auto const& entry : at.unit.switches) put(entry, "closed");
  if (at.unit.breaker) put(*at.unit.breaker, "closed");
  connection.tap = work.tap;
  double const applied = work.ratio.applied.in(volts);
  std::vector<LiveTerminal> live;
  for (auto const& name : at.terminals.h_bushings) {
    live.push_back(live_at(name, applied, true));
  }
  for (auto const& name : at.terminals.x_bushings) {
    if (!(at.terminals.joined && name == at.terminals.x_neutral)) {
      live.push_back(live_at(name, std::min(applied, applied * at.lv_volts() / at.hv_volts() * 1.7320508), true));
    }
  }
  finish_connection(connection, std::move(live));
  StepEnergy energy;
  energy.test = "as_shipped";
  energy.source = SourcePath::ratio;
  energy.set = work.ratio.applied;
  energy.ceiling = energy.set * 1.1;
  energy.trip_current = amperes(1.0);
  energy.longest = seconds(60);
  set_connection_code(energy, connection);
  step.energy = energy;
  step.predicted = seconds(leads_s + round_s + 5.0);
  step.reason = fmt::format(
      "last: tap and switches in the ordered position, one ratio reading there, straps and arresters back on{}; blocks "
      "release",
      opened_after ? "; what ships open is opened after the reading" : "");
  step.work = std::move(work);
  at.add(std::move(step));
}

}  // namespace benchward::planning
